"""Forms as nobody should send them: fields missing, doubled, huge, of the wrong kind, in other alphabets, as code."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from urllib.parse import quote_plus

Fields = list[tuple[str, str]]

SCRIPT = "<script>alert(1)</script>"
ODD = (
    "", " ", "\t", "0", "-1", "-0.0", "1e400", "-1e400", "nan", "NaN", "inf", "-Infinity", "1_000", "0x1f", "1e-400",
    "99999999999999999999", "9" * 400, "20,5", "20.5.5", "²", "½", "٣٦", "１２", "٫5", "true", "null", "None", "[]",
    "{}", '{"cones": 1}', "[" * 5000, "'; DROP TABLE cases; --", "' OR 1=1 --", "%", "_", "\\", '"', SCRIPT,
    '"><img src=x onerror=alert(1)>', "{{ 7 * 7 }}", "{% raw %}", "${7*7}", "%s%n%d", "../../etc/passwd",
    "//evil.test", "\x00", "a\x00b", "\x07\x1b[31m", "\r\nSet-Cookie: a=b", "\u202e3.5\u202c", "\ufeff", "e\u0301",
    "🦷" * 50, "ß", "İ", "x" * 2001, "x" * 30_000, "MB", "mb", "M B", "all", "all dry; all dry", "MB joins MB",
    "MB length 20; MB length 21", "case/0/id", "canal/1/name", "canal/2/length", "canal/3/joins", "visit/1/isolated",
    "finding/1/kind", "tray/0/key", "canal/²/length", "canal/99999999999999999999/length", "canal//", "case/1/id",
    "preferences/0/x", "//", "a/0/b", "widths 0 .3 .3", "widths 0 .35 .40; 12 .90 1.60; 3 1 1", "200/.04", "30/9",
    "30/.04 to 20, 25/.06 to 99", "straight", "28 r 0", "28 r 11 from 99", "-30 r 5; 30 r 5", "fragment 5 to 2",
    "MB at 99", "ML at 3", "yes", "no", "dry", "1,2,3",
)  # fmt: skip
RAW = ("%FF", "%ED%A0%80", "%00", "%", "%zz", "+", "%F0%9F", "%C0%AF", "&&", "=", "%0d%0a")
"""As they stand in a body that no browser writes."""


class Mutator:
    """Changes valid fields at random; the same seed gives the same changes."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)
        self._ways: Sequence[Callable[[Fields], Fields]] = (
            self._missing, self._doubled, self._odd, self._odd, self._odd, self._odd, self._spliced, self._swapped,
            self._more, self._cut,
        )  # fmt: skip

    def mutated(self, fields: Mapping[str, str]) -> Fields:
        """The fields after one to three changes."""
        changed = list(fields.items())
        for _ in range(self.chance.choice((1, 1, 1, 2, 3))):
            changed = self.chance.choice(self._ways)(changed)
        return changed

    def body(self, fields: Fields) -> str:
        """A form as it is sent; now and then with something in it that is no text."""
        pairs = [f"{quote_plus(name)}={quote_plus(value)}" for name, value in fields]
        if pairs and self.chance.random() < 0.1:
            at = self.chance.randrange(len(pairs))
            pairs[at] += self.chance.choice(RAW)
        return "&".join(pairs)

    def _missing(self, fields: Fields) -> Fields:
        return self._with(fields, lambda _: [])

    def _doubled(self, fields: Fields) -> Fields:
        return self._with(fields, lambda field: [field, (field[0], self.chance.choice(ODD))])

    def _odd(self, fields: Fields) -> Fields:
        return self._with(fields, lambda field: [(field[0], self.chance.choice(ODD))])

    def _spliced(self, fields: Fields) -> Fields:
        def spliced(field: tuple[str, str]) -> Fields:
            at = self.chance.randint(0, len(field[1]))
            return [(field[0], field[1][:at] + self.chance.choice(ODD)[:500] + field[1][at:])]

        return self._with(fields, spliced)

    def _swapped(self, fields: Fields) -> Fields:
        """The value of another field."""
        return self._with(fields, lambda field: [(field[0], self.chance.choice(fields)[1])])

    def _more(self, fields: Fields) -> Fields:
        return [*fields, (self.chance.choice(ODD)[:100], self.chance.choice(ODD)[:500])]

    def _cut(self, fields: Fields) -> Fields:
        return self._with(fields, lambda field: [(field[0], field[1][: len(field[1]) // 2])])

    def _with(self, fields: Fields, change: Callable[[tuple[str, str]], Fields]) -> Fields:
        if not fields:
            return self._more(fields)
        at = self.chance.randrange(len(fields))
        return [*fields[:at], *change(fields[at]), *fields[at + 1 :]]

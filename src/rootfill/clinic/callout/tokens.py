"""A line cut into words, numbers, shapes, names of canals and separators."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import product
from typing import Literal, NamedTuple

from rootfill.clinic.callout.model import Doubt
from rootfill.clinic.callout.words import KNOWN, LONGEST, PHRASES
from rootfill.units import parse_number

Kind = Literal["canal", "number", "shape", "word", "separator", "odd"]

_END = r"(?![\w/%]|[.,][0-9])"
_LINE = re.compile(
    rf"""
      \#?(?P<size>[0-9]{{1,3}})(?:\s*/\s*(?P<taper>(?:[0-9]?[.,])?[0-9]{{1,3}}(?:\s*%)?)
                         |\s+(?P<apart>0?[.,]0[0-9]{{1,2}}|0[0-9]|[0-9]{{1,2}}\s*%)){_END}
    | (?P<number>[\#+-]?(?:[0-9]{{1,6}}(?:[.,][0-9]{{1,6}})?|\.[0-9]{{1,6}}))(?:\s*(?:mm\b|°))?{_END}
    | (?P<word>[rR](?=[0-9])|[0-9]*[^\W\d_][\w'’]*|[@&+])
    | (?P<separator>[;,])
    | (?P<skip>[\s.:=()]+|(?<=[^\W\d_])-(?=[^\W\d_]))
    | (?P<odd>[0-9][^\s;]*|.)
    """,
    re.VERBOSE | re.DOTALL,
)
MOST_TOKENS = 24
"""A statement has some ten words; longer ones are not call-outs."""
_MOST_DOUBLE = 4


class Token(NamedTuple):
    """One piece of a line. ``means`` is its word of the grammar, or its canal; '' for a word not known."""

    kind: Kind
    text: str
    start: int
    end: int
    means: str = ""
    value: float = 0.0
    taper: str = ""

    def is_word(self, *words: str) -> bool:
        return self.kind == "word" and self.means in words


def statements(text: str, names: Sequence[str]) -> Iterator[tuple[Token, ...]]:
    """The tokens of each statement of a line, names of canals first. Raises Doubt."""
    part: list[Token] = []
    for token in _tokens(text, tuple(names)):
        if token.kind != "separator":
            part.append(token)
        elif part:
            yield tuple(part)
            part = []
    if part:
        yield tuple(part)


def readings(part: Sequence[Token], double: frozenset[str]) -> Iterator[tuple[Token, ...]]:
    """Every way to read names of canals that are words, numbers or nicknames (``double``) as well."""
    if len(part) > MOST_TOKENS:
        raise Doubt("This is too long for one statement: put a comma or a semicolon between two.")
    two = [i for i, token in enumerate(part) if _is_double(token, double) and not _pinned(part, i)][:_MOST_DOUBLE]
    either = [((t,), _plain(t)) if i in two else ((t,),) for i, t in enumerate(part)]
    for pieces in product(*either):
        yield tuple(_with_phrases([token for piece in pieces for token in piece]))


def _is_double(token: Token, double: frozenset[str]) -> bool:
    words = token.text.casefold().split()
    return token.kind == "canal" and any(w in KNOWN or w in double or w[0].isdigit() for w in words)


def _pinned(part: Sequence[Token], i: int) -> bool:
    """'canal one' can only be a canal."""
    return i > 0 and part[i - 1].text.casefold() == "canal"


def _plain(token: Token) -> tuple[Token, ...]:
    return tuple(_tokens(token.text, (), token.start))


def _tokens(text: str, names: tuple[str, ...], offset: int = 0) -> Iterator[Token]:
    canal, at = _canals(names), 0
    while at < len(text):
        named = canal.match(text, at) if canal is not None else None
        found = named or _LINE.match(text, at)
        assert found is not None, "every character is at least odd"
        place = (found[0], offset + at, offset + found.end())
        if named is not None:
            yield Token("canal", *place, means=names[int(str(named.lastgroup)[1:])])
        elif found.lastgroup != "skip":
            yield _token(found, *place)
        at = found.end()


def _token(found: re.Match[str], text: str, start: int, end: int) -> Token:
    if found["size"] is not None:
        return Token("shape", text, start, end, value=float(found["size"]), taper=found["taper"] or found["apart"])
    if found["number"] is not None:
        _refuse_two_decimals(found["number"])
        number = found["number"].removeprefix("#")
        return Token("number", number, start, end, value=parse_number(number))
    if found["word"] is not None:
        return Token("word", text, start, end)
    return Token("separator" if found["separator"] else "odd", text, start, end)


def _refuse_two_decimals(number: str) -> None:
    """'20,21' may be a number or two; '19,5' and '0,95' are one."""
    whole, comma, decimals = number.partition(",")
    if comma and len(decimals) > 1 and whole.strip("#+-0"):
        one, two = f"{whole}.{decimals}", f"{whole}, {decimals}"
        raise Doubt(f"'{number}' may be one number or two: type '{one}' or '{two}'.")


@lru_cache(64)
def _canals(names: tuple[str, ...]) -> re.Pattern[str] | None:
    """A name at this place, the longest first; the group that matched tells which."""
    if not names:
        return None
    order = sorted(range(len(names)), key=lambda i: -len(names[i]))
    return re.compile("|".join(rf"(?P<n{i}>(?<!\w){_spelled(names[i])}(?!\w))" for i in order), re.IGNORECASE)


def _spelled(name: str) -> str:
    """A name with any space between its words; one of digits alone is no beginning of a number."""
    spelled = r"\s+".join(map(re.escape, name.split()))
    return rf"{spelled}(?![.,/][0-9])" if name.isdecimal() else spelled


def _with_phrases(tokens: Sequence[Token]) -> Iterator[Token]:
    """Words put together into the longest phrases of the grammar."""
    words = tuple(t.text.casefold() if t.kind == "word" else "" for t in tokens)
    i = 0
    while i < len(tokens):
        longest = LONGEST if words[i] else 0
        length = next((n for n in range(longest, 0, -1) if words[i : i + n] in PHRASES), 0)
        if length:
            here = tokens[i : i + length]
            text = " ".join(t.text for t in here)
            yield Token("word", text, here[0].start, here[-1].end, means=PHRASES[words[i : i + length]])
        else:
            yield tokens[i]
        i += length or 1

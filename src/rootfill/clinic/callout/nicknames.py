"""Nicknames of what lies on the tray, as they are typed."""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

from rootfill.clinic.callout.words import spelled
from rootfill.tray.model import Cone, Tray

_KIND = r"(plugger|needle|heated tip|tip)"
_LONGEST_KEPT = 40
"""Characters of a nickname that a finding holds."""
_SHOWN = 4


@dataclass(frozen=True)
class Stiff:
    """A plugger, heated tip or needle of the tray, by kind and nickname."""

    kind: str
    name: str
    bare: str
    """The nickname without its kind in front, squeezed."""
    short: str
    """The nickname without its kind behind it either."""

    @property
    def called(self) -> str:
        """'plugger 50', 'fine tip', 'needle 23 G'."""
        return self.name if self.kind.split()[-1] in self.name.lower() else f"{self.kind} {self.name}"


@dataclass(frozen=True)
class Nicknames:
    """The stiff instruments of a tray."""

    known: tuple[Stiff, ...]

    @cached_property
    def typed(self) -> frozenset[str]:
        """All that may be typed for one of them, squeezed."""
        return frozenset(words for s in self.known for words in (s.bare, s.short))

    def called(self, typed: str, kinds: Sequence[str]) -> tuple[Stiff, ...]:
        """The instruments that ``typed`` may be, of the kind said beside it; whole nicknames before shortened ones."""
        asked = squeezed(typed)
        here = [s for s in self.known if all(kind == s.kind for kind in kinds)]
        return tuple([s for s in here if s.bare == asked] or [s for s in here if s.short == asked])

    def near(self, typed: str) -> str:
        """A few nicknames close to what was typed, in the order of the tray."""
        return near(typed, tuple(s.name for s in self.known))


def stiff_of(tray: Tray) -> Nicknames:
    """Everything on the tray that may bind."""
    kinds = (("plugger", tray.pluggers), ("heated tip", tray.heated_tips), ("needle", tray.needles))
    return _nicknames(tuple((kind, one.name) for kind, every in kinds for one in every))


@lru_cache(16)
def _nicknames(called: tuple[tuple[str, str], ...]) -> Nicknames:
    return Nicknames(tuple(_stiff(kind, name) for kind, name in called if len(name) <= _LONGEST_KEPT))


def _stiff(kind: str, name: str) -> Stiff:
    bare = re.sub(rf"^{_KIND}\s+", "", " ".join(name.lower().split()))
    return Stiff(kind, name, squeezed(bare), squeezed(re.sub(rf"\s+{_KIND}$", "", bare)))


def words_of(tray: Tray) -> frozenset[str]:
    """Words and numbers that are, or are part of, a nickname."""
    names = [one.name for every in (tray.pluggers, tray.heated_tips, tray.needles, tray.cones) for one in every]
    return frozenset(word for name in names for word in name.casefold().split())


@lru_cache(1024)
def squeezed(text: str) -> str:
    """Lower case, spaces kept only between two digits: '27 G rinse' and '27g rinse' are the same."""
    return re.sub(r"(?<![0-9]) | (?![0-9])", "", " ".join(text.lower().removeprefix("#").split()))


def cones_named(tray: Tray, typed: str) -> tuple[Cone, ...]:
    """Cones of this nickname."""
    return tuple(c for c in tray.cones if squeezed(c.name) == squeezed(typed) and len(c.name) <= _LONGEST_KEPT)


def cones_sized(tray: Tray, size: float, taper: float | None = None) -> tuple[Cone, ...]:
    """Cones of this size, and taper if it is given."""
    return tuple(
        c for c in tray.cones
        if c.size == size and (taper is None or abs(c.taper - taper) < 1e-6) and len(c.name) <= _LONGEST_KEPT
    )  # fmt: skip


@lru_cache(16)
def near(typed: str, names: tuple[str, ...]) -> str:
    """A few names close to what was typed, in the order given; first those that begin with a number close to its.

    The readings of one statement ask the same again and again.
    """
    asked = _number(typed)

    def distance(name: str) -> tuple[float, float]:
        number = _number(name)
        apart = 1e6 if asked is None or number is None else abs(asked - number)
        return apart, -difflib.SequenceMatcher(None, typed.lower()[:40], name.lower()).ratio()

    known = list(dict.fromkeys(names))
    closest = sorted(known, key=distance)[:_SHOWN]
    kept = [name for name in known if name in closest]
    return f"{', '.join(kept)}, …" if len(kept) < len(known) else spelled(kept)


def _number(text: str) -> int | None:
    found = re.match(r"[0-9]{1,6}", text)
    return None if found is None else int(found[0])

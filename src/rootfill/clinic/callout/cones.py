"""Which cone stands in the canal, and where it ends."""

from __future__ import annotations

from collections.abc import Sequence

from rootfill.clinic.callout import ranges
from rootfill.clinic.callout.model import Doubt, End
from rootfill.clinic.callout.nicknames import cones_named, cones_sized, near
from rootfill.clinic.callout.said import Said, is_idle
from rootfill.clinic.callout.tokens import Token
from rootfill.clinic.callout.words import spelled
from rootfill.tray.model import Cone, Tray

_DEEPEST = 40
"""A number above it is no depth, so it can only be the size."""

SIZE_OR_DEPTH = (
    "Is {0} the cone or its depth? Type 'cone at {0}', or the cone with its taper, such as 'cone 30/.04 fits'."
)


def cone_and_end(said: Said, tray: Tray, end: End | None) -> tuple[str | None, End]:
    """The cone's nickname, if one was said, and its end; both taken. Raises Doubt."""
    fits = said.take("fits") is not None
    cone = _by_name(said, tray)
    if cone is None:
        cone = _by_size(said, tray, fits, end)
    if end is None and said.numbers():
        number = said.number("The depth", "cone at 18.5")
        end = End(
            ranges.end_depth(number, "The depth"), like_size=bool(cone is None and cones_sized(tray, number.value))
        )
    if end is None and not fits:
        raise Doubt("Where does the cone end? Type 'cone at 18.5', 'cone short 1.5' or 'cone fits'.")
    return cone, end or End(short_mm=0.0)


def _by_name(said: Said, tray: Tray) -> str | None:
    """A cone by its size and taper, or by a nickname of words."""
    shape = said.shape()
    if shape is not None:
        return _one(cones_named(tray, shape.text) or cones_sized(tray, *ranges.made(shape)), shape.text, tray)
    words = [t for t in said.left if t.kind == "word" and not is_idle(t)]
    found = cones_named(tray, " ".join(t.text for t in words)) if words else ()
    if not found:
        return None
    said.drop(*words)
    return _one(found, found[0].name, tray)


def _by_size(said: Said, tray: Tray, fits: bool, end: End | None) -> str | None:
    """A cone by its size alone, where a number cannot be anything else and only one cone has that size."""
    numbers = said.numbers()
    if len(numbers) == 2 and end is None and not fits:
        return _sized(said, tray, _never_a_depth(numbers))
    if len(numbers) != 1:
        return None
    if end is not None:
        return _sized(said, tray, numbers[0])
    found = cones_sized(tray, numbers[0].value)
    if fits and found:
        raise Doubt(SIZE_OR_DEPTH.format(numbers[0].text))
    return None


def _never_a_depth(numbers: Sequence[Token]) -> Token:
    above = [n for n in numbers if n.value > _DEEPEST]
    if len(above) != 1:
        one, two = (n.text for n in numbers)
        raise Doubt(f"'{one}' and '{two}' could both be the depth: type 'at' before the depth.")
    return above[0]


def _sized(said: Said, tray: Tray, number: Token) -> str:
    name = _one(cones_sized(tray, number.value), number.text, tray)
    said.drop(number)
    return name


def _one(found: Sequence[Cone], typed: str, tray: Tray) -> str:
    if not found:
        raise Doubt(f"Cone {typed} is not on the tray: {near(typed, tuple(c.name for c in tray.cones))}.")
    if len(found) > 1:
        raise Doubt(f"Which cone {typed}? Type {spelled([c.name for c in found])}.")
    return found[0].name

"""Numbers against the ranges of the case file, with the sentence for one that is outside."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import Any, get_args, get_type_hints

from rootfill.clinic.callout.model import Doubt
from rootfill.clinic.callout.tokens import Token
from rootfill.plan.case import Bend, CanalEntry, Finding, Join, Made
from rootfill.units import Within, parse_taper

_UNITS = {"_mm": " mm", "_deg": "°"}


@cache
def allowed(entry: type, field: str) -> Within:
    """The range that the case file allows for a field."""
    return next(_ranges(get_type_hints(entry, include_extras=True)[field]))


def _ranges(hint: Any) -> Iterator[Within]:
    if isinstance(hint, Within):
        yield hint
    for part in get_args(hint):
        yield from _ranges(part)


def checked(number: Token, what: str, entry: type, field: str) -> float:
    """The number, if the case file allows it for this field. Raises Doubt, naming the range."""
    return _within(number.value, number.text, what, entry, field)


def depth(number: Token, what: str) -> float:
    """A depth from the reference anywhere in a canal, mm."""
    return checked(number, what, Finding, "value_mm")


def end_depth(number: Token, what: str) -> float:
    """A depth at or near the end of a canal, mm: the range of a working length."""
    return checked(number, what, CanalEntry, "working_length_mm")


def station(number: Token, what: str) -> float:
    """A distance from the end, mm."""
    return checked(number, what, Join, "at_mm")


def short(number: Token) -> float:
    """How far short of the length, mm."""
    return checked(number, "The distance short", Finding, "short_mm")


def size(number: Token, what: str) -> int:
    """An instrument size, hundredths of a mm; of '30/.04' the part before the taper."""
    typed = number.text if number.kind == "number" else f"{number.value:g}"
    value = _within(number.value, typed, what, Made, "size")
    if value != int(value):
        raise Doubt(f"{what} {typed} is no size: type a whole number such as 30.")
    return int(value)


def made(shape: Token) -> tuple[int, float]:
    """Size and taper of '30/.04'."""
    taper = _within(parse_taper(shape.taper), shape.taper, "The taper", Made, "taper")
    return size(shape, "The size"), round(taper, 6)


def bend(angle: Token, radius: Token, start: Token | None) -> dict[str, float]:
    """One arc: central angle, radius, and the station of its lower end."""
    if angle.value == 0:
        raise Doubt("A curve of 0° is none: type 'straight'.")
    turned = checked(angle, "The angle", Bend, "angle_deg")
    arc = {"angle_deg": turned, "radius_mm": checked(radius, "The radius", Bend, "radius_mm")}
    return arc if start is None else {**arc, "from_mm": station(start, "The lower end of the curve")}


def _within(value: float, typed: str, what: str, entry: type, field: str) -> float:
    if not _is_within(value, allowed(entry, field)):
        typed = typed if len(typed) <= 12 else f"{typed[:11]}…"
        meant = [x for x in (value * 10, value / 10) if _is_within(x, allowed(entry, field))]
        slip = f"; did you mean {meant[0]:g}?" if len(meant) == 1 else "."
        raise Doubt(f"{what} {typed} is out of range, {_words(allowed(entry, field), field)}{slip}")
    return value


def _is_within(value: float, range_: Within) -> bool:
    low = range_.ge is None or value >= range_.ge
    return low and (range_.gt is None or value > range_.gt) and (range_.le is None or value <= range_.le)


def _words(range_: Within, field: str) -> str:
    low = f"above {range_.gt:g}" if range_.gt is not None else f"{range_.ge:g}"
    unit = next((u for end, u in _UNITS.items() if field.endswith(end)), "")
    return f"{low} to {range_.le:g}{unit}"

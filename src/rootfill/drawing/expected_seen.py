"""Expected and seen, one small graphic everywhere: band = expected 90 %, tick = value, dot = seen."""

from __future__ import annotations

from collections.abc import Iterator

from rootfill.drawing.svg import document, line, tag
from rootfill.drawing.tokens import PAPER, Palette
from rootfill.units import Estimate, decimals, shown


def expected_seen(
    expected: Estimate,
    seen: float | None,
    *,
    tokens: Palette = PAPER,
    prefix: str = "seen",
    size: tuple[float, float] = (150.0, 26.0),
    span: float | None = None,
) -> str:
    """SVG text; ``span`` is the length of the axis in the estimate's unit, by default what is needed."""
    low, high = _range(expected, seen, span)
    wide, tall = size
    x = _Axis(low, high, 7.0, wide - 7.0)
    body = [
        line((x.at(low), tall / 2), (x.at(high), tall / 2), tokens.line, 1.0),
        *_band(expected, x, tall, tokens),
        *([] if seen is None else _dot(expected, seen, (x.at(seen), tall / 2), tokens)),
    ]
    return document(size, "Expected and seen", spoken(expected, seen), body, prefix=prefix)


def outside(expected: Estimate, seen: float) -> bool:
    """Whether what was seen lies outside what was expected."""
    return not expected.low <= seen <= expected.high


def spoken(expected: Estimate, seen: float | None) -> str:
    """The graphic in words."""
    if seen is None:
        return f"Expected {shown(expected)}; not seen yet."
    unit = f" {expected.unit}" if expected.unit else ""
    there = "outside" if outside(expected, seen) else "inside"
    return f"Expected {shown(expected)}; seen {seen:.{decimals(expected.low, expected.high)}f}{unit}, {there}."


class _Axis:
    def __init__(self, low: float, high: float, left: float, right: float) -> None:
        self.low, self.high, self.left, self.right = low, high, left, right

    def at(self, value: float) -> float:
        return self.left + (value - self.low) / (self.high - self.low) * (self.right - self.left)


def _range(expected: Estimate, seen: float | None, span: float | None) -> tuple[float, float]:
    ends = [expected.low, expected.high, *([] if seen is None else [seen])]
    low, high = min(ends), max(ends)
    needed = max(high - low, 1e-6) * 1.3
    middle, reach = (low + high) / 2, max(needed, span or 0.0) / 2
    return middle - reach, middle + reach


def _band(expected: Estimate, x: _Axis, tall: float, tokens: Palette) -> Iterator[str]:
    left, right = x.at(expected.low), x.at(expected.high)
    yield tag(
        "rect", x=left, y=tall * 0.24, width=max(right - left, 1.0), height=tall * 0.52,
        fill=tokens.accent, fill_opacity=0.2, stroke=tokens.accent, stroke_width=0.6,
    )  # fmt: skip
    tick = x.at(expected.value)
    yield line((tick, tall * 0.12), (tick, tall * 0.88), tokens.accent, 1.6)


def _dot(expected: Estimate, seen: float, at: tuple[float, float], tokens: Palette) -> Iterator[str]:
    """Full inside the band; outside red with a ring, so that it also stands out in grey."""
    x, y = at
    if not outside(expected, seen):
        yield tag("circle", cx=x, cy=y, r=4.6, fill=tokens.ink, stroke=tokens.paper, stroke_width=1.0)
        return
    yield tag("circle", cx=x, cy=y, r=6.2, fill=tokens.paper, stroke=tokens.warning, stroke_width=1.4)
    yield tag("circle", cx=x, cy=y, r=3.6, fill=tokens.warning)

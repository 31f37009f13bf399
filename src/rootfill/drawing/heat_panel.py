"""One moment of the heat: depth downwards; temperature on the axis and rise on the root's surface sideways."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from rootfill import tables
from rootfill.drawing.svg import Point, line, opened, tag, words
from rootfill.drawing.tokens import Palette
from rootfill.plan.model import CanalHeat, CanalPlan

BODY_C = 37.0
_GAP = 0.07
_AXIS_SHARE = 0.6
IN_CANAL = {"heat": "heated tip in", "push": "plugger in", "empty": "nothing in"}


@dataclass(frozen=True, eq=False)
class Panel:
    """Where a moment of one canal is drawn: upper left corner, width and height of its plots, letters, colours."""

    canal: CanalPlan
    heat: CanalHeat
    left: float
    top: float
    wide: float
    tall: float
    small: float
    tokens: Palette

    @cached_property
    def hottest_c(self) -> float:
        """Right end of the axis plot: the next 20 °C above all of the course."""
        top = max(max(row) for row in self.heat.course.axis_c)
        return BODY_C + math.ceil(max(top - BODY_C, 20.0) / 20.0) * 20.0

    @cached_property
    def limit_c(self) -> float:
        """The limit on the surface."""
        return tables.rule("surface_rise_limit_c").value

    @cached_property
    def highest_rise_c(self) -> float:
        """Right end of the surface plot."""
        return max(self.limit_c, self.heat.surface_rise_c.high) * 1.2

    @property
    def surface_left(self) -> float:
        """Where the surface plot begins."""
        return self.left + self.wide * (_AXIS_SHARE + _GAP)

    def depth(self, s_mm: float) -> float:
        """Height on the picture of a station."""
        return self.top + (1 - s_mm / self.heat.course.s_mm[-1]) * self.tall

    def axis_x(self, celsius: float) -> float:
        """Place of a temperature on the axis."""
        share = (min(celsius, self.hottest_c) - BODY_C) / (self.hottest_c - BODY_C)
        return self.left + share * self.wide * _AXIS_SHARE

    def rise_x(self, rise_c: float) -> float:
        """Place of a rise on the surface."""
        return self.surface_left + rise_c / self.highest_rise_c * self.wide * (1 - _AXIS_SHARE - _GAP)

    def ground(self, *, lettered: bool) -> Iterator[str]:
        """Frames of both plots, the thresholds and the limit; with ``lettered`` their names and the depths."""
        t, bottom = self.tokens, self.top + self.tall
        for left, right in ((self.left, self.axis_x(self.hottest_c)), (self.surface_left, self.left + self.wide)):
            yield line((left, bottom), (right, bottom), t.ink_3, 0.8)
            yield line((left, self.top), (left, bottom), t.ink_3, 0.8)
        for key in ("softens_c", "mouldable_c"):
            x = self.axis_x(tables.rule(key).value)
            yield line((x, self.top), (x, bottom), t.compound, 0.9, stroke_dasharray="3 3")
        yield line((self.rise_x(self.limit_c), self.top), (self.rise_x(self.limit_c), bottom), t.warning, 1.1)
        yield from self._numbers(bottom)
        if lettered:
            yield from self._letters()

    def _numbers(self, bottom: float) -> Iterator[str]:
        base, ink = bottom + self.small * 1.2, self.tokens.ink_2
        yield words(f"{BODY_C:g}", self.left, base, self.small, ink)
        yield words(f"{self.hottest_c:g}", self.axis_x(self.hottest_c), base, self.small, ink, text_anchor="end")
        yield words("0", self.surface_left, base, self.small, ink)
        limit = self.rise_x(self.limit_c)
        yield words(f"+{self.limit_c:g}", limit, base, self.small, self.tokens.warning, text_anchor="middle")

    def _letters(self) -> Iterator[str]:
        """Names above the plots, depths from the reference to their left."""
        t, above = self.tokens, self.top - self.small * 0.7
        yield words("in the canal, °C", self.left, above - self.small * 1.5, self.small, t.heat, font_weight=600)
        for key in ("softens_c", "mouldable_c"):
            x = self.axis_x(tables.rule(key).value)
            yield words(f"{tables.rule(key).value:g}", x, above, self.small, t.ink_2, text_anchor="middle")
        title = above - self.small * 1.5
        yield words("root’s surface, °C warmer", self.surface_left, title, self.small, t.ink, font_weight=600)
        yield words("now", self.surface_left, above, self.small, t.ink)
        yield words("highest", self.surface_left + self.small * 2.6, above, self.small, t.accent)
        yield words("limit", self.rise_x(self.limit_c), above, self.small, t.warning, text_anchor="middle")
        first = math.ceil(self.canal.orifice_at_mm / 2) * 2
        for depth in range(first, math.floor(self.canal.made_end_mm) + 1, 2):
            y = self.depth(self.canal.made_end_mm - depth)
            yield words(f"{depth}", self.left - 8, y + self.small * 0.35, self.small, t.ink_2, text_anchor="end")
            yield line((self.left - 4, y), (self.left, y), t.ink_3, 0.8)

    def moment(self, index: int) -> Iterator[str]:
        """What is in the canal, the line of the axis below it, the line of the surface."""
        course, t = self.heat.course, self.tokens
        what, down_to = course.what[index], course.down_to_s_mm[index]
        if index > 0:
            yield from self._inside(what, down_to)
        s, axis = self._below(course.axis_c[index], down_to if index > 0 else course.s_mm[-1])
        yield opened(self._line(s, [self.axis_x(c) for c in axis]), t.heat, 2.0, stroke_linejoin="round")
        rises = [self.rise_x(c - BODY_C) for c in course.surface_c[index]]
        yield opened(self._line(course.s_mm, rises), t.ink, 2.0, stroke_linejoin="round")

    def _below(self, celsius: Sequence[float], down_to: float) -> tuple[list[float], list[float]]:
        """Stations and temperatures of the compound that stands below an instrument."""
        kept = [(s, c) for s, c in zip(self.heat.course.s_mm, celsius, strict=True) if s <= down_to + 1e-6]
        return [s for s, _ in kept], [c for _, c in kept]

    def _inside(self, what: str, down_to: float) -> Iterator[str]:
        t, tip = self.tokens, self.depth(down_to)
        look = {"heat": (t.compound, 0.55), "push": (t.ink_3, 0.2), "empty": (t.void, 0.0)}[what]
        yield tag(
            "rect", x=self.left, y=self.top, width=self.wide * _AXIS_SHARE, height=max(tip - self.top, 0.5),
            fill=look[0], fill_opacity=look[1], stroke=t.ink_3, stroke_width=0.6,
            stroke_dasharray="2 3" if what == "empty" else None,
        )  # fmt: skip

    def band(self) -> Iterator[str]:
        """Highest rise along the root: the middle as a line, its interval as a band, the rest of the plot unused."""
        along, t = self.heat.along, self.tokens
        low, high = (self._line(along.s_mm, [self.rise_x(c) for c in line_c]) for line_c in (along.low_c, along.high_c))
        outline = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in (*low, *reversed(high))) + "Z"
        yield tag("path", d=outline, fill=t.accent, fill_opacity=0.16)
        yield opened(self._line(along.s_mm, [self.rise_x(c) for c in along.value_c]), t.accent, 2.0)

    def _line(self, s_mm: Sequence[float], x: Sequence[float]) -> list[Point]:
        return [(at, self.depth(s)) for s, at in zip(s_mm, x, strict=True)]

"""A canal laid out on the sheet: depths become y, widths and bends become x."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rootfill.drawing import profile
from rootfill.drawing.frame import Frame, Stretch
from rootfill.drawing.svg import Point
from rootfill.plan.model import CanalPlan
from rootfill.units import FloatArray

Points = list[Point]


@dataclass(frozen=True)
class Shape:
    """One canal in its column; ``x`` is where the line of its coronal part stands."""

    canal: CanalPlan
    frame: Frame
    by: Stretch
    left: float
    x: float

    @property
    def labels_x(self) -> float:
        return self.left + self.frame.area + self.frame.small * 1.4

    @property
    def longest(self) -> float:
        """Highest station of the section: the orifice."""
        return self.canal.section.s_mm[-1]

    def y(self, depth_mm: float) -> float:
        return self.frame.head + (depth_mm - self.frame.from_mm) * self.frame.px_per_mm

    def y_at(self, s_mm: float) -> float:
        return self.y(self.canal.made_end_mm - s_mm)

    def inside(self, s_mm: float) -> float:
        """The station, or the nearest one the section has."""
        return min(max(s_mm, 0.0), self.longest)

    def middle(self, s_mm: float) -> float:
        """x of the centreline."""
        return float(self._middles(np.array([s_mm]))[0])

    def half(self, s_mm: float, *, wide: bool = False) -> float:
        """Half the lumen on the sheet."""
        return float(self._lumen(np.array([s_mm]), wide)[0])

    def root_half(self, s_mm: float) -> float:
        """Half the root on the sheet."""
        return float(self._root(np.array([s_mm]))[0])

    def lumen(self, low: float, high: float, *, wide: bool = False) -> tuple[Points, Points]:
        """Left and right wall from station ``low`` up to ``high``."""
        s = self._between(low, high)
        return self._sides(s, self._lumen(s, wide))

    def root(self, low: float, high: float) -> tuple[Points, Points]:
        """Left and right outline of the root from station ``low`` up to ``high``."""
        s = self._between(low, high)
        return self._sides(s, self._root(s))

    def rod(self, low: float, high: float, tip_mm: float, taper: float, from_s: float) -> Points:
        """Outline of a cone whose tip of ``tip_mm`` stands at ``from_s``, kept inside the lumen."""
        s = self._between(low, high)
        wanted = (tip_mm + taper * (s - from_s)) / 2 * self._px
        left, right = self._sides(s, np.minimum(wanted, self._lumen(s, False)))
        return [*left, *reversed(right)]

    def band(self, low: float, high: float) -> Points:
        """Outline of the lumen between two stations."""
        left, right = self.lumen(low, high)
        return [*left, *reversed(right)]

    @property
    def _px(self) -> float:
        return self.by.lumen * self.frame.px_per_mm

    def _between(self, low: float, high: float) -> FloatArray:
        return profile.stations(self.canal.section, self.inside(low), self.inside(high))

    def _lumen(self, s: FloatArray, wide: bool) -> FloatArray:
        return profile.half(self.canal.section, s, wide=wide) * self._px

    def _root(self, s: FloatArray) -> FloatArray:
        section = self.canal.section
        wall = profile.wall(section, s) * self.by.walls * self.frame.px_per_mm
        return profile.half(section, s) * self._px + wall

    def _middles(self, s: FloatArray) -> FloatArray:
        return self.x + profile.axis(self.canal.section, s) * self.by.bend * self.frame.px_per_mm

    def _sides(self, s: FloatArray, halves: FloatArray) -> tuple[Points, Points]:
        middles, ys = self._middles(s), (self.y(0.0) + (self.canal.made_end_mm - s) * self.frame.px_per_mm).tolist()
        left = list(zip((middles - halves).tolist(), ys, strict=True))
        return left, list(zip((middles + halves).tolist(), ys, strict=True))


def shape_unknown(canal: CanalPlan) -> bool:
    """Whether the section is no picture of the canal: a C-shaped one has no widths that could be drawn."""
    return canal.exit is not None and canal.exit.kind == "c_shape"


def placed(canal: CanalPlan, frame: Frame, by: Stretch, index: int) -> Shape:
    """The canal in column ``index``, its root in the middle of the room left of the labels."""
    start = frame.gutter + index * frame.column
    low, high = profile.extent_mm(canal.section, by.lumen, by.walls, by.bend)
    free = frame.area - (high - low) * frame.px_per_mm
    x = start + frame.small * 0.4 + free / 2 - low * frame.px_per_mm
    return Shape(canal, frame, by, start, x)

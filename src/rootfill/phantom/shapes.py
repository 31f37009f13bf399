"""Bodies a tooth is built of, each with a signed distance: negative inside, exact in sign, first order in size."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np

from rootfill.units import FloatArray

FAR_MM = 1e3
_DUST = 1e-12


class Shape(Protocol):
    """A body in the tooth's own mm frame: x, y across, z from the apex to the crown."""

    def distance(self, points: FloatArray) -> FloatArray:
        """Signed distance [mm] of ``points`` of shape (3, n); its sign is exact, its size of first order."""
        ...

    @property
    def box(self) -> FloatArray:
        """Corners of a box about the body, shape (2, 3) [mm]."""
        ...


@dataclass(frozen=True, eq=False)
class Loft:
    """Ellipses stacked over height: centre (2, n) and half axes along x and y (2, n) at even heights.

    Flat above; flat below too, or rounded off as half an egg over the lowest ``round_mm``: half axes are then
    those of the body before rounding. Raises ValueError for heights that do not rise evenly.
    """

    z_mm: FloatArray
    centre_mm: FloatArray
    half_mm: FloatArray
    round_mm: float = 0.0
    _table: FloatArray = field(init=False, repr=False)

    def __post_init__(self) -> None:
        steps = np.diff(self.z_mm)
        if len(steps) < 1 or not np.allclose(steps, steps[0]) or steps[0] <= 0:
            raise ValueError("heights of a loft rise evenly")
        if self.half_mm.min() <= 0:
            raise ValueError("half axes of a loft are positive")
        flat = np.concatenate([self.centre_mm, self.half_mm])
        object.__setattr__(self, "_table", np.concatenate([flat, np.gradient(flat, steps[0], axis=1)]))

    @property
    def box(self) -> FloatArray:
        """Corners of a box about the body."""
        low, high = (self.centre_mm - self.half_mm).min(axis=1), (self.centre_mm + self.half_mm).max(axis=1)
        return np.array([[*low, self.z_mm[0]], [*high, self.z_mm[-1]]])

    def section(self, z_mm: FloatArray) -> FloatArray:
        """Centre x, y and half axes x, y [mm] at heights within the body, shape (4, n)."""
        z = np.asarray(z_mm, dtype=float)
        row = self._at(z)[:4]
        row[2:] *= np.sqrt(np.maximum(1 - self._under(z) ** 2, 0))
        return row

    def unrounded(self, z_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Centre x, y and half axes x, y [mm] at heights before rounding, and their slopes, each (4, n)."""
        row = self._at(z_mm)
        return row[:4], row[4:]

    def _at(self, z_mm: FloatArray) -> FloatArray:
        return even(self._table, (z_mm - self.z_mm[0]) / (self.z_mm[1] - self.z_mm[0]))

    def _under(self, z_mm: FloatArray) -> FloatArray:
        """How far down the rounded end a height lies: 0 above it, 1 at its tip."""
        if not self.round_mm:
            return np.zeros_like(z_mm)
        return np.asarray(np.maximum(0, 1 - (z_mm - self.z_mm[0]) / self.round_mm))

    def distance(self, points: FloatArray) -> FloatArray:
        """Signed distance [mm]: (level − 1) · level / |∇ level²| / 2, the level that of an egg or an ellipse."""
        cx, cy, a, b, dcx, dcy, da, db = self._at(points[2])
        u, v, w = (points[0] - cx) / a, (points[1] - cy) / b, self._under(points[2])
        level = np.sqrt(u**2 + v**2 + w**2)
        down = u * (dcx + u * da) / a + v * (dcy + v * db) / b
        if self.round_mm:
            down = down + w / self.round_mm
        slope = np.sqrt((u / a) ** 2 + (v / b) ** 2 + down**2)
        across = _to_level(level, slope, a, b)
        above = points[2] - self.z_mm[-1]
        return np.asarray(np.maximum(across, above if self.round_mm else np.maximum(above, self.z_mm[0] - points[2])))


@dataclass(frozen=True, eq=False)
class Tube:
    """Ellipses normal to a curve that climbs: stations evenly apart by arc length, flat at both ends.

    ``curve_mm`` (3, n), ``wide`` (3, n) unit vectors along the wide axis, ``half_mm`` (2, n): narrow, wide.
    Raises ValueError for a curve that does not climb.
    """

    s_mm: FloatArray
    curve_mm: FloatArray
    wide: FloatArray
    half_mm: FloatArray
    _table: FloatArray = field(init=False, repr=False)
    _climb: tuple[FloatArray, FloatArray] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        heights = self.curve_mm[2]
        if np.diff(heights).min() <= 0:
            raise ValueError("the curve of a tube climbs")
        along = tangents(self.curve_mm)
        wide = self.wide - (self.wide * along).sum(axis=0) * along
        wide /= np.linalg.norm(wide, axis=0)
        object.__setattr__(self, "_table", np.concatenate([self.curve_mm, along, wide, self.half_mm]))
        even_z = np.linspace(heights[0], heights[-1], 2 * len(heights))
        object.__setattr__(self, "_climb", (even_z, np.interp(even_z, heights, np.arange(len(heights), dtype=float))))

    @property
    def box(self) -> FloatArray:
        """Corners of a box about the body."""
        reach = self.half_mm.max(axis=0)
        return np.array([(self.curve_mm - reach).min(axis=1), (self.curve_mm + reach).max(axis=1)])

    @property
    def step_mm(self) -> float:
        """Distance of two stations [mm]."""
        return float(self.s_mm[1] - self.s_mm[0])

    def cut(self, low_mm: float, high_mm: float) -> Tube:
        """The stretch between two arc lengths [mm]."""
        kept = (self.s_mm >= low_mm - 1e-9) & (self.s_mm <= high_mm + 1e-9)
        return Tube(self.s_mm[kept], self.curve_mm[:, kept], self.wide[:, kept], self.half_mm[:, kept])

    def frame(self, s_mm: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Point (3, n), tangent (3, n), wide axis (3, n) and half axes narrow, wide (2, n) at arc lengths."""
        row = even(self._table, (np.asarray(s_mm, dtype=float) - self.s_mm[0]) / self.step_mm)
        return row[:3], row[3:6], row[6:9], row[9:11]

    def station(self, z_mm: FloatArray) -> FloatArray:
        """Arc length at which the curve passes heights, held at its ends [mm]."""
        even_z, index = self._climb
        at = even(index[None], (z_mm - even_z[0]) / (even_z[1] - even_z[0]))[0]
        return np.asarray(self.s_mm[0] + at * self.step_mm)

    def place(self, points: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        """Arc length, axial rest, narrow and wide coordinate [mm] of points in the frame of the nearest station."""
        even_z, index = self._climb
        at = even(index[None], (points[2] - even_z[0]) / (even_z[1] - even_z[0]))[0]
        last = len(self.s_mm) - 1
        for _ in range(4):
            row = even(self._table[:6], at)
            rest = ((points - row[:3]) * row[3:6]).sum(axis=0)
            at = np.clip(at + rest / self.step_mm, 0, last)
        row = even(self._table, at)
        away, along, wide = points - row[:3], row[3:6], row[6:9]
        narrow = np.cross(along, wide, axis=0)
        s = self.s_mm[0] + at * self.step_mm
        return s, (away * along).sum(axis=0), (away * narrow).sum(axis=0), (away * wide).sum(axis=0)

    def distance(self, points: FloatArray, thinner_mm: float = 0.0) -> FloatArray:
        """Signed distance [mm] to the tube, or to one inside it, thinner all around."""
        s, rest, u, v = self.place(points)
        a, b = np.maximum(even(self._table[9:11], (s - self.s_mm[0]) / self.step_mm) - thinner_mm, 1e-4)
        along = s + rest
        return np.asarray(np.maximum(ellipse(u, v, a, b), np.maximum(self.s_mm[0] - along, along - self.s_mm[-1])))


@dataclass(frozen=True, eq=False)
class Sheet:
    """A thin upright sheet between two curves over a range of heights, of even thickness; flat above and below."""

    one: Tube
    other: Tube
    low_mm: float
    high_mm: float
    thick_mm: float

    @property
    def box(self) -> FloatArray:
        """Corners of a box about the body."""
        boxes = np.array([self.one.box, self.other.box])
        low, high = boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)
        return np.array([[*low[:2], self.low_mm], [*high[:2], self.high_mm]])

    def distance(self, points: FloatArray) -> FloatArray:
        """Signed distance [mm]."""
        ends = [
            np.array([np.interp(points[2], t.curve_mm[2], t.curve_mm[k]) for k in (0, 1)])
            for t in (self.one, self.other)
        ]
        span, away = ends[1] - ends[0], points[:2] - ends[0]
        share = np.clip((span * away).sum(axis=0) / np.maximum((span**2).sum(axis=0), _DUST), 0, 1)
        side = np.hypot(*(away - share * span)) - self.thick_mm / 2
        return np.asarray(np.maximum(side, np.maximum(self.low_mm - points[2], points[2] - self.high_mm)))


@dataclass(frozen=True, eq=False)
class Egg:
    """An ellipsoid: centre [mm], three unit axes as rows (3, 3), half axes [mm]."""

    centre_mm: FloatArray
    axes: FloatArray
    half_mm: FloatArray

    @property
    def box(self) -> FloatArray:
        """Corners of a box about the body."""
        reach = np.sqrt(((self.axes * self.half_mm[:, None]) ** 2).sum(axis=0))
        return np.array([self.centre_mm - reach, self.centre_mm + reach])

    @property
    def volume_mm3(self) -> float:
        """Volume, 4/3 π abc [mm³]."""
        return float(4 / 3 * np.pi * self.half_mm.prod())

    def distance(self, points: FloatArray) -> FloatArray:
        """Signed distance [mm]."""
        local = self.axes @ (points - self.centre_mm[:, None])
        out = np.sqrt(((local / self.half_mm[:, None]) ** 2).sum(axis=0))
        slope = np.sqrt(((local / self.half_mm[:, None] ** 2) ** 2).sum(axis=0))
        return np.asarray(_to_level(out, slope, self.half_mm.min(), self.half_mm.max()))


def ellipse(u: FloatArray, v: FloatArray, a: FloatArray, b: FloatArray) -> FloatArray:
    """Signed distance of first order to the ellipse of half axes ``a`` along u and ``b`` along v [mm]."""
    level, slope = np.hypot(u / a, v / b), np.hypot(u / a**2, v / b**2)
    return _to_level(level, slope, a, b)


def _to_level(level: FloatArray, slope: FloatArray, a: FloatArray, b: FloatArray) -> FloatArray:
    """Distance of first order to level 1, the level's slope along its gradient given; in the middle − the inradius."""
    reach = np.where(slope > _DUST, level / np.maximum(slope, _DUST), np.minimum(a, b))
    return np.maximum((level - 1) * reach, -np.minimum(a, b))


def even(table: FloatArray, at: FloatArray) -> FloatArray:
    """Linear between the columns of ``table`` (k, n) at positions counted in columns, held at the ends."""
    at = np.clip(at, 0, table.shape[1] - 1)
    low = np.minimum(at.astype(np.intp), table.shape[1] - 2)
    share = at - low
    return np.asarray(np.take(table, low, axis=1) * (1 - share) + np.take(table, low + 1, axis=1) * share)


def tangents(curve: FloatArray) -> FloatArray:
    """Unit tangents of a curve (3, n)."""
    slope = np.gradient(curve, axis=1)
    return np.asarray(slope / np.linalg.norm(slope, axis=0))


def near(shape: Shape, points: FloatArray, reach_mm: float = 0.3) -> FloatArray:
    """Signed distance, computed only about the shape's box; farther away the distance to the box [mm]."""
    low, high = shape.box
    gap = np.sqrt(sum(np.maximum(0, np.maximum(low[k] - points[k], points[k] - high[k])) ** 2 for k in range(3)))
    close = gap < reach_mm
    if close.all():
        return shape.distance(points)
    if close.any():
        gap[close] = shape.distance(points[:, close])
    return np.asarray(gap)

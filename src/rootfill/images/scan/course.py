"""The way of one canal made exact: its line through the middle, its sections, its two ends."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import make_smoothing_spline

from rootfill.images.scan.picture import Picture, frames
from rootfill.images.scan.section import Section, axes, grid, measured
from rootfill.images.scan.tissue import Greys
from rootfill.units import FloatArray

MEDIAN = 1.25
"""Standard deviation of a median against that of a mean, for normal noise."""

SMOOTHED_VOXELS, SMOOTHED_SHARE = 3.0, 0.03
"""Bends of a line shorter than so many voxels, or than this share of it, are taken for noise."""

MOST_SECTIONS = 150
"""Sections along a line while it is being laid."""

ROUNDS = 3
"""Times the line is laid through the centres of the sections across it."""


@dataclass(frozen=True, eq=False)
class Line:
    """Points of shape (n, 3) [mm] from the end of the canal to its orifice, equally spaced, and a section at each."""

    points_mm: FloatArray
    sections: tuple[Section, ...]

    @property
    def s_mm(self) -> FloatArray:
        """Distance of each point from the first along the line [mm]."""
        return arc(self.points_mm)

    @property
    def across_mm(self) -> FloatArray:
        """Diameter of the circle of each section's area [mm]."""
        return np.array([section.across_mm for section in self.sections])

    def axes(self, over_mm: float, look_mm: float) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Narrow and wide diameter [mm] and the angle of the wide one to the first normal, medians over ``over_mm``.

        Sections nearer than ``look_mm``, a voxel, share their noise.
        """
        step = max(float(np.median(np.diff(self.s_mm))), 1e-9)
        width = 2 * int(over_mm / step / 2) + 1
        area = np.array([section.area_mm2 for section in self.sections])
        moments = np.array([section.moments_mm2 for section in self.sections])
        steady = [running_median(x, width) for x in moments.T]
        sd = running_median(np.array([section.moments_sd_mm2 for section in self.sections]), width)
        alike = max(over_mm / look_mm, 1.0)
        return axes(running_median(area, width), np.stack(steady, axis=1), MEDIAN * sd / np.sqrt(alike))


@dataclass(frozen=True, eq=False)
class Look:
    """What is needed to look at a section: the picture, its greys, the contrast of a wide lumen, and the standard
    deviation of the blur, in voxels along each axis."""

    picture: Picture
    greys: Greys
    contrast: float
    blur: float

    @property
    def blur_mm(self) -> float:
        """The blur where it is largest [mm]."""
        return self.blur * self.picture.coarsest_mm

    def along(self, direction: FloatArray) -> float:
        """The blur along a direction of length 1 [mm]."""
        return float(self.blur * np.linalg.norm(direction * self.picture.step_mm))

    def sections(self, points_mm: FloatArray, about_mm: FloatArray) -> list[Section]:
        """Sections across a line of points, each about as wide as ``about_mm`` says."""
        _, u, v = frames(points_mm)
        return [self._section(p, a, b, d) for p, a, b, d in zip(points_mm, u, v, about_mm, strict=True)]

    def _section(self, point: FloatArray, u: FloatArray, v: FloatArray, about_mm: float) -> Section:
        fine = self.picture.finest_mm
        across = max(about_mm, 2 * fine)
        over = grid(0.8 * across + 5 * self.blur_mm + 2 * fine, max(fine / 2, across / 30))
        a, b = np.meshgrid(over.along_mm, over.along_mm, indexing="ij")
        grey = self.picture.at(point + a[..., None] * u + b[..., None] * v)
        return measured(grey, over, self.greys.hard, self.contrast, (self.along(u), self.along(v)), across)

    def hard(self, points_mm: FloatArray) -> FloatArray:
        """Share of hard tissue at points (..., 3): 1 in dentine, 0 outside."""
        return np.asarray((self.picture.at(points_mm) - self.greys.soft) / self.greys.contrast)


def arc(points_mm: FloatArray) -> FloatArray:
    """Distance of each point from the first along a line of shape (n, 3) [mm]."""
    return np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(points_mm, axis=0), axis=1))))


def spaced(points_mm: FloatArray, step_mm: float) -> FloatArray:
    """The same line with points about ``step_mm`` apart, at least four."""
    s = arc(points_mm)
    count = max(4, int(np.ceil(s[-1] / step_mm)) + 1)
    at = np.linspace(0.0, s[-1], count)
    return np.stack([np.interp(at, s, points_mm[:, i]) for i in range(3)], axis=1)


def smooth(points_mm: FloatArray, stray_mm: FloatArray, over_mm: float) -> FloatArray:
    """A cubic smoothing spline through points that stray by ``stray_mm`` (standard deviation each), at the same s.

    Bends shorter than about ``over_mm`` are smoothed away: the penalty on curvature is over⁴ by the points' distance.
    """
    s = arc(points_mm)
    if len(s) < 5:
        return points_mm
    weight = 1 / np.maximum(stray_mm, 1e-6) ** 2
    stiff = over_mm**4 * (len(s) - 1) / s[-1]
    return np.stack([make_smoothing_spline(s, x, w=weight / weight.mean(), lam=stiff)(s) for x in points_mm.T], axis=1)


def centred(look: Look, rough_mm: FloatArray, about_mm: FloatArray) -> Line:
    """Lay a line through the middles of the sections across it. ``rough_mm`` (n, 3) runs from the end upwards."""
    step = max(look.picture.finest_mm, float(arc(rough_mm)[-1]) / MOST_SECTIONS)
    points, held = spaced(rough_mm, step), _gaps(rough_mm, look.picture.coarsest_mm)
    about = running_median(np.interp(arc(points), arc(rough_mm), about_mm), 5)
    line = Line(points, _unless_held(look.sections(points, about), points, held))
    for _ in range(ROUNDS):
        line = _once_more(look, line, about, step)
        line = Line(line.points_mm, _unless_held(line.sections, line.points_mm, held))
    return line


Gap = tuple[FloatArray, FloatArray]


def _gaps(rough_mm: FloatArray, step_mm: float) -> list[Gap]:
    """Stretches that have no points of their own, where a canal runs through a hollow shared with another."""
    far = np.flatnonzero(np.linalg.norm(np.diff(rough_mm, axis=0), axis=1) > 3 * step_mm)
    return [(rough_mm[i], rough_mm[i + 1]) for i in far]


def _unless_held(sections: Iterable[Section], points_mm: FloatArray, held: list[Gap]) -> tuple[Section, ...]:
    """Sections, those in a gap marked as open: the line there is carried straight across."""
    inside = np.zeros(len(points_mm), dtype=bool)
    for a, b in held:
        share = (points_mm - a) @ (b - a) / float((b - a) @ (b - a))
        away = np.linalg.norm(points_mm - a - share[:, None] * (b - a), axis=1)
        inside |= (share > 0) & (share < 1) & (away < np.linalg.norm(b - a))
    return tuple(
        replace(s, open=True, area_sd_mm2=np.inf, offset_mm=(0.0, 0.0)) if x else s
        for s, x in zip(sections, inside, strict=True)
    )


def recentred(look: Look, line: Line) -> Line:
    """A line laid once more through the middles of its sections, itself telling how wide they are."""
    return _once_more(look, line, running_median(line.across_mm, 5), float(np.diff(line.s_mm).max()))


def _once_more(look: Look, line: Line, about_mm: FloatArray, step_mm: float) -> Line:
    _, u, v = frames(line.points_mm)
    offset = np.array([section.offset_mm for section in line.sections])
    sure = np.array([max(section.area_mm2, 0.0) / max(3 * section.area_sd_mm2, 1e-9) for section in line.sections])
    most = np.maximum(line.across_mm, look.picture.finest_mm)
    offset = np.clip(offset, -most[:, None], most[:, None]) * np.clip(sure, 0, 1)[:, None]
    moved = line.points_mm + offset[:, :1] * u + offset[:, 1:] * v
    stray = look.blur_mm / np.clip(sure, 0.2, 10)
    over = max(SMOOTHED_VOXELS * look.picture.coarsest_mm, SMOOTHED_SHARE * float(line.s_mm[-1]))
    moved = smooth(moved, stray, over)
    points = spaced(moved, step_mm)
    about = np.interp(np.linspace(0, 1, len(points)), np.linspace(0, 1, len(about_mm)), about_mm)
    return Line(points, tuple(look.sections(points, about)))


def running_median(x: FloatArray, width: int) -> FloatArray:
    """Median over ``width`` neighbours (odd), narrower towards both ends so that the ends are not drawn in."""
    half = width // 2
    reach = np.minimum(np.minimum(np.arange(len(x)), np.arange(len(x))[::-1]), half)
    return np.array([np.median(x[i - r : i + r + 1]) for i, r in enumerate(reach)])


def cut(line: Line, from_mm: float, to_mm: float) -> Line:
    """The part of a line between two distances from its first point, its own first and last point exactly there."""
    s = line.s_mm
    keep = (s > from_mm + 1e-9) & (s < to_mm - 1e-9)
    ends = [np.array([np.interp(x, s, line.points_mm[:, i]) for i in range(3)]) for x in (from_mm, to_mm)]
    first, last = (line.sections[int(np.argmin(np.abs(s - x)))] for x in (from_mm, to_mm))
    points = np.concatenate((ends[0][None], line.points_mm[keep], ends[1][None]))
    return Line(points, (first, *(x for x, k in zip(line.sections, keep, strict=True) if k), last))


def joined_up(below: Line, above: Line) -> Line:
    """One line of two, the second beginning where the first ends."""
    return Line(np.concatenate((below.points_mm[:-1], above.points_mm)), (*below.sections[:-1], *above.sections))


def turned(line: Line) -> Line:
    """The same line from its other end."""
    return Line(line.points_mm[::-1], line.sections[::-1])


def beyond(look: Look, line: Line, far_mm: float) -> FloatArray:
    """Points up to ``far_mm`` beyond the first point of a line, the nearest first, straight on."""
    step = look.picture.finest_mm
    ahead = min(len(line.points_mm) - 1, max(4, int(1.0 / step)))
    direction = line.points_mm[0] - line.points_mm[ahead]
    direction = direction / np.linalg.norm(direction)
    return np.asarray(line.points_mm[0] + np.arange(1, max(2, int(far_mm / step)) + 1)[:, None] * step * direction)


def moved_end(look: Look, line: Line, by_mm: float) -> Line:
    """The line with its first point moved out by ``by_mm`` (in, where negative), straight on."""
    if by_mm <= 0:
        return cut(line, -by_mm, float(line.s_mm[-1]))
    ahead = beyond(look, line, by_mm + 2 * look.picture.finest_mm)[::-1]
    points = np.concatenate((ahead, line.points_mm))
    about = np.concatenate((np.full(len(ahead), float(np.median(line.across_mm[:5]))), line.across_mm))
    extended = Line(points, (*look.sections(points, about)[: len(ahead)], *line.sections))
    return cut(extended, float(arc(points)[len(ahead)] - by_mm), float(arc(points)[-1]))

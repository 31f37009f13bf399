"""A filling followed along its band: axis, width, grey over its neighbours, and its apical end between pixels."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rootfill.images.film.model import Band, along_px, leaving
from rootfill.images.film.profile import across, sampled
from rootfill.units import FloatArray

STEP_MM = 0.1
SIDE_MM = 1.4
"""How far to either side neighbours are looked at."""
REACH_MM = 0.25
"""How far from where the axis is expected its middle is looked for."""
LOST = 0.3
"""Below this share of what the filling was over its neighbours it is lost."""
PATIENCE_MM = 0.8
"""A gap in the filling no longer than this is stepped over."""
TURN = 0.25
"""Share by which a new step turns the direction."""
FINE_PX = 0.25


@dataclass(frozen=True)
class Cut:
    """Across the band: its middle as an offset, its width, its grey over its neighbours; None width: no band."""

    off: float
    width: float
    contrast: float


def follow(grey: FloatArray, place: FloatArray, way: FloatArray, step_mm: float) -> Band | None:
    """The band through a place, in both directions; which end is the apical one is not yet said."""
    start = cut(grey, place, way, step_mm, SIDE_MM / 2)
    if start is None:
        return None
    middle = place + start.off * across(way)
    one = _walk(grey, middle, way, step_mm, start)
    other = _walk(grey, middle, -way, step_mm, start)
    rows = [*reversed(other), (middle, start), *one]
    if len(rows) < 5:
        return None
    axis = np.array([point for point, _ in rows])
    return Band(axis, np.array([c.width for _, c in rows]), np.array([c.contrast for _, c in rows]))


def cut(grey: FloatArray, place: FloatArray, way: FloatArray, step_mm: float, reach_mm: float) -> Cut | None:
    """The band across ``way`` at a place: half-way points between its top and its neighbours, from outside in."""
    side = across(way)
    t = np.arange(-SIDE_MM / step_mm, SIDE_MM / step_mm + FINE_PX / 2, FINE_PX)
    lines = [place + k * way + t[:, None] * side for k in np.linspace(-1, 1, 3) * STEP_MM / step_mm / 2]
    values = np.mean([sampled(grey, line) for line in lines], axis=0)
    near = np.flatnonzero(np.abs(t) <= reach_mm / step_mm)
    top = int(near[int(np.argmax(values[near]))])
    one, other = _edge(values, top, -1, step_mm), _edge(values, top, 1, step_mm)
    if one is None or other is None:
        return None
    (left, low), (right, high) = one, other
    off = FINE_PX * ((left + right) / 2) + t[0]
    return Cut(float(off), float(FINE_PX * (right - left)), float(values[top] - max(low, high)))


def _edge(values: FloatArray, top: int, step: int, step_mm: float) -> tuple[float, float] | None:
    """Index at which the band's edge lies to one side of its top, and the neighbour's grey there."""
    most = round(SIDE_MM / step_mm / FINE_PX)
    run = values[top::step][: most + 1]
    if len(run) < 3:
        return None
    foot = _foot(run)
    base = float(run[foot])
    level = (float(values[top]) + base) / 2
    above = np.flatnonzero(run[: foot + 1] > level)
    last = int(above[-1]) if above.size else 0
    if last + 1 >= len(run) or run[last] <= run[last + 1]:
        return None
    share = (run[last] - level) / (run[last] - run[last + 1])
    return top + step * (last + share), base


def _foot(run: FloatArray) -> int:
    """Where the slope down from the band ends: the first place after the steepest at a tenth of its slope."""
    fall = -np.diff(np.convolve(run, np.ones(5) / 5, mode="same"))
    inner = fall[: max(3, len(fall) - 4)]
    steep = int(np.argmax(inner))
    flat = np.flatnonzero(inner[steep:] < 0.1 * inner[steep])
    return steep + int(flat[0]) + 1 if flat.size else len(run) - 3


def _walk(
    grey: FloatArray, middle: FloatArray, way: FloatArray, step_mm: float, start: Cut
) -> list[tuple[FloatArray, Cut]]:
    """Steps along the band until it is lost for longer than a gap may be."""
    rows: list[tuple[FloatArray, Cut]] = []
    point, way = middle, way / np.linalg.norm(way)
    seen, lost = [start], 0
    most = round(PATIENCE_MM / STEP_MM)
    while lost <= most and len(rows) < 600:
        ahead = point + way * STEP_MM / step_mm
        if not _inside(grey, ahead):
            break
        found = cut(grey, ahead, way, step_mm, REACH_MM)
        usual = float(np.median([c.contrast for c in seen[-12:]]))
        wide = float(np.median([c.width for c in seen[-12:]]))
        if found is None or found.contrast < LOST * usual or abs(found.width - wide) > 0.6 * wide:
            lost += 1
            point = ahead
            continue
        lost = 0
        new = ahead + found.off * across(way)
        step = new - (rows[-1][0] if rows else middle)
        way = way + TURN * step / np.linalg.norm(step)
        way = way / np.linalg.norm(way)
        point = new
        rows.append((new, found))
        seen.append(found)
    return rows


def _inside(grey: FloatArray, point: FloatArray) -> bool:
    return bool(1 <= point[0] < grey.shape[1] - 2 and 1 <= point[1] < grey.shape[0] - 2)


def turned_apical(band: Band, apical_first: bool) -> Band:
    """The same band, or the same from its other end."""
    if apical_first:
        return band
    return Band(band.axis[::-1], band.width[::-1], band.contrast[::-1])


def smoothed(band: Band, step_mm: float) -> Band:
    """The axis smoothed over about a millimetre, as no filling bends faster."""
    run = along_px(band.axis)
    degree = int(np.clip(run[-1] * step_mm / 3, 1, 5))
    axis = np.column_stack([np.polynomial.Polynomial.fit(run, band.axis[:, k], degree)(run) for k in (0, 1)])
    return Band(axis, band.width, band.contrast)


def end_of(grey: FloatArray, band: Band, step_mm: float) -> FloatArray | None:
    """Where the filling ends at the band's first point, between pixels: where its grey falls half-way to beyond it."""
    way = leaving(band.axis, min(0.5, 1.0 / step_mm / max(band.along[-1], 1.0)))
    side = across(way)
    half = float(np.median(band.width[: max(3, round(0.5 / STEP_MM))])) / 2
    t = np.arange(-1.2 / step_mm, 1.5 / step_mm, FINE_PX)
    points = band.axis[0] + t[:, None] * way
    inner = [sampled(grey, points + k * half * side) for k in (-0.5, -0.25, 0, 0.25, 0.5)]
    gap = half + 0.3 / step_mm
    outer = [sampled(grey, points + k * (gap + d / step_mm) * side) for k in (-1, 1) for d in (0.0, 0.1, 0.2)]
    stands = np.mean(inner, axis=0) - np.mean(outer, axis=0)
    full = float(np.median(stands[(t > -0.9 / step_mm) & (t < -0.25 / step_mm)]))
    above = stands > full / 2
    patience = round(0.3 / step_mm / FINE_PX)
    k = int(np.argmax(above))
    for i in range(k, len(t) - 1):
        if above[i] and not above[i + 1 : i + 1 + patience].any():
            share = (stands[i] - full / 2) / (stands[i] - stands[i + 1])
            return np.asarray(band.axis[0] + (t[i] + share * FINE_PX) * way)
    return None

"""A filling followed along its band: axis, width, grey over its neighbours, and its apical end between pixels."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.signal import savgol_filter

from rootfill.images.film.model import Band, leaving
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
SMOOTH_MM = 2.4
FINE_PX = 0.25
BESIDE = 0.9
"""Share of the filling's own grey by which its neighbourhood is brighter where something else hides its end."""
STAYS = 40
"""Samples for which a filling stays away past its end."""


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


def smoothed(band: Band) -> Band:
    """The axis smoothed over ``SMOOTH_MM``, as no filling bends faster."""
    window = 2 * round(SMOOTH_MM / STEP_MM / 2) + 1
    if len(band.axis) < window:
        return band
    return Band(savgol_filter(band.axis, window, 2, axis=0), band.width, band.contrast)


@dataclass(frozen=True, eq=False)
class End:
    """The apical end of a filling [px]; ``hidden`` where something bright about it hides how far its core goes."""

    place: FloatArray
    hidden: bool


def end_of(grey: FloatArray, band: Band, step_mm: float) -> End | None:
    """Where the filling ends at the band's first point, between pixels: where its grey falls half-way to beyond it.

    Where something as bright begins beside it before that, such as a puff of sealer, the core is followed no further.
    """
    way = leaving(band.axis, min(0.5, 1.0 / step_mm / max(band.along[-1], 1.0)))
    half = float(np.median(band.width[: max(3, round(0.5 / STEP_MM))])) / 2
    t = np.arange(-1.2 / step_mm, 1.5 / step_mm, FINE_PX)

    def strip(*offs: float) -> FloatArray:
        back = np.column_stack([np.interp(-t, band.along, band.axis[:, k]) for k in (0, 1)])
        points = np.where(t[:, None] > 0, band.axis[0] + t[:, None] * way, back)
        return np.asarray(np.mean([sampled(grey, points + off * across(way)) for off in offs], axis=0))

    inner = strip(*(half * np.linspace(-0.5, 0.5, 5)))
    far = half + np.array([0.3, 0.4, 0.5]) / step_mm
    near, away = half + np.array([0.15, 0.22]) / step_mm, half + np.array([0.9, 1.3]) / step_mm
    stands = inner - strip(*far, *-far)
    full = float(np.median(stands[(t > -0.9 / step_mm) & (t < -0.25 / step_mm)]))
    if full < LOST * float(np.median(band.contrast)):
        return None
    end = _last_fall(stands, full / 2)
    beside = np.minimum(
        *(_over(strip(*(k * near)), strip(k * away[0]), strip(k * away[1]), t, step_mm) for k in (-1, 1))
    )
    bright = np.convolve(beside > BESIDE * full, np.ones(round(0.15 / step_mm / FINE_PX)), mode="valid")
    starts = np.flatnonzero(bright == bright.max()) if bright.max() >= round(0.15 / step_mm / FINE_PX) else np.array([])
    if starts.size and (end is None or starts[0] < end):
        return End(np.asarray(band.axis[0] + t[int(starts[0])] * way), True)
    return None if end is None else End(np.asarray(band.axis[0] + (t[0] + end * FINE_PX) * way), False)


def _over(near: FloatArray, one: FloatArray, other: FloatArray, t: FloatArray, step_mm: float) -> FloatArray:
    """How much brighter it is close beside a filling than farther off, over what that is within the root."""
    stands = near - np.minimum(one, other)
    return np.asarray(stands - np.median(stands[t < -0.5 / step_mm]))


def _last_fall(values: FloatArray, level: float) -> float | None:
    """Index, between samples, at which values first fall below a level and stay below for as long as a void is."""
    above = values > level
    for i in range(int(np.argmax(above)), len(values) - 1):
        if above[i] and not above[i + 1 : i + 1 + STAYS].any():
            return i + float((values[i] - level) / (values[i] - values[i + 1]))
    return None

"""What is known of a canal station by station, and how far its length is to be trusted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rootfill.images.scan import outer
from rootfill.images.scan.course import Line, Look
from rootfill.images.scan.ends import clear, seen_from
from rootfill.images.scan.model import Stations
from rootfill.units import Z90, FloatArray

EVERY_MM = 0.5
OVER_MM = 0.8
"""Length of canal whose sections are taken together for one station [mm]."""

NEITHER_VOXELS = 0.3
"""Standard deviation of a length in voxels besides that of feeling out its ends."""

JOIN_VOXELS = 0.3
"""The same of the way a canal takes where it runs into another."""

THIN_VOXELS = 2.0
"""Below this width a canal is said to be narrower than the scan carries."""


@dataclass(frozen=True, eq=False)
class Measured:
    """The table, and from which stations on a canal is seen, and is at least two voxels wide."""

    table: Stations
    seen_from: float
    thin_below: float


def stations_of(look: Look, line: Line, others: list[Line]) -> Measured:
    """Widths and walls of a line at equal steps of about half a millimetre, its own ends included.

    A direction in which another canal lies gives no wall.
    """
    step = look.picture.finest_mm
    total = float(line.s_mm[-1])
    s = np.linspace(0.0, total, max(3, round(total / max(EVERY_MM, step)) + 1))
    over = max(OVER_MM, 3 * step)
    narrow, wide, angle = line.axes(over, step)
    seen = seen_from(look, line)
    shown = clear(look, line) & (line.s_mm >= seen) & (line.s_mm <= total - 2.5 * look.blur_mm)
    narrow, wide = (_trusted(line, x, shown) for x in (narrow, wide))
    points = np.stack([np.interp(s, line.s_mm, line.points_mm[:, i]) for i in range(3)], axis=1)
    turn = np.array([angle[int(np.argmin(np.abs(line.s_mm - x)))] for x in s])
    at_narrow, at_wide = np.interp(s, line.s_mm, narrow), np.interp(s, line.s_mm, wide)
    walls = _walls(look, points, turn, outer.edges(at_narrow, at_wide), others)
    thinnest = np.where(
        np.isfinite(walls).any(axis=1), np.nanmin(np.where(np.isfinite(walls), walls, np.inf), axis=1), np.nan
    )
    thin = np.flatnonzero(narrow >= THIN_VOXELS * look.picture.finest_mm)
    thin_below = float(line.s_mm[thin[0]]) if thin.size else total
    return Measured(Stations(s, at_narrow, at_wide, thinnest, walls), seen, thin_below)


def _trusted(line: Line, width: FloatArray, good: NDArray[np.bool_]) -> FloatArray:
    """Widths with the stretches that show no clear section carried on straight from the 2 mm next to them."""
    s = line.s_mm
    if good.sum() < 5:
        return width
    known = np.flatnonzero(good)
    out = width.copy()
    for near, far in ((known[0], s < s[known[0]]), (known[-1], s > s[known[-1]])):
        by = good & (np.abs(s - s[near]) <= 2.0)
        fit = np.polyfit(s[by], width[by], 1 if by.sum() > 4 else 0)
        out[far] = np.maximum(np.polyval(fit, s[far]), 0.3 * width[near])
    inner = (~good) & (s > s[known[0]]) & (s < s[known[-1]])
    out[inner] = np.interp(s[inner], s[good], width[good])
    return out


def _walls(look: Look, points: FloatArray, turn: FloatArray, edge: FloatArray, others: list[Line]) -> FloatArray:
    """Dentine from the lumen's edge outwards, shape (n, directions); NaN towards another canal."""
    hard, r, out = outer.rays(look, points, turn, outer.FURTHEST_MM)
    leaves = outer.surfaces(hard, r, edge, look.blur_mm)
    exits = points[:, None] + np.nan_to_num(leaves)[..., None] * out
    for other in others:
        every = max(1, len(other.points_mm) // 200)
        axis, reach = other.points_mm[::every], other.across_mm[::every] / 2 + 3 * look.blur_mm
        away = np.linalg.norm(exits[:, :, None] - axis, axis=-1)
        own = np.linalg.norm(points[:, None] - axis, axis=-1).min(axis=1) < look.picture.finest_mm
        leaves = np.where((away < reach).any(axis=-1) & ~own[:, None], np.nan, leaves)
    return np.asarray(np.maximum(leaves - edge, 0.0))


def length_error(look: Look, sd_mm: float, seen: float, joins: bool) -> float:
    """Half the 90 % interval of a length [mm], scale apart.

    Both ends as they were felt out; ``NEITHER_VOXELS`` for what the feeling misses, corners and waists; of what was
    not seen one part in twenty; ``JOIN_VOXELS`` for the way round a join. Coefficients: our choice, from other phantoms
    than those of the evidence.
    """
    step = look.picture.coarsest_mm
    about = float(np.hypot(NEITHER_VOXELS, JOIN_VOXELS)) if joins else NEITHER_VOXELS
    return float(Z90 * np.sqrt(sd_mm**2 + (about * step) ** 2 + (0.05 * seen) ** 2))

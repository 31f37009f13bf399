"""How deep a stiff tapered rod goes in a curved canal: first as rigid geometry.

In the canal's own frame the axis of a straight rod is a line a + b·s against the deflection K(s) = ∬κ;
it fits while |K(s) − a − b s| ≤ gap(s) = (D(s) − d(s − tip))/2 at every station from its tip to the orifice.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from rootfill.tooth.canal import Canal
from rootfill.tray.model import Rod
from rootfill.units import FloatArray

SCAN_STEP_MM = 0.1
_ROUNDS = 3
_PARTS = 21
_ITERATIONS = 40


def gaps(canal: Canal, rod: Rod, tips_mm: FloatArray, grid_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Stations and gaps (D − d)/2 [mm], both of shape (tips, m): the tip, the grid, where the rod itself bends.

    Stations below a tip carry an inf gap.
    """
    kinks = [tips_mm + x for x in rod.kinks_mm]
    s = np.column_stack([tips_mm, np.broadcast_to(grid_mm, (tips_mm.size, grid_mm.size)), *kinks])
    s = np.where(s > canal.length_mm, tips_mm[:, None], s)
    along = np.maximum(s - tips_mm[:, None], 0.0)
    gap = (canal.profile.narrow_at(s) - rod.diameter(along)) / 2
    return s, np.where(s >= tips_mm[:, None], gap, np.inf)


def grid(canal: Canal, step_mm: float = SCAN_STEP_MM) -> FloatArray:
    """Stations that hold every breakpoint of shape and curve, none further apart than the step."""
    count = int(np.ceil(canal.length_mm / step_mm)) + 1
    marks = [x for a in canal.curve.arcs for x in (a.from_mm, a.to_mm)]
    stations = np.concatenate((np.linspace(0.0, canal.length_mm, count), canal.profile.s_mm, marks))
    return np.unique(stations[stations <= canal.length_mm])


def fits_rigid(canal: Canal, rod: Rod, tips_mm: FloatArray, grid_mm: FloatArray) -> NDArray[np.bool_]:
    """Whether a straight axis exists for each tip position, shape (tips,)."""
    s, gap = gaps(canal, rod, tips_mm, grid_mm)
    open_everywhere = gap.min(axis=1) >= -1e-12
    if canal.curve.is_straight or not open_everywhere.any():
        return np.asarray(open_everywhere)
    fits: NDArray[np.bool_] = np.array(open_everywhere)
    fits[open_everywhere] = _line_exists(canal, s[open_everywhere], gap[open_everywhere])
    return fits


def _line_exists(canal: Canal, s: FloatArray, gap: FloatArray) -> NDArray[np.bool_]:
    """A line between K − gap and K + gap, by minimising the convex φ(b) = max(K−g−bs) − min(K+g−bs).

    Intersecting the two active lines of φ gives its minimum after finitely many steps; stops as soon as
    a value ≤ 0 proves that a line exists or the intersection > 0 proves that none does.
    """
    k = canal.curve.deflection(s)
    lower, upper = k - gap, k + gap
    slopes = canal.curve.heading(np.array([0.0, canal.length_mm]))
    rows = s.shape[0]
    left, right = np.full(rows, slopes.min() - 1.0), np.full(rows, slopes.max() + 1.0)
    left_value, left_slope = _phi(left, s, lower, upper)
    right_value, right_slope = _phi(right, s, lower, upper)
    best = np.minimum(left_value, right_value)
    for _ in range(_ITERATIONS):
        with np.errstate(divide="ignore", invalid="ignore"):
            b = (left_value - right_value + right_slope * right - left_slope * left) / (right_slope - left_slope)
        b = np.where(np.isfinite(b), b, left)
        bound = left_value + left_slope * (b - left)
        if np.all((best <= 1e-12) | (bound > 1e-12)):
            break
        value, slope = _phi(b, s, lower, upper)
        best = np.minimum(best, value)
        falling = slope < 0
        left, left_value, left_slope = (
            np.where(falling, new, old) for new, old in ((b, left), (value, left_value), (slope, left_slope))
        )
        right, right_value, right_slope = (
            np.where(falling, old, new) for new, old in ((b, right), (value, right_value), (slope, right_slope))
        )
    return np.asarray(best <= 1e-12)


def _phi(b: FloatArray, s: FloatArray, lower: FloatArray, upper: FloatArray) -> tuple[FloatArray, FloatArray]:
    """φ and its slope at ``b``, per row."""
    row = np.arange(s.shape[0])
    top = (lower - b[:, None] * s).argmax(axis=1)
    bottom = (upper - b[:, None] * s).argmin(axis=1)
    slope = s[row, bottom] - s[row, top]
    return lower[row, top] - upper[row, bottom] + b * slope, slope


def rigid_reach_mm(canal: Canal, rod: Rod) -> float | None:
    """Station of the tip at the last position, coming from the orifice, where a straight axis still fits.

    Never below the made end (0); None when the rod does not enter the orifice.
    """
    stations = grid(canal)
    tips = stations[::-1]
    blocked = np.flatnonzero(~fits_rigid(canal, rod, tips, stations))
    if blocked.size == 0:
        return 0.0
    if blocked[0] == 0:
        return None
    free, stuck = tips[blocked[0] - 1], tips[blocked[0]]
    for _ in range(_ROUNDS):
        between = np.linspace(free, stuck, _PARTS)
        first = int(np.flatnonzero(~fits_rigid(canal, rod, between, stations) | (between == stuck))[0])
        free, stuck = between[max(first - 1, 0)], between[first]
    return float(free)


def width_reach_mm(canal: Canal, rod: Rod) -> float | None:
    """As :func:`rigid_reach_mm`, by widths alone: where the rod would wedge in a straight canal."""
    return rigid_reach_mm(Canal(canal.profile), rod)


def clearance_mm(canal: Canal, rod: Rod, tip_s_mm: float) -> float:
    """Least difference [mm] between the narrow width and the rod, tip at ``tip_s_mm``; negative = wedged."""
    _, gap = gaps(canal, rod, np.array([tip_s_mm]), grid(canal))
    return float(2 * gap.min())

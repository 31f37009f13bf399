"""How deep a stiff tapered rod goes in a curved canal: first as rigid geometry.

In the canal's own frame the axis of a straight rod is a line a + b·s against the deflection K(s) = ∬κ;
it fits while |K(s) − a − b s| ≤ gap(s) = (D(s) − d(s − tip))/2 at every station from its tip to the orifice.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rootfill.tooth.canal import Canal
from rootfill.tray.model import Rod
from rootfill.units import FloatArray

SCAN_STEP_MM = 0.1
_ROUNDS = 3
_PARTS = 21
_FIRST_PARTS = 13
_ITERATIONS = 40


@dataclass(frozen=True, eq=False)
class _Rows:
    """Stations of a rod at several tip positions, a row each: the tip, the grid, where the rod itself bends."""

    tips_mm: FloatArray
    grid_mm: FloatArray
    kinks_mm: FloatArray

    @classmethod
    def of(cls, canal: Canal, rod: Rod, tips_mm: FloatArray, grid_mm: FloatArray) -> _Rows:
        """Of the grid only what some tip leaves above it; a kink above the orifice counts at the tip."""
        kinks = tips_mm[:, None] + np.array(rod.kinks_mm)
        inside = kinks <= canal.length_mm
        kinks = np.where(inside, kinks, tips_mm[:, None])[:, inside.any(axis=0)]
        return cls(tips_mm, grid_mm[grid_mm >= tips_mm.min()], kinks)

    def each(self, of: Callable[[FloatArray], FloatArray]) -> FloatArray:
        """A function of the station, shape (tips, m); on the grid, the same in every row, it is asked once."""
        tips, steps = self.tips_mm.size, self.grid_mm.size
        values = of(np.concatenate((self.tips_mm, self.grid_mm, self.kinks_mm.ravel())))
        each = np.empty((tips, 1 + steps + self.kinks_mm.shape[1]))
        each[:, 0] = values[:tips]
        each[:, 1 : 1 + steps] = values[tips : tips + steps]
        each[:, 1 + steps :] = values[tips + steps :].reshape(self.kinks_mm.shape)
        return each


def _gaps(canal: Canal, rod: Rod, rows: _Rows, wider_mm: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Stations and gaps (D − d)/2 [mm], both of shape (tips, m), every row's canal ``wider_mm`` wider.

    Stations below a tip carry an inf gap.
    """
    s = rows.each(lambda x: x)
    along = s - rows.tips_mm[:, None]
    widths = rows.each(canal.profile.narrow_at) + wider_mm[:, None]
    return s, np.where(along >= 0, (widths - rod.diameter(np.maximum(along, 0.0))) / 2, np.inf)


def grid(canal: Canal, step_mm: float = SCAN_STEP_MM) -> FloatArray:
    """Stations that hold every breakpoint of shape and curve, none further apart than the step."""
    count = int(np.ceil(canal.length_mm / step_mm)) + 1
    marks = [x for a in canal.curve.arcs for x in (a.from_mm, a.to_mm)]
    stations = np.concatenate((np.linspace(0.0, canal.length_mm, count), canal.profile.s_mm, marks))
    return np.unique(stations[stations <= canal.length_mm])


def fits_rigid(
    canal: Canal, rod: Rod, tips_mm: FloatArray, grid_mm: FloatArray, wider_mm: FloatArray | None = None
) -> NDArray[np.bool_]:
    """Whether a straight axis exists for each tip position, shape (tips,), in the canal or one ``wider_mm`` wider."""
    rows = _Rows.of(canal, rod, tips_mm, grid_mm)
    s, gap = _gaps(canal, rod, rows, np.zeros(tips_mm.size) if wider_mm is None else wider_mm)
    fits = np.asarray(gap.min(axis=1) >= -1e-12)
    if canal.curve.is_straight or not fits.any():
        return fits
    axis = rows.each(canal.curve.deflection)
    slopes = canal.curve.heading(np.array([0.0, canal.length_mm]))
    fits[fits] = _line_exists(s[fits], axis[fits] - gap[fits], axis[fits] + gap[fits], slopes)
    return fits


def _line_exists(s: FloatArray, lower: FloatArray, upper: FloatArray, slopes: FloatArray) -> NDArray[np.bool_]:
    """A line between ``lower`` and ``upper``, K − gap and K + gap, whose slope lies about the ``slopes`` of K.

    Minimises the convex φ(b) = max(K−g−bs) − min(K+g−bs): intersecting the two active lines of φ gives its
    minimum after finitely many steps; stops as soon as a value ≤ 0 proves that a line exists or the
    intersection > 0 proves that none does.
    """
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
    row, line = np.arange(s.shape[0]), b[:, None] * s
    top, bottom = (lower - line).argmax(axis=1), (upper - line).argmin(axis=1)
    slope = s[row, bottom] - s[row, top]
    return lower[row, top] - upper[row, bottom] + b * slope, slope


def rigid_reach_mm(canal: Canal, rod: Rod) -> float | None:
    """Station of the tip at the last position, coming from the orifice, where a straight axis still fits.

    Never below the made end (0); None when the rod does not enter the orifice.
    """
    return rigid_reaches_mm(canal, rod, (0.0,))[0]


def rigid_reaches_mm(canal: Canal, rod: Rod, wider_mm: Sequence[float]) -> list[float | None]:
    """As :func:`rigid_reach_mm`, in canals wider by each of ``wider_mm`` (narrower where negative), found together.

    A rod only grows thicker from its tip on: where it fits it fits everywhere above, so a few places tell
    between which two of the grid it is stopped.
    """
    stations = grid(canal)
    tips = stations[::-1]
    first = tips[np.unique(np.linspace(0, tips.size - 1, _FIRST_PARTS).astype(int))]
    last = _last_free(canal, rod, stations, [first] * len(wider_mm), wider_mm)
    found = {i: None if k < 0 else 0.0 for i, k in enumerate(last) if k in (-1, first.size - 1)}
    open_ = [i for i in range(len(wider_mm)) if i not in found]
    ladders = [tips[(tips <= first[last[i]]) & (tips >= first[last[i] + 1])] for i in open_]
    for _ in range(1 + _ROUNDS if open_ else 0):
        last = _last_free(canal, rod, stations, ladders, [wider_mm[i] for i in open_])
        # both ends of a ladder are known from the one before
        last = [min(max(k, 0), x.size - 2) for k, x in zip(last, ladders, strict=True)]
        ladders = [np.linspace(x[k], x[k + 1], _PARTS) for k, x in zip(last, ladders, strict=True)]
    found |= {i: float(x[0]) for i, x in zip(open_, ladders, strict=True)}
    return [found[i] for i in range(len(wider_mm))]


def _last_free(
    canal: Canal, rod: Rod, stations: FloatArray, ladders: Sequence[FloatArray], wider_mm: Sequence[float]
) -> list[int]:
    """Of each ladder of tip positions, coming from the orifice, the place before the first that is blocked."""
    sizes = [x.size for x in ladders]
    fits = fits_rigid(canal, rod, np.concatenate(ladders), stations, np.repeat(wider_mm, sizes))
    parts = np.split(fits, np.cumsum(sizes)[:-1])
    return [int(np.argmin(part)) - 1 if not part.all() else part.size - 1 for part in parts]


def width_reach_mm(canal: Canal, rod: Rod) -> float | None:
    """As :func:`rigid_reach_mm`, by widths alone: where the rod would wedge in a straight canal."""
    return rigid_reach_mm(Canal(canal.profile), rod)


def clearance_mm(canal: Canal, rod: Rod, tip_s_mm: float) -> float:
    """Least difference [mm] between the narrow width and the rod, tip at ``tip_s_mm``; negative = wedged."""
    tips = np.array([tip_s_mm])
    _, gap = _gaps(canal, rod, _Rows.of(canal, rod, tips, grid(canal)), np.zeros(1))
    return float(2 * gap.min())

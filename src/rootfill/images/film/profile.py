"""Grey values read between pixels: at points, and along a line averaged across it."""

from __future__ import annotations

import numpy as np
from scipy import ndimage

from rootfill.units import FloatArray


def sampled(grey: FloatArray, points: FloatArray) -> FloatArray:
    """Grey at points (…, 2) of [x, y], linear between pixels, the edge's value outside."""
    x, y = points[..., 0], points[..., 1]
    return np.asarray(ndimage.map_coordinates(grey, [y, x], order=1, mode="nearest"))


def across(way: FloatArray) -> FloatArray:
    """Unit vector to the left of a direction."""
    unit = way / np.linalg.norm(way)
    return np.array([-unit[1], unit[0]])


def crossing(values: FloatArray, at: FloatArray, level: float) -> float | None:
    """First place at which values, in order, pass from above to below a level; None where they never do."""
    below = np.flatnonzero((values[:-1] >= level) & (values[1:] < level))
    if not below.size:
        return None
    k = int(below[0])
    share = (values[k] - level) / (values[k] - values[k + 1])
    return float(at[k] + share * (at[k + 1] - at[k]))

"""Where a canal runs into another: below its last own section the two show as one hollow."""

from __future__ import annotations

import numpy as np

from rootfill.images.scan.course import Line
from rootfill.units import FloatArray

REACH_MM = 2.5
"""How far below its last own section a joining canal meets the other at most [mm]."""

BENDS_MM = 3.0
"""Length over which a canal shows how it bends towards the one it joins [mm]."""

FINE_MM = 0.02
FEWEST = 6
"""Points that a bend is told from; of fewer a straight line."""


def nearest(line: Line, point: FloatArray) -> int:
    """Which point of a line lies nearest."""
    return int(np.argmin(np.linalg.norm(line.points_mm - point, axis=1)))


def meets(other: Line, line: Line) -> int:
    """Which point of another line a joining one runs into: carried on with its own bend, where it comes to lie on it.

    The other line is known below too and bends there itself, so that what counts is where the two ways cross, not how
    their distance falls. Not above the place of the joining line's own last section, nor more than ``REACH_MM`` below.
    """
    top = nearest(other, line.points_mm[0])
    lowest = float(other.s_mm[top]) - REACH_MM
    ahead = carried_on(line)
    apart = np.linalg.norm(ahead[:, None] - other.points_mm, axis=2)
    along = apart.argmin(axis=1)
    between = ahead - other.points_mm[along]
    crossed = np.flatnonzero(between @ between[0] <= 0)
    at = int(along[crossed[0]] if crossed.size else along[apart.min(axis=1).argmin()])
    return max(min(at, top), int(np.searchsorted(other.s_mm, lowest)))


def carried_on(line: Line) -> FloatArray:
    """Points (n, 3) [mm] below the first one of a line: a parabola through its lowest ``BENDS_MM``, carried on."""
    s = line.s_mm
    low = s <= max(BENDS_MM, s[min(1, len(s) - 1)])
    down = -np.arange(0.0, REACH_MM, FINE_MM)
    degree = 2 if low.sum() >= FEWEST else 1
    return np.stack([np.polyval(np.polyfit(s[low], x[low], degree), down) for x in line.points_mm.T], axis=1)

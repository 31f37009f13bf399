"""A section as it is drawn: half widths and sideways offsets in mm at any station."""

from __future__ import annotations

import numpy as np

from rootfill.plan.model import CanalPlan, Section
from rootfill.units import FloatArray

ASSUMED_WALL_MM = ((0.0, 0.8), (1.0, 1.5))
"""Wall drawn, dashed, where none is known: (share of the canal, mm). A hint, never a number for anybody."""


def stations(section: Section, low: float, high: float) -> FloatArray:
    """The section's own stations between ``low`` and ``high``, with both ends."""
    s = np.asarray(section.s_mm)
    return np.concatenate(([low], s[(s > low) & (s < high)], [high]))


def half(section: Section, s: FloatArray, *, wide: bool = False) -> FloatArray:
    """Half the narrow (or wide) width of the lumen, mm."""
    widths = section.wide_mm if wide else section.narrow_mm
    return np.interp(s, section.s_mm, widths) / 2


def wall(section: Section, s: FloatArray) -> FloatArray:
    """Wall beside the lumen, mm: measured where it is known, else the hint."""
    if section.wall_mm is not None:
        return np.interp(s, section.s_mm, section.wall_mm)
    shares, walls = zip(*ASSUMED_WALL_MM, strict=True)
    return np.interp(s / section.s_mm[-1], shares, walls)


def axis(section: Section, s: FloatArray) -> FloatArray:
    """Sideways offset of the centreline, mm."""
    return np.interp(s, section.s_mm, section.axis_mm)


def extent_mm(section: Section, lumen: float, walls: float, bend: float) -> tuple[float, float]:
    """How far the root reaches left and right of the coronal line at these stretches, mm of the sheet."""
    s = np.asarray(section.s_mm)
    reach = half(section, s) * lumen + wall(section, s) * walls
    middle = axis(section, s) * bend
    return float(np.min(middle - reach)), float(np.max(middle + reach))


def oval(section: Section) -> bool:
    """Whether the canal is anywhere at least 15 % wider one way than the other."""
    return any(w >= 1.15 * n for n, w in zip(section.narrow_mm, section.wide_mm, strict=True))


def station(canal: CanalPlan, depth_mm: float) -> float:
    """Station of a depth from the reference."""
    return canal.made_end_mm - depth_mm

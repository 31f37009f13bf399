"""Angles, radius and length of a canal from its centreline, however that was found."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from rootfill.tooth.curve import Curve
from rootfill.units import FloatArray

STRAY_MM = 2e-4
"""How far a computed centreline may stray from its coronal axis and still lie on it, mm."""


@dataclass(frozen=True, eq=False)
class Centreline:
    """Points from the made end to the orifice, shape (n, 2) or (n, 3), in mm, n >= 3."""

    points_mm: FloatArray

    @property
    def length_mm(self) -> float:
        """Length along the canal."""
        return float(np.linalg.norm(np.diff(self.points_mm, axis=0), axis=1).sum())

    def schneider_deg(self, stray_mm: float = STRAY_MM) -> float:
        """Angle between the coronal axis and the line from the end to where the canal leaves that axis.

        Schneider 1971: first line along the canal from the orifice, second from the foramen to the point of
        departure; the acute angle between them. 0 for a straight canal. A traced line needs its own tracing
        error as ``stray_mm``.
        """
        leaves = self._departure(stray_mm)
        if leaves == 0:
            return 0.0
        return _angle_deg(self._coronal_axis(), self.points_mm[leaves] - self.points_mm[0])

    def central_deg(self) -> float:
        """Total turning of the tangent, all bends counted positive."""
        steps = np.diff(self.points_mm, axis=0)
        return sum(_angle_deg(a, b) for a, b in pairwise(steps))

    def tightest_mm(self) -> float:
        """Smallest radius of the circle through three neighbouring points; infinite when straight."""
        a, b, c = self.points_mm[:-2], self.points_mm[1:-1], self.points_mm[2:]
        sides = [np.linalg.norm(v, axis=1) for v in (b - a, c - b, c - a)]
        half = sum(sides) / 2
        area = np.sqrt(np.maximum(half * math.prod(half - x for x in sides), 0.0))
        with np.errstate(divide="ignore"):
            return float(np.min(math.prod(sides) / (4 * area)))

    def _coronal_axis(self) -> FloatArray:
        return np.asarray(self.points_mm[-1] - self.points_mm[-2], dtype=float)

    def _departure(self, stray_mm: float) -> int:
        """Index of the last point, coming from the orifice, that still lies on the coronal axis."""
        axis = self._coronal_axis() / np.linalg.norm(self._coronal_axis())
        from_top = self.points_mm - self.points_mm[-1]
        off = np.linalg.norm(from_top - np.outer(from_top @ axis, axis), axis=1)
        strayed = np.flatnonzero(off > stray_mm)
        return int(strayed[-1]) + 1 if strayed.size else 0


def of_curve(curve: Curve, length_mm: float, step_mm: float = 0.01) -> Centreline:
    """The centreline of a canal given as arcs."""
    marks = [x for a in curve.arcs for x in (a.from_mm, a.to_mm)]
    s = np.unique(np.concatenate((np.arange(0.0, length_mm, step_mm), marks, [length_mm])))
    return Centreline(curve.points(s))


def _angle_deg(a: FloatArray, b: FloatArray) -> float:
    cosine = float(a @ b / (np.linalg.norm(a) * np.linalg.norm(b)))
    return math.degrees(math.acos(min(1.0, max(-1.0, cosine))))

"""How a canal bends: arcs from the made end towards the crown, in one plane."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rootfill.units import FloatArray


@dataclass(frozen=True)
class Arc:
    """A circular arc from station ``from_mm`` towards the crown.

    ``angle_deg`` is its central angle; a negative one bends to the other side, so an S-curve is two arcs.
    """

    angle_deg: float
    radius_mm: float
    from_mm: float = 0.0

    @property
    def length_mm(self) -> float:
        """Radius times angle in radians."""
        return self.radius_mm * math.radians(abs(self.angle_deg))

    @property
    def to_mm(self) -> float:
        """Station of its end towards the crown."""
        return self.from_mm + self.length_mm

    @property
    def curvature(self) -> float:
        """Signed curvature, 1/mm."""
        return math.copysign(1 / self.radius_mm, self.angle_deg)


def arc_from_schneider(schneider_deg: float, radius_mm: float) -> Arc:
    """The one arc that ends at s = 0 with this Schneider angle: its central angle is twice that angle."""
    return Arc(2 * schneider_deg, radius_mm)


@dataclass(frozen=True)
class Curve:
    """All arcs of a canal, apical first; empty means straight."""

    arcs: tuple[Arc, ...] = ()

    @property
    def is_straight(self) -> bool:
        return not self.arcs

    def tightest_mm(self) -> float:
        """Smallest radius, mm; infinite when straight."""
        return min((a.radius_mm for a in self.arcs), default=math.inf)

    def curvature(self, s_mm: FloatArray) -> FloatArray:
        """κ(s), 1/mm."""
        s = np.asarray(s_mm, dtype=float)
        return sum(
            (np.where((s >= a.from_mm) & (s < a.to_mm), a.curvature, 0.0) for a in self.arcs),
            np.zeros_like(s),
        )

    def heading(self, s_mm: FloatArray) -> FloatArray:
        """∫κ ds from the made end, radians."""
        s = np.asarray(s_mm, dtype=float)
        return sum((a.curvature * np.clip(s - a.from_mm, 0.0, a.length_mm) for a in self.arcs), np.zeros_like(s))

    def deflection(self, s_mm: FloatArray) -> FloatArray:
        """K(s) = ∬κ ds ds from the made end, mm: the axis of a straight rod is a line against it (small slope)."""
        s = np.asarray(s_mm, dtype=float)
        total = np.zeros_like(s)
        for a in self.arcs:
            inside = np.clip(s - a.from_mm, 0.0, a.length_mm)
            beyond = np.maximum(s - a.to_mm, 0.0)
            total = total + a.curvature * (inside**2 / 2 + a.length_mm * beyond)
        return total

    def points(self, s_mm: FloatArray) -> FloatArray:
        """Centreline points, shape (n, 2) in mm, of ascending stations; the made end at the origin.

        Exact to the chord rule between stations: each piece is a chord of its own arc.
        """
        s = np.asarray(s_mm, dtype=float)
        mid_heading = self.heading((s[:-1] + s[1:]) / 2)
        turn = np.diff(self.heading(s)) / 2
        chord = np.diff(s) * np.sinc(turn / math.pi)
        steps = np.column_stack((chord * np.sin(mid_heading), chord * np.cos(mid_heading)))
        return np.concatenate((np.zeros((1, 2)), np.cumsum(steps, axis=0)))


STRAIGHT = Curve()

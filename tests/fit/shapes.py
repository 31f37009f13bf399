"""Canals and rods of the worked examples."""

from __future__ import annotations

import math

from rootfill.tooth import Arc, Canal, Curve, tapered
from rootfill.tray import Rod

STEEL_MPA = 200_000.0


def parallel_arc(radius_mm: float = 8.0, width_mm: float = 0.7, length_mm: float = 12.0, side: int = 1) -> Canal:
    """A canal of one width, bent in one arc from end to orifice."""
    angle = math.degrees(length_mm / radius_mm) * side
    return Canal(tapered(round(100 * width_mm), 0.0, length_mm), Curve((Arc(angle, radius_mm),)))


def bent_25_06(side: int = 1) -> Canal:
    """25/.06 over 13 mm, arc of 25° and radius 8 mm from s = 3."""
    return Canal(tapered(25, 0.06, 13.0), Curve((Arc(25 * side, 8, 3.0),)))


def rod(tip_mm: float, taper: float = 0.0) -> Rod:
    return Rod(tip_mm, taper)

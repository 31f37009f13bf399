"""Trimming a cone: in a gauge hole, which removes the tip's error, or by ruler, which keeps it."""

from __future__ import annotations

import numpy as np

from rootfill.fit.model import Draws, TrimmedCones


def trim_mm(tip_mm: float, taper: float, gauge_mm: float) -> float:
    """Length to cut [mm] so that the tip measures ``gauge_mm``: (gauge − tip)/taper, never negative.

    >>> round(trim_mm(0.25, 0.06, 0.35), 2)
    1.67
    >>> round(trim_mm(0.20, 0.04, 0.30), 2)
    2.5
    """
    return max((gauge_mm - tip_mm) / taper, 0.0)


def trimmed_by_gauge(tip_mm: float, taper: float, gauge_mm: float, draws: Draws) -> TrimmedCones:
    """Cones pushed through a gauge hole and cut flush; a cone thicker than the hole is not cut at all."""
    return TrimmedCones(np.maximum(gauge_mm + draws.gauge_mm, tip_mm + draws.cone_mm), taper)


def trimmed_by_ruler(tip_mm: float, taper: float, gauge_mm: float, draws: Draws) -> TrimmedCones:
    """Cones shortened by the nominal length: every error of the tip stays."""
    cut = trim_mm(tip_mm, taper, gauge_mm)
    return TrimmedCones(np.maximum(tip_mm + draws.cone_mm + taper * cut, 1e-3), taper)

"""Where a canal comes out: at the surface of the root, at the floor of the chamber, at a cut crown.

All three are one thing, a surface of the dentine that the canal pierces. It is felt out by probes parallel to the canal
in the wall round about it, each to where the dentine ends, and carried over to the canal's own axis by a paraboloid.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rootfill.images.scan.course import Line, Look, arc, beyond
from rootfill.images.scan.picture import frames
from rootfill.units import FloatArray

AROUND = 16
RINGS = 4
FEWEST = 24
"""Probes that must meet the surface: a canal in the corner of a chamber has half of them in its floor."""

FIRST_MM = 0.8
"""What lies so far beyond the nearest quarter of the places met is another surface [mm]."""


@dataclass(frozen=True)
class Opening:
    """Distance of the surface beyond a line's first point [mm], and its standard deviation; None where none was met."""

    beyond_mm: float
    sd_mm: float


def opening(look: Look, line: Line, far_mm: float) -> Opening | None:
    """Where a line pierces the dentine's surface, from 1 mm before its first point to ``far_mm`` beyond."""
    step = look.picture.finest_mm
    back = max(2, min(len(line.points_mm) - 2, int(np.ceil(1.0 / step))))
    points = np.concatenate((line.points_mm[back:0:-1], line.points_mm[:1], beyond(look, line, far_mm)))
    x = arc(points)
    x = x - x[back]
    inner = float(np.median(line.across_mm[: back + 1])) / 2 + 2 * look.blur_mm
    ring = inner + step / 2 * np.arange(RINGS)
    angle = np.linspace(0, 2 * np.pi, AROUND, endpoint=False)
    a, b = (np.outer(ring, f(angle)).ravel() for f in (np.cos, np.sin))
    _, u, v = frames(points)
    hard = look.hard(points[:, None] + a[None, :, None] * u[:, None] + b[None, :, None] * v[:, None])
    height = np.array([_ends(hard[:, j], x, back) for j in range(hard.shape[1])])
    return _carried_over(a, b, height)


def _ends(hard: FloatArray, x: FloatArray, back: int) -> float:
    """Where a probe that starts in dentine leaves it; NaN where it does not start there or does not leave.

    That is half-way between dentine and the darkest of what follows at once, which need not be as dark as all outside.
    """
    if np.median(hard[: max(2, back // 2)]) < 0.6:
        return float("nan")
    soft = np.flatnonzero((hard[1:-1] < 0.5) & (hard[2:] < 0.5)) + 1
    if not soft.size:
        return float("nan")
    after = np.convolve(hard[soft[0] : soft[0] + 8], np.ones(3) / 3, mode="valid")
    level = (1 + float(after.min())) / 2 if after.size else 0.5
    i = int(np.argmax(hard < min(level, 0.5)))
    share = np.clip((hard[i - 1] - level) / max(hard[i - 1] - hard[i], 1e-9), 0, 1)
    return float(x[i - 1] + share * (x[i] - x[i - 1]))


def _carried_over(a: FloatArray, b: FloatArray, height: FloatArray) -> Opening | None:
    """Height at the middle of a paraboloid through the probes' ends, gross strays left out twice."""
    met = np.isfinite(height)
    if met.sum() < FEWEST:
        return None
    kept = met & (height <= np.percentile(height[met], 25) + FIRST_MM)
    if kept.sum() < FEWEST:
        return None
    terms = np.stack((np.ones_like(a), a, b, a * a + b * b), axis=1)
    for _ in range(3):
        fit, *_ = np.linalg.lstsq(terms[kept], height[kept], rcond=None)
        off = np.abs(height - terms @ fit)
        spread = max(1.4826 * float(np.median(off[kept])), 1e-6)
        fewer = met & (off < 3 * spread)
        if fewer.sum() < FEWEST:
            break
        kept = fewer
    inverse = np.linalg.pinv(terms[kept].T @ terms[kept])
    rest = height[kept] - terms[kept] @ fit
    sd = float(np.sqrt(max(inverse[0, 0], 0.0) * float(rest @ rest) / max(kept.sum() - 4, 1)))
    return Opening(float(fit[0]), sd)

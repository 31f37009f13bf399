"""How long a pixel is at the tooth: a file of known length in the canal, two points, or what the film itself says."""

from __future__ import annotations

import math

import numpy as np

from rootfill import tables
from rootfill.errors import InputRefused, Said
from rootfill.images.film.model import Calibration, along_px
from rootfill.images.model import Scale, Trust
from rootfill.units import FloatArray

LEAST_PX = 20.0
"""A ruler shorter than this is measured too badly to be one."""


def from_file(line_px: FloatArray, length_mm: float) -> Calibration:
    """From a file of known length in the canal, traced from tip to stop as a line of shape (n, 2) [px]."""
    return _ruled(line_px, length_mm, "film_file_true", "a file of {mm:g} mm in the canal", True)


def from_ruler(line_px: FloatArray, length_mm: float) -> Calibration:
    """From two points a known length apart, anywhere on the film."""
    return _ruled(line_px, length_mm, "film_ruler_true", "two points {mm:g} mm apart", False)


def from_scale(scale: Scale) -> Calibration:
    """From what the film or the clinician says of a pixel; without a scale every length stays in pixels."""
    if scale.spacing_mm is None:
        return Calibration(None, 1.0, 1.0, Trust.NONE.value, "choice")
    spacing = (float(scale.spacing_mm[0]), float(scale.spacing_mm[1]))
    source = "film.scale" if scale.trust is not Trust.ENTERED else "case"
    return Calibration(spacing, scale.low, scale.high, scale.trust.value, source)


def bounds(calibration: Calibration) -> tuple[float, float]:
    """Factors, at 90 %, from a length along the tooth as measured to the true one: scale and tilt together.

    A tilt by θ shows a length along the tooth cos θ as long; no scale factor can take that out again.
    """
    if calibration.along:
        return calibration.low, calibration.high
    tilt = math.radians(tables.rule("film_tilt_deg").value)
    return calibration.low, calibration.high / math.cos(tilt)


def pixel_mm(calibration: Calibration, way: FloatArray) -> float:
    """Millimetres per pixel in one direction."""
    spacing = np.array(calibration.spacing_mm or (1.0, 1.0))
    return float(np.linalg.norm(way * spacing) / np.linalg.norm(way))


def _ruled(line_px: FloatArray, mm: float, rule: str, says: str, along: bool) -> Calibration:
    if not (math.isfinite(mm) and 1 <= mm <= 60):
        raise InputRefused("ruler", Said(f"{mm:g} mm"), "a known length on a film, 1 to 60 mm")
    px = float(along_px(line_px)[-1]) if len(line_px) > 1 else 0.0
    if px < LEAST_PX:
        raise InputRefused(
            "ruler", Said(f"{px:.0f} pixels long"), f"mark a known length of {LEAST_PX:g} pixels or more"
        )
    step = mm / px
    allowed = tables.rule("pixel_range_mm")
    if not (allowed.low or 0) <= step <= (allowed.high or 1):
        raise InputRefused("ruler", Said(f"{px:.0f} pixels for {mm:g} mm"), "look at the points and the length again")
    true = tables.rule(rule)
    read = math.sqrt(2) * tables.rule("film_pointed_px").value / px
    low = 1 - math.hypot(1 - (true.low or 1.0), read)
    high = 1 + math.hypot((true.high or 1.0) - 1, read)
    return Calibration((step, step), low, high, says.format(mm=mm), "choice", along)

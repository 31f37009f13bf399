"""A film from before, laid on the one after: what has become brighter is filling. How well they fit is said."""

from __future__ import annotations

import importlib
from dataclasses import dataclass
from typing import Any

import numpy as np

from rootfill.errors import InputRefused, Said
from rootfill.images.film.cover import covered
from rootfill.images.film.model import Band
from rootfill.images.film.profile import sampled
from rootfill.units import FloatArray

COARSE = (8, 4, 2)
ITERATIONS = 60
SAMPLED = 0.1
BRIGHTER = 0.4
"""Share of the filling's grey by which a place must have become brighter to count as newly filled."""
WORST = 0.08
"""Share of the range of greys: films that fit worse than this, beside the filling, say nothing of it."""
AROUND_MM = 3.0
LEAST_SCALE = 0.85
"""Two films of one tooth by one detector differ in size by no more."""


@dataclass(frozen=True)
class Compared:
    """How the film from before fits: residual grey beside the filling (share of the range), its turn and size,

    and the share of the filling's axis that has become brighter since; None where the films do not fit.
    """

    residual: float
    turn_deg: float
    scale: float
    new_share: float | None


def compare(after: FloatArray, before: FloatArray, band: Band, step_mm: float) -> Compared:
    """Lay the film before on the one after by turn, shift and size, and look at what is new along the filling.

    Greys from 0 to 1. The fit leaves what turns in depth: two films are never taken quite alike.
    """
    sitk: Any = importlib.import_module("SimpleITK")
    fixed, moving = (sitk.GetImageFromArray(x.astype(np.float32)) for x in (after, before))
    hidden = covered((after.shape[0], after.shape[1]), [band], step_mm)
    mask = sitk.GetImageFromArray((hidden == 0).astype(np.uint8))
    try:
        found = _registered(sitk, fixed, moving, mask)
    except RuntimeError:
        raise InputRefused("--before", Said("unlike this film"), "a film of the same tooth before filling") from None
    laid = sitk.GetArrayFromImage(sitk.Resample(moving, fixed, found, sitk.sitkLinear, -1.0))
    residual, new = _fit(after, laid, hidden, band, step_mm)
    scale = float(found.GetScale())
    alike = LEAST_SCALE <= scale <= 1 / LEAST_SCALE
    return Compared(residual, float(np.degrees(found.GetAngle())), scale, new if alike else None)


def _registered(sitk: Any, fixed: Any, moving: Any, mask: Any) -> Any:
    start = sitk.CenteredTransformInitializer(
        fixed, moving, sitk.Similarity2DTransform(), sitk.CenteredTransformInitializerFilter.GEOMETRY
    )
    method = sitk.ImageRegistrationMethod()
    method.SetMetricAsCorrelation()
    method.SetMetricFixedMask(mask)
    method.SetMetricSamplingStrategy(method.REGULAR)
    method.SetMetricSamplingPercentage(SAMPLED)
    method.SetInterpolator(sitk.sitkLinear)
    method.SetOptimizerAsRegularStepGradientDescent(2.0, 1e-3, ITERATIONS)
    method.SetOptimizerScalesFromPhysicalShift()
    method.SetShrinkFactorsPerLevel(COARSE)
    method.SetSmoothingSigmasPerLevel(COARSE)
    method.SetInitialTransform(sitk.Similarity2DTransform(start), inPlace=False)
    return sitk.Similarity2DTransform(method.Execute(fixed, moving).GetNthTransform(0))


def _fit(
    after: FloatArray, laid: FloatArray, hidden: FloatArray, band: Band, step_mm: float
) -> tuple[float, float | None]:
    """Residual beside the filling after greys are matched by a straight line, and the share newly bright along it."""
    y, x = np.mgrid[: after.shape[0], : after.shape[1]]
    reach = AROUND_MM / step_mm
    low, high = band.axis.min(axis=0) - reach, band.axis.max(axis=0) + reach
    near = (x >= low[0]) & (x <= high[0]) & (y >= low[1]) & (y <= high[1]) & (hidden == 0) & (laid >= 0)
    if near.sum() < 100:
        return 1.0, None
    fit = np.polynomial.Polynomial.fit(laid[near], after[near], 1)
    residual = float(np.sqrt(np.mean((after[near] - fit(laid[near])) ** 2)))
    if residual > WORST:
        return residual, None
    inner = slice(3, -3)
    rise = sampled(after, band.axis[inner]) - fit(sampled(np.maximum(laid, 0.0), band.axis[inner]))
    return residual, float(np.mean(rise > BRIGHTER * band.contrast[inner]))

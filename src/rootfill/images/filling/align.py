"""The filled scan laid on the prepared one: turned and shifted as a rigid body by mutual information (SimpleITK)."""

from __future__ import annotations

from dataclasses import dataclass
from importlib import import_module
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rootfill.units import FloatArray

BINS = 40
COARSE = 30
"""Voxels along the longest side where the first turns are tried."""
MIDDLE = 96
ROUGH = 30_000
SAMPLES = 100_000
"""Voxels compared at most: first, and at the finest level."""
FINE = 3_000_000
"""Voxels at most at the finest level."""
STARTS_DEG = ((0, 0, 0), (0, 0, 15), (0, 0, -15), (12, 0, 0), (-12, 0, 0), (0, 12, 0), (0, -12, 0))
"""Turns about x, y, z tried first."""
SEED = 20261127


@dataclass(frozen=True, eq=False)
class Pose:
    """Where a point p (x, y, z) of the prepared scan lies in the filled one: ``turn`` @ p + ``shift``, both in mm.

    ``information``: the mutual information reached; larger is better.
    """

    turn: FloatArray
    shift: FloatArray
    information: float

    @property
    def angle_deg(self) -> float:
        """The angle of the turn."""
        return float(np.degrees(np.arccos(np.clip((np.trace(self.turn) - 1) / 2, -1, 1))))

    def placed(self, points: FloatArray) -> FloatArray:
        """Points (n, 3) of the prepared scan in the filled one."""
        return np.asarray(points @ self.turn.T + self.shift)


def align(prepared: NDArray[Any], filled: NDArray[Any], steps: tuple[FloatArray, FloatArray], box: FloatArray) -> Pose:
    """Find the pose. Arrays (z, y, x); ``steps`` their voxels (x, y, z); ``box`` (2, 3): the canals' corners [mm]."""
    sitk: Any = import_module("SimpleITK")

    images = [_image(sitk, values, step) for values, step in zip((prepared, filled), steps, strict=True)]
    coarse = [_shrunk(sitk, image, COARSE) for image in images]
    tried = [_step(sitk, coarse, start, 60, ROUGH) for start in _starts(sitk, coarse)]
    tried.sort(key=lambda one: one[1])
    middle = [_shrunk(sitk, image, MIDDLE) for image in images]
    best = min((_step(sitk, middle, start, 60, ROUGH) for start, _ in tried[:2]), key=lambda one: one[1])
    near = _cropped(sitk, images[0], box)
    fine = [_bounded(sitk, near), _bounded(sitk, images[1])]
    last, value = _step(sitk, fine, best[0], 40, SAMPLES)
    turn = np.array(last.GetMatrix()).reshape(3, 3)
    shift = np.array(last.TransformPoint((0.0, 0.0, 0.0)))
    return Pose(turn, shift, -value)


def _image(sitk: Any, values: NDArray[Any], step: FloatArray) -> Any:
    few = values.reshape(-1)[:: max(1, values.size // 200_000) | 1]
    low, high = np.percentile(few, (0.2, 99.8))
    image = sitk.GetImageFromArray(np.clip(values, low, high).astype(np.float32))
    image.SetSpacing([float(x) for x in step])
    return image


def _shrunk(sitk: Any, image: Any, most: int) -> Any:
    """The image averaged over blocks until its longest side has at most so many voxels."""
    reach = np.array(image.GetSize()) * image.GetSpacing()
    wanted = reach.max() / most
    factors = [max(1, min(round(wanted / x), n // 4)) for x, n in zip(image.GetSpacing(), image.GetSize(), strict=True)]
    return sitk.BinShrink(image, factors) if max(factors) > 1 else image


def _bounded(sitk: Any, image: Any) -> Any:
    """The image, coarser where it holds more voxels than the finest level takes."""
    over = (image.GetNumberOfPixels() / FINE) ** (1 / 3)
    return image if over <= 1.3 else sitk.BinShrink(image, [int(np.ceil(over))] * 3)


def _cropped(sitk: Any, image: Any, box: FloatArray) -> Any:
    step = np.array(image.GetSpacing())
    low = np.clip(np.floor(box[0] / step).astype(int), 0, None)
    high = np.minimum(np.ceil(box[1] / step).astype(int) + 1, image.GetSize())
    return sitk.RegionOfInterest(image, [int(x) for x in high - low], [int(x) for x in low])


def _starts(sitk: Any, images: list[Any]) -> list[Any]:
    """The middles of both on each other, by their dense parts and by their boxes, turned a little every way."""
    by_mass = [_dense_middle(sitk, image) for image in images]
    by_box = [_box_middle(image) for image in images]
    made = []
    for centre, other in ((by_mass[0], by_mass[1]), (by_box[0], by_box[1])):
        for angles in STARTS_DEG:
            start = sitk.Euler3DTransform()
            start.SetCenter([float(x) for x in centre])
            start.SetRotation(*(float(np.radians(a)) for a in angles))
            start.SetTranslation([float(x) for x in np.asarray(other) - centre])
            made.append(start)
    return made


def _box_middle(image: Any) -> FloatArray:
    last = (np.array(image.GetSize()) - 1) / 2
    return np.array(image.TransformContinuousIndexToPhysicalPoint([float(x) for x in last]))


def _dense_middle(sitk: Any, image: Any) -> FloatArray:
    values = sitk.GetArrayViewFromImage(image)
    dense = np.argwhere(values > (values.min() + values.max()) / 2 - 0.15 * np.ptp(values))[:, ::-1]
    if not dense.size:
        return _box_middle(image)
    return np.array(image.TransformContinuousIndexToPhysicalPoint([float(x) for x in dense.mean(axis=0)]))


def _step(sitk: Any, images: list[Any], start: Any, most: int, samples: int) -> tuple[Any, float]:
    """One level: the transform made better, and its metric (less is better)."""
    fixed, moving = images
    way = sitk.ImageRegistrationMethod()
    way.SetNumberOfThreads(1 if samples == ROUGH else 2)
    way.SetMetricAsMattesMutualInformation(BINS)
    if fixed.GetNumberOfPixels() > samples:
        way.SetMetricSamplingStrategy(way.REGULAR)
        way.SetMetricSamplingPercentage(samples / fixed.GetNumberOfPixels(), SEED)
    way.SetInterpolator(sitk.sitkLinear)
    reach = max(fixed.GetSpacing())
    way.SetOptimizerAsRegularStepGradientDescent(
        learningRate=2.0 * reach,
        minStep=0.01 * reach,
        numberOfIterations=most,
        relaxationFactor=0.6,
        gradientMagnitudeTolerance=1e-9,
    )
    way.SetOptimizerScalesFromPhysicalShift()
    moved = sitk.Euler3DTransform(start)
    way.SetInitialTransform(moved, inPlace=True)
    try:
        way.Execute(fixed, moving)
    except RuntimeError:  # the two no longer overlap
        return start, float("inf")
    return moved, float(way.GetMetricValue())

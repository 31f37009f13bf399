"""The filled scan on the voxels of the prepared one, slab by slab, and how far the two surfaces stay apart."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.spatial import cKDTree

from rootfill.images.filling.align import Pose
from rootfill.images.filling.lumen import Mask
from rootfill.images.filling.prepared import Prepared
from rootfill.units import FloatArray

SLAB = 32
"""Slices laid at once."""
MOST_POINTS = 20_000


def lay(ready: Prepared, filled: NDArray[Any], pose: Pose, step: FloatArray, other: FloatArray) -> NDArray[np.float32]:
    """Grey of the filled scan at each voxel of the box, NaN where it does not reach.

    ``step`` and ``other``: voxels (x, y, z) of the prepared and the filled scan. Cubic, so that edges stay sharp.
    """
    to_mm: FloatArray = np.asarray((ready.index[:, ::-1] * step) @ pose.turn.T)
    to_mm[0] = to_mm[0] + pose.shift
    index: FloatArray = np.asarray((to_mm / other)[:, ::-1])
    low, high = _reach(index, ready.values.shape, filled.shape)
    part = filled[low[0] : high[0], low[1] : high[1], low[2] : high[2]]
    curve = ndimage.spline_filter(part, 3, output=np.float32, mode="mirror")
    matrix, origin = index[1:].T, index[0] - low
    out = np.empty(ready.values.shape, dtype=np.float32)
    for k in range(0, len(out), SLAB):
        slab = out[k : k + SLAB]
        start = origin + matrix[:, 0] * k
        ndimage.affine_transform(curve, matrix, start, slab.shape, slab, 3, "constant", np.nan, prefilter=False)
    return out


def _reach(index: FloatArray, shape: tuple[int, ...], whole: tuple[int, ...]) -> tuple[NDArray[Any], NDArray[Any]]:
    """The part of the filled scan that the box can meet, never empty."""
    corners = np.stack(np.meshgrid(*((0, n - 1) for n in shape), indexing="ij")).reshape(3, -1).T
    at = corners @ index[1:] + index[0]
    low = np.clip(np.floor(at.min(axis=0)).astype(int) - 8, 0, np.array(whole) - 2)
    high = np.clip(np.ceil(at.max(axis=0)).astype(int) + 9, low + 2, whole)
    return low, high


def apart(one: Mask, other: Mask, seen: Mask, step: FloatArray) -> float:
    """Root mean square distance of the surface of ``one``, where ``seen``, from that of ``other``.

    Infinite where one has none.
    """
    inside = ndimage.binary_erosion(seen, iterations=2)
    first, second = (np.argwhere(mask) * step for mask in (_surface(one) & inside, _surface(other)))
    if not first.size or not second.size:
        return float("inf")
    few = first[:: max(1, len(first) // MOST_POINTS)]
    far, _ = cKDTree(second).query(few)
    return float(np.sqrt(np.mean(far**2)))


def _surface(mask: Mask) -> Mask:
    """Voxels of the mask beside others, those at the border of the box left out."""
    inner = mask & ~ndimage.binary_erosion(mask, border_value=1)
    for axis in range(3):
        edge = np.moveaxis(inner, axis, 0)
        edge[:2], edge[-2:] = False, False
    return np.asarray(inner)

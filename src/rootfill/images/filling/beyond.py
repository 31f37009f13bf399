"""Filling outside the root, below the end of a canal."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from rootfill.images.filling.lumen import Mask
from rootfill.images.filling.model import Beyond
from rootfill.images.filling.prepared import Axis, Prepared
from rootfill.images.filling.voids import FilledLevels

LEAST_VOXELS = 64
REACH = 2
"""Voxels about it over which blur carries a part of it."""
WIDER = 2.0
"""A notch of the root's outline this many times as wide as the canal's end still counts as canal."""


def core_beyond(ready: Prepared, laid: NDArray[np.float32], levels: FilledLevels) -> Beyond | None:
    """The farthest filling beyond the end of any canal; None where all of it lies inside."""
    found = [_of(ready, laid, levels, axis, k) for k, axis in enumerate(ready.canals, 1) if not axis.cut[0]]
    longest = [one for one in found if one is not None]
    return max(longest, key=lambda one: one.length, default=None)


def _of(ready: Prepared, laid: NDArray[np.float32], levels: FilledLevels, axis: Axis, number: int) -> Beyond | None:
    top = int(axis.slices[0])
    first = ready.owner[top : top + 3] == number
    wide = 2 * float(np.sqrt(np.count_nonzero(first) / 3 / np.pi))
    root = np.stack([_closed(cut, WIDER * wide / 2 + 1) for cut in ready.solid[:top]]) if top else ready.solid[:0]
    bright = np.nan_to_num(laid[:top], nan=levels.air) > (levels.dentine + levels.filling) / 2
    marks, count = ndimage.label(bright & ~root)
    sizes = np.bincount(marks.ravel(), minlength=count + 1)
    sizes[0] = 0
    if not count or sizes.max() < LEAST_VOXELS:
        return None
    out = np.argwhere(marks == int(sizes.argmax()))
    depth = ((axis.points[0] - out * ready.step) * axis.along[0]).sum(axis=1)
    length = float(np.ptp(np.percentile(depth, (0.5, 99.5)))) + float(ready.step[0])
    about = ndimage.binary_dilation(marks == int(sizes.argmax()), iterations=REACH) & ~root
    part = np.clip((np.nan_to_num(laid[:top], nan=levels.air) - levels.air) / (levels.filling - levels.air), 0, 1)
    return Beyond(length, float(part[about].sum(dtype=float)) * ready.cell)


def _closed(cut: Mask, radius: float) -> Mask:
    """A section with notches narrower than twice the radius closed."""
    if not cut.any():
        return cut
    padded = np.pad(cut, int(radius) + 2)
    grown = ndimage.distance_transform_edt(~padded) <= radius
    back = ndimage.distance_transform_edt(grown) > radius
    edge = int(radius) + 2
    return np.asarray(back[edge:-edge, edge:-edge] | cut)

"""Hollows of the dentine, closed all round in each slice across them: the canals of a prepared scan."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from rootfill.errors import InputRefused, Said
from rootfill.units import FloatArray

Mask = NDArray[np.bool_]
Numbers = NDArray[np.int32]

LEAST_SHARE = 0.1
"""A hollow smaller than this share of the largest is no canal of its own."""
LEAST_VOXELS = 200
LEAST_SLICES = 8
COARSE = 3
"""Every so-many-th voxel is looked at where only the direction of the canal is asked."""


def hollow_of(hard: Mask) -> Mask:
    """Holes of ``hard`` in each slice along the first axis."""
    return np.stack([ndimage.binary_fill_holes(cut) & ~cut for cut in hard])


def along(hard: Mask) -> int:
    """The axis of the array across which the most space is closed off: that along the canal."""
    few = hard[::COARSE, ::COARSE, ::COARSE] if min(hard.shape) > 16 * COARSE else hard
    return int(np.argmax([np.count_nonzero(hollow_of(np.moveaxis(few, axis, 0))) for axis in range(3)]))


def canals_of(hard: Mask, hints: FloatArray) -> tuple[Numbers, Mask]:
    """Canals numbered from 1, and all inside the dentine, canals too. ``hints`` (n, 3), (z, y, x), pick some.

    Raises InputRefused where there is no canal, or none at a hint.
    """
    hollow = hollow_of(hard)
    marks, _ = ndimage.label(ndimage.binary_opening(hollow, structure=np.ones((1, 2, 2), dtype=bool)))
    sizes = np.bincount(marks.ravel(), minlength=2)
    sizes[0] = 0
    tall = [at[0].stop - at[0].start >= LEAST_SLICES for at in ndimage.find_objects(marks)]
    sizes[1:][~np.array(tall, dtype=bool)[: sizes.size - 1]] = 0
    if sizes.max() < LEAST_VOXELS:
        raise InputRefused("prepared", Said("without an empty canal"), "give the scan after preparation first")
    kept = np.flatnonzero(sizes >= max(LEAST_VOXELS, LEAST_SHARE * sizes.max()))
    if hints.size:
        kept = np.intersect1d(kept, _at(marks, hints))
    if not kept.size:
        raise InputRefused("seed", Said("outside every canal"), "name a voxel of the empty canal of the prepared scan")
    number = np.zeros(sizes.size, dtype=np.int32)
    number[kept] = np.arange(1, kept.size + 1)
    return number[marks], hard | hollow


def _at(marks: NDArray[Any], hints: FloatArray) -> NDArray[Any]:
    """Marks at points, those that lie in the picture. Raises InputRefused for one that does not."""
    at = np.round(hints).astype(int)
    if (at < 0).any() or (at >= marks.shape).any():
        raise InputRefused("seed", Said("outside the scan"), "name a voxel [x, y, z] of the prepared scan")
    return np.asarray(marks[tuple(at.T)])

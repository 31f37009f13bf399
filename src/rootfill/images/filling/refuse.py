"""Pairs of scans that cannot be compared, each told in a sentence."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from rootfill.errors import InputRefused, Said
from rootfill.images import Volume
from rootfill.images.filling.greys import levels_of, sample
from rootfill.images.filling.lumen import along, hollow_of

SWAPPED = 3.0
"""The first scan holds this many times what is bright in the second: they were given the wrong way round."""
FILLED = 0.3
"""The first scan holds more than this share of what is bright in the second, and more than is empty."""
SATURATED = 0.05
"""Share of voxels at the very top of the scale."""
APART = 1.04
"""Dentine of one tooth whose size differs by this factor: the voxel sizes contradict each other."""
TOPPED = 0.1
"""Voxels at the very top, as a share of the canal, from which the filling is taken to be cut off there."""
SMALL = 90
"""Voxels along the longest side where only amounts are compared."""


def refuse_pair(prepared: Volume, filled: Volume) -> None:
    """Raises InputRefused for scales that do not go together, one scan twice, swapped or saturated scans."""
    if prepared.scale.known != filled.scale.known:
        which = "filled" if prepared.scale.known else "prepared"
        raise InputRefused(which, Said("without a scale, the other with one"), "give --spacing for it")
    if prepared.values.shape == filled.values.shape and np.array_equal(prepared.values, filled.values):
        raise InputRefused("filled", Said("the same scan as the prepared one"), "give the scan after filling second")
    for which, volume in (("prepared", prepared), ("filled", filled)):
        _refuse_saturated(which, volume.values)
    first, second = _amounts(prepared.values, "prepared"), _amounts(filled.values, "filled")
    if first[0] > SWAPPED * second[0] and second[1] > first[1]:
        raise InputRefused(
            "prepared", Said("brighter inside than filled"), "the scans are swapped: give the prepared one first"
        )
    if first[0] > FILLED * second[0] and first[0] > first[1]:
        raise InputRefused("prepared", Said("filled already"), "give the scan after preparation, before filling, first")


def _refuse_saturated(which: str, values: NDArray[Any]) -> None:
    greys = sample(values)
    top = float(greys.max())
    if (
        float(np.mean(greys == top)) > SATURATED
        and float(np.median(greys[greys > levels_of(values, which).edge])) == top
    ):
        raise InputRefused(which, Said("saturated: dentine is at the top of its scale"), "export it with all its greys")


def _amounts(values: NDArray[Any], which: str) -> tuple[float, float]:
    """Shares of the dentine's amount that are far brighter than it, and empty inside it."""
    stride = max(1, max(values.shape) // SMALL)
    few = values[::stride, ::stride, ::stride]
    levels = levels_of(few, which)
    hard = few > levels.edge
    bright = int(np.count_nonzero(few > levels.dentine + 0.5 * (levels.dentine - levels.air)))
    empty = int(np.count_nonzero(hollow_of(np.moveaxis(hard, along(hard), 0))))
    dense = max(1, int(np.count_nonzero(hard)))
    return bright / dense, empty / dense


def size_ratio(prepared: Volume, filled: Volume) -> float | None:
    """How many times as long the dentine of ``filled`` is; None where a scan cuts it or where they agree."""
    sizes: list[float] = []
    for volume in (prepared, filled):
        hard = volume.values > levels_of(volume.values, "filled").edge
        faces = [np.moveaxis(hard, axis, 0)[end] for axis in range(3) for end in (0, -1)]
        if sum(int(np.count_nonzero(face)) for face in faces) > 0.002 * np.count_nonzero(hard):
            return None
        axis = along(hard)
        inside = np.count_nonzero(hollow_of(np.moveaxis(hard, axis, 0)))
        sizes.append((np.count_nonzero(hard) + inside) * float(volume.step_mm.prod()))
    ratio = float((sizes[1] / sizes[0]) ** (1 / 3))
    return ratio if max(ratio, 1 / ratio) > APART else None


def topped(filled: Volume, canal: float) -> bool:
    """Whether much of the filling of a canal of this volume has the brightest grey there is."""
    top = np.count_nonzero(filled.values == filled.values.max()) * float(filled.step_mm.prod())
    return bool(top > TOPPED * canal)

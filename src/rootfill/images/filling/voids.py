"""What of the canal is filling, what is void, what was never filled."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from rootfill.errors import InputRefused, Said
from rootfill.images.filling.lumen import Mask
from rootfill.images.filling.prepared import Prepared

REACH = 2
"""Voxels about a void over which blur carries a part of it."""
LEAST_FILLED = 0.1
"""Share of the canal that holds something brighter than dentine, at least."""
LEAST_DARK = 50


@dataclass(frozen=True)
class FilledLevels:
    """Greys of the filled scan: empty, dentine, filling."""

    air: float
    dentine: float
    filling: float


@dataclass(frozen=True, eq=False)
class Voids:
    """``void``: part of each voxel of the box that is void; ``at_wall``: whether its void touches dentine.

    ``filled_from``, ``filled_to``: where the filling of each canal ends below and above, from the canal's end.
    """

    void: NDArray[np.float32]
    at_wall: Mask
    unfilled: NDArray[np.float32]
    surface: NDArray[np.float32]
    filled_from: tuple[float, ...]
    filled_to: tuple[float, ...]


def levels_in(ready: Prepared, laid: NDArray[np.float32]) -> FilledLevels:
    """Levels of the filled scan. Raises InputRefused where the canal holds nothing brighter than dentine."""
    seen = np.isfinite(laid)
    canal = (ready.share > 0.5) & (ready.owner > 0)
    near = ndimage.binary_dilation(canal, iterations=3 * REACH) & ~ndimage.binary_dilation(canal, iterations=REACH)
    around = laid[near & ready.solid & seen]
    inside = laid[(ready.share > 0.95) & (ready.owner > 0) & seen]
    if around.size < LEAST_DARK or inside.size < LEAST_DARK:
        raise InputRefused("filled", Said("without most of the canal"), "give a crop that holds the canal of both")
    dentine = float(np.median(around))
    spread = 1.4826 * float(np.median(np.abs(around - dentine)))
    bright = inside[inside > dentine + max(5 * spread, 1e-6)]
    if bright.size < LEAST_FILLED * inside.size:
        raise InputRefused("filled", Said("without a filling"), "give the scan after filling second, not saturated")
    filling = float(np.median(bright))
    dark = laid[seen & ~ndimage.binary_dilation(ready.solid, iterations=REACH)]
    if dark.size < LEAST_DARK:
        dark = inside[inside < dentine - 0.3 * (filling - dentine)]
        dark = np.sort(dark)[: max(LEAST_DARK, dark.size // 2)]
    air = float(np.median(dark)) if dark.size >= LEAST_DARK else dentine - (filling - dentine)
    return FilledLevels(min(air, dentine - 1e-6), dentine, filling)


def find_voids(ready: Prepared, laid: NDArray[np.float32], levels: FilledLevels, smallest: int) -> Voids:
    """Voids of at least ``smallest`` voxels, to a part of a voxel.

    grey = (c - v) filling + v air + (1 - c) dentine, c the canal's share, so v = (c filling + (1 - c) dentine - grey)
    / (filling - air). Summed only about voids that fill more than half of a voxel: noise elsewhere is no void.
    """
    canal = ready.owner > 0
    share = np.where(canal, ready.share, 0).astype(np.float32)
    whole = share * np.float32(levels.filling) + (1 - share) * np.float32(levels.dentine)
    raw = np.nan_to_num((whole - laid) / np.float32(levels.filling - levels.air))
    void = np.clip(raw, 0, np.clip(share, 0, 1)).astype(np.float32)
    ends = [_ends(ready, void, k) for k in range(1, len(ready.canals) + 1)]
    low, high = (np.array([0.0, *(one[k] for one in ends)], dtype=np.float32)[ready.owner] for k in (0, 1))
    between = canal & (ready.s >= low) & (ready.s <= high)
    margin = 1.5 * float(ready.step.max())
    marks, count = ndimage.label((void > 0.5) & between & (ready.s > low + margin) & (ready.s < high - margin))
    sizes = np.bincount(marks.ravel(), minlength=count + 1)
    kept = sizes >= smallest
    kept[0] = False
    seeds = kept[marks]
    near = ndimage.binary_dilation(seeds, iterations=REACH) & between
    void = np.where(near, void, 0).astype(np.float32)
    wall = ndimage.binary_dilation(canal & (share < 0.5) & ready.solid)
    touching = np.zeros(count + 1, dtype=bool)
    touching[np.unique(marks[wall & seeds])] = True
    touching[0] = False
    grown = ndimage.grey_dilation(np.where(seeds, marks, 0), footprint=ndimage.iterate_structure(_cross(), REACH))
    unfilled = np.where(canal & ~between, share, 0).astype(np.float32)
    surface = (seeds & ~ndimage.binary_erosion(seeds)).astype(np.float32)
    return Voids(void, touching[grown], unfilled, surface, tuple(one[0] for one in ends), tuple(one[1] for one in ends))


def _cross() -> Mask:
    return np.asarray(ndimage.generate_binary_structure(3, 1))


def _ends(ready: Prepared, void: NDArray[np.float32], number: int) -> tuple[float, float]:
    """Where the sections of a canal first and last are filled more than half."""
    axis, step = ready.canals[number - 1], float(ready.step[0])
    of = ready.owner == number
    bins = np.clip((ready.s[of] / step).astype(int), 0, max(1, round(axis.length / step)) - 1)
    whole = np.bincount(bins, ready.share[of])
    empty = np.bincount(bins, void[of])
    filled = np.flatnonzero(empty < 0.5 * whole)
    if not filled.size:
        return axis.length, axis.length
    low, high = int(filled[0]), int(filled[-1]) + 1
    return _within(low, step), axis.length if high * step >= axis.length - step else high * step


def _within(low: int, step: float) -> float:
    return low * step if low > 1 else -np.inf

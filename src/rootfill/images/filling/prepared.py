"""A prepared scan made ready: the box about its canals, what part of each voxel is canal, how far from the end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from rootfill.errors import InputRefused, Said
from rootfill.images.filling.greys import Levels, levels_of
from rootfill.images.filling.lumen import Mask, Numbers, along, canals_of
from rootfill.units import FloatArray

REACH = 2
"""Voxels about the wall over which blur carries a part of the canal."""
MARGIN = 8
"""Voxels of the box about the canals."""
BEYOND = 1.5
"""How far the box reaches past the end of the canal [mm]."""
WIDENS = 2.0
"""A section that is this many times one a little below opens into the chamber."""
WITHIN = 0.04
"""How far below, as a share of the canal's length."""
ENDS = 0.2
"""Share of a canal at either end whose sections tell which end is the made one."""


@dataclass(frozen=True, eq=False)
class Axis:
    """The axis of one canal, slice by slice from the end up: heights (slices), middles (n, 2), lengths, directions."""

    slices: NDArray[np.intp]
    points: FloatArray
    s: FloatArray
    along: FloatArray
    cut: tuple[bool, bool]
    parts: bool

    @property
    def length(self) -> float:
        """From the end to the orifice."""
        return float(self.s[-1])


@dataclass(frozen=True, eq=False)
class Prepared:
    """A box of the prepared scan, array (z, y, x) turned so that its first axis runs from the made end up.

    ``share``: part of each voxel that is canal; ``owner``: which canal it belongs to, from 1; ``s`` and ``part``: how
    far it lies from the end and that over the canal's length; ``solid``: inside the dentine's outer surface.
    ``index``: rows origin, then steps along the three axes of the box, in voxel indices (z, y, x) of the scan.
    ``step``: sides of a voxel along the axes of the box.
    """

    values: NDArray[Any]
    share: NDArray[np.float32]
    owner: Numbers
    s: NDArray[np.float32]
    part: NDArray[np.float32]
    solid: Mask
    canals: tuple[Axis, ...]
    levels: Levels
    index: FloatArray
    step: FloatArray

    @property
    def cell(self) -> float:
        """Volume of a voxel."""
        return float(self.step.prod())

    @property
    def volume(self) -> float:
        """Volume of the canals."""
        return float(self.share.sum(dtype=float)) * self.cell


def prepare(values: NDArray[Any], step: FloatArray, seeds: FloatArray) -> Prepared:
    """Find the canals of a prepared scan (z, y, x); ``step`` and ``seeds`` (n, 3) as (z, y, x). Raises InputRefused."""
    first = levels_of(values, "prepared")
    hard = values > first.edge
    axis = along(hard)
    order = [axis, *(k for k in range(3) if k != axis)]
    index = np.vstack([np.zeros(3), np.eye(3)[order]])
    turned, step, hints = values.transpose(order), step[order], seeds[:, order]
    marks, solid = canals_of(hard.transpose(order), hints)
    if _upside_down(marks):
        index[0], index[1] = index[1] * (values.shape[axis] - 1), -index[1]
        turned, marks, solid = turned[::-1], marks[::-1], solid[::-1]
    box = _box(marks, step)
    index[0] += sum(index[1 + k] * box[k].start for k in range(3))
    whole = marks.shape[0]
    ends = (box[0].start == 0, box[0].stop == whole)
    return _ready(turned[box], marks[box], solid[box], index, step, ends)


def _upside_down(marks: Numbers) -> bool:
    """Whether the wider end comes first."""
    area = np.count_nonzero(marks, axis=(1, 2))
    area = area[area > 0]
    few = max(2, round(ENDS * area.size))
    return bool(np.median(area[:few]) > np.median(area[-few:]))


def _box(marks: Numbers, step: FloatArray) -> tuple[slice, slice, slice]:
    found = ndimage.find_objects((marks > 0).astype(np.uint8))[0]
    more = [max(MARGIN, round(BEYOND / step[0])) if step[0] < BEYOND / 2 else MARGIN, MARGIN, MARGIN]
    lows = [max(0, at.start - m) for at, m in zip(found, more, strict=True)]
    highs = [min(n, at.stop + MARGIN) for at, n in zip(found, marks.shape, strict=True)]
    one, two, three = (slice(a, b) for a, b in zip(lows, highs, strict=True))
    return one, two, three


def _ready(
    values: NDArray[Any], marks: Numbers, solid: Mask, index: FloatArray, step: FloatArray, ends: tuple[bool, bool]
) -> Prepared:
    marks = _without_chamber(marks)
    near = ndimage.binary_dilation(marks > 0, iterations=REACH)
    near &= np.any(marks > 0, axis=(1, 2))[:, None, None]
    levels = _near_levels(values, marks > 0, near)
    share = (levels.dentine - values.astype(np.float32)) / np.float32(levels.dentine - levels.air)
    deep = ndimage.binary_erosion(marks > 0, structure=_flat(), iterations=REACH)
    share = np.where(deep, 1, np.where(near, share, 0)).astype(np.float32)
    far, (kz, ky, kx) = ndimage.distance_transform_edt(marks == 0, return_indices=True)
    owner = np.where(far <= REACH + 1, marks[kz, ky, kx], 0).astype(np.int32)
    axes = tuple(_axis(marks == k, step, ends) for k in range(1, int(marks.max()) + 1))
    s, part = np.full(values.shape, np.nan, dtype=np.float32), np.full(values.shape, np.nan, dtype=np.float32)
    for k, axis in enumerate(axes, 1):
        at = np.nonzero(owner == k)
        s[at] = _along(axis, at, step)
        part[at] = s[at] / axis.length
    return Prepared(values, share, owner, s, part, solid, axes, levels, index, step)


def _flat() -> Mask:
    """A cross in the plane of a slice."""
    cross = ndimage.generate_binary_structure(2, 1)
    return np.asarray(cross[None])


def _without_chamber(marks: Numbers) -> Numbers:
    """Canals up to where their section jumps in the coronal half: there the chamber opens."""
    out = marks.copy()
    for k in range(1, int(marks.max()) + 1):
        area = np.count_nonzero(marks == k, axis=(1, 2)).astype(float)
        held = np.flatnonzero(area)
        low, high = int(held[0]), int(held[-1]) + 1
        back = max(3, round(WITHIN * (high - low)))
        for z in range((low + high) // 2, high):
            if area[z] > WIDENS * area[z - back] > 0:
                cut = out[z - back // 2 :]
                cut[cut == k] = 0
                break
    return out


def _near_levels(values: NDArray[Any], hollow: Mask, near: Mask) -> Levels:
    deep = ndimage.binary_erosion(hollow, structure=_flat(), iterations=REACH)
    if np.count_nonzero(deep) < hollow.sum() / 50:
        raise InputRefused("prepared", Said("too coarse for its canal"), "scan it with smaller voxels")
    ring = ndimage.binary_dilation(near, structure=_flat(), iterations=2 * REACH) & ~near
    air = float(np.median(values[deep]))
    around = values[ring]
    dense = around[around > (air + float(np.percentile(around, 90))) / 2]
    dentine = float(np.median(dense)) if dense.size else air
    if not air < dentine:
        raise InputRefused("prepared", Said("without dentine about its canal"), "give a scan that shows both")
    return Levels(air, dentine)


def _axis(hollow: Mask, step: FloatArray, ends: tuple[bool, bool]) -> Axis:
    """Middles of the sections, smoothed, and the length along them."""
    area = np.count_nonzero(hollow, axis=(1, 2))
    slices = np.flatnonzero(area)
    rows, cols = hollow.sum(axis=2)[slices], hollow.sum(axis=1)[slices]
    middle_y = rows @ np.arange(hollow.shape[1]) / area[slices]
    middle_x = cols @ np.arange(hollow.shape[2]) / area[slices]
    smooth = max(1.0, slices.size / 60)
    points = np.stack([slices * step[0], middle_y * step[1], middle_x * step[2]], axis=1)
    points[:, 1:] = ndimage.gaussian_filter1d(points[:, 1:], smooth, axis=0, mode="nearest")
    run = np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))))
    direction = np.gradient(points, axis=0)
    direction /= np.linalg.norm(direction, axis=1)[:, None]
    half = step[0] / 2 / direction[:, 0]
    cut = bool(ends[0] and slices[0] == 0), bool(ends[1] and slices[-1] == hollow.shape[0] - 1)
    parts = any(ndimage.label(hollow[z])[1] > 1 for z in slices[:: max(1, slices.size // 40)])
    length = run + half[0]
    return Axis(slices, points, np.append(length, length[-1] + half[-1]), direction, cut, parts)


def _along(axis: Axis, at: tuple[NDArray[Any], ...], step: FloatArray) -> FloatArray:
    """Distance from the end of voxels: that of the axis in their slice, and on along its direction."""
    which = np.clip(np.searchsorted(axis.slices, at[0]), 0, axis.slices.size - 1)
    points = np.stack(at, axis=1) * step
    return np.asarray(axis.s[which] + ((points - axis.points[which]) * axis.along[which]).sum(axis=1))

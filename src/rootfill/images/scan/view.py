"""The part of a scan that holds one tooth, looked at along its length."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from rootfill.errors import InputRefused, Said
from rootfill.images.model import Grey, Volume
from rootfill.images.scan.tissue import Greys, greys_of
from rootfill.units import FloatArray

COARSE = 96
"""Voxels along the longest side in the first, coarse look."""

CROP_MM = 32.0
"""How far from a seed a tooth may reach [mm]; no tooth is as long."""

BROAD = 1.5
"""A tooth not so many times as long as broad may lie either way: its canals then decide."""

NEAR_MM = 2.5
"""How far about a seed the grey of dentine is taken from [mm]."""


@dataclass(frozen=True, eq=False)
class View:
    """A box of a scan with its slices across the tooth.

    ``levels`` has shape (levels, rows, columns) and is a view into the scan, no copy. ``low`` is the box's corner
    (z, y, x), ``axis`` the array axis along the tooth, ``flipped`` whether levels run against it.
    """

    levels: Grey
    low: tuple[int, int, int]
    axis: int
    flipped: bool
    greys: Greys

    def turned(self) -> View:
        """The same box from its other end."""
        return replace(self, levels=self.levels[::-1], flipped=not self.flipped)

    def index(self, level: FloatArray, row: FloatArray, column: FloatArray) -> FloatArray:
        """Voxel indices (..., 3) as (x, y, z) of places in the view."""
        along = self.levels.shape[0] - 1 - np.asarray(level) if self.flipped else np.asarray(level)
        placed = [np.asarray(row), np.asarray(column)]
        placed.insert(self.axis, along)
        return np.stack([p + o for p, o in zip(placed, self.low, strict=True)][::-1], axis=-1).astype(float)

    def place(self, index: FloatArray) -> FloatArray:
        """(level, row, column) of voxel indices (..., 3) given as (x, y, z)."""
        zyx = np.asarray(index, dtype=float)[..., ::-1] - np.array(self.low)
        along = zyx[..., self.axis]
        along = self.levels.shape[0] - 1 - along if self.flipped else along
        across = [zyx[..., a] for a in range(3) if a != self.axis]
        return np.stack((along, *across), axis=-1)


def views_of(volume: Volume, seeds: FloatArray, threshold: float | None) -> list[View]:
    """Find the tooth that holds the seeds, (n, 3) voxel indices, or, without any, the largest hard body.

    Cut across the axis along which it spreads the most; and across a second where it spreads about as far along that.
    Raises InputRefused where there is none.
    """
    low, high = _box(volume, seeds)
    box = volume.values[tuple(slice(a, b) for a, b in zip(low, high, strict=True))]
    greys = _greys(box, seeds[:, ::-1] - np.array(low), volume, threshold)
    stride = max(1, int(np.ceil(max(box.shape) / COARSE)))
    coarse = _coarse(box, stride) > greys.threshold
    body = _body(coarse, (seeds[:, ::-1] - np.array(low)) / stride)
    where = np.argwhere(body)
    margin = 2
    first = np.maximum((where.min(axis=0) - margin) * stride, 0)
    last = np.minimum((where.max(axis=0) + 1 + margin) * stride, box.shape)
    tight = box[tuple(slice(a, b) for a, b in zip(first, last, strict=True))]
    corner = (int(low[0] + first[0]), int(low[1] + first[1]), int(low[2] + first[2]))
    axes = _lies(body, volume.step_mm[::-1])
    return [View(np.moveaxis(tight, axis, 0), corner, axis, False, greys) for axis in axes]


def _box(volume: Volume, seeds: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Corners (z, y, x) of the box to look in."""
    shape = np.array(volume.values.shape)
    if not len(seeds) or not volume.scale.known:
        return np.zeros(3, dtype=int), shape
    reach = np.ceil(CROP_MM / volume.step_mm[::-1]).astype(int)
    zyx = np.round(seeds[:, ::-1]).astype(int)
    return np.maximum(zyx.min(axis=0) - reach, 0), np.minimum(zyx.max(axis=0) + reach + 1, shape)


def _greys(box: Grey, seeds: FloatArray, volume: Volume, threshold: float | None) -> Greys:
    """Greys of the box, dentine's own from about the seeds; a threshold set by hand keeps the contrast about it."""
    greys = greys_of(box)
    if len(seeds):
        reach = np.maximum(3, np.round(NEAR_MM / volume.step_mm[::-1])).astype(int) if volume.scale.known else 12
        near = [_near(box, np.round(seed).astype(int), reach) for seed in seeds]
        inside = greys_of(near[0])
        if inside.hard > greys.threshold:
            greys = Greys(inside.hard, greys.soft)
    if threshold is None:
        return greys
    return Greys(threshold + greys.contrast / 2, threshold - greys.contrast / 2)


def _near(box: Grey, seed: FloatArray, reach: FloatArray | int) -> Grey:
    low = np.maximum(seed - reach, 0)
    return box[tuple(slice(a, b) for a, b in zip(low, seed + reach + 1, strict=True))]


def _coarse(box: Grey, stride: int) -> FloatArray:
    """Means over blocks of ``stride`` voxels, one slab at a time."""
    if stride == 1:
        return np.asarray(box, dtype=np.float32)
    whole = [n // stride * stride for n in box.shape]
    slabs = []
    for z in range(0, whole[0], stride):
        slab = box[z : z + stride, : whole[1], : whole[2]].mean(axis=0, dtype=np.float32)
        slabs.append(slab.reshape(whole[1] // stride, stride, whole[2] // stride, stride).mean(axis=(1, 3)))
    return np.asarray(slabs)


def _body(hard: NDArray[np.bool_], seeds: FloatArray) -> NDArray[np.bool_]:
    """The connected hard body about the seeds, or the largest."""
    labels, count = ndimage.label(hard)
    if count == 0:
        raise InputRefused("the scan", Said("without anything hard in it"), "choose one that holds a tooth")
    if not len(seeds):
        return np.asarray(labels == 1 + int(np.argmax(np.bincount(labels.ravel())[1:])))
    nearest = ndimage.distance_transform_edt(labels == 0, return_distances=False, return_indices=True)
    at = np.clip(np.round(seeds).astype(int), 0, np.array(hard.shape) - 1)
    mine = {int(labels[tuple(nearest[:, z, y, x])]) for z, y, x in at}
    return np.isin(labels, list(mine))


def _lies(body: NDArray[np.bool_], step: FloatArray) -> list[int]:
    """Array axes along which the tooth may lie: that of its largest spread, and a second of about the same."""
    spread = np.cov((np.argwhere(body) * step).T)
    first = int(np.argmax(np.abs(np.linalg.eigh(spread)[1][:, -1])))
    far = np.sqrt(np.diag(spread))
    others = [axis for axis in (0, 1, 2) if axis != first and far[axis] * BROAD > far[first]]
    return [first, *sorted(others, key=lambda axis: -float(far[axis]))[:1]]

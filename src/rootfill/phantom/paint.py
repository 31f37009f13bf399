"""A tooth painted into a grid: what share of each voxel is made of what, by halving only where surfaces pass."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from rootfill.units import FloatArray

Look = Callable[[FloatArray], tuple[NDArray[np.uint8], FloatArray]]

BLOCK = 8
"""Voxels along an edge of the first blocks."""
SAFE = 1.6
"""Distances are of first order: a cell counts as pure when it is this much farther from any surface than it is big."""
AT_ONCE = 60_000
KINDS = 8


@dataclass(frozen=True, eq=False)
class Grid:
    """Voxels: counts along x, y, z, sizes [mm], and how a tooth lies in them.

    A point p of the tooth lies at voxel indices (``turn`` · (p − ``about_mm``) + ``at_mm``) / ``voxel_mm``, with voxel
    centres at whole numbers.
    """

    counts: tuple[int, int, int]
    voxel_mm: FloatArray
    about_mm: FloatArray
    at_mm: FloatArray
    turn: FloatArray = field(default_factory=lambda: np.eye(3))

    def indices(self, points: FloatArray) -> FloatArray:
        """Voxel indices x, y, z of points (3, n) of the tooth."""
        placed = self.turn @ (points - self.about_mm[:, None]) + self.at_mm[:, None]
        return np.asarray(placed / self.voxel_mm[:, None])

    def points(self, indices: FloatArray) -> FloatArray:
        """Points of the tooth [mm] at voxel indices (3, n)."""
        return np.asarray(
            self.turn.T @ (indices * self.voxel_mm[:, None] - self.at_mm[:, None]) + self.about_mm[:, None]
        )


def shares(look: Look, grid: Grid, worth: FloatArray, halvings: int) -> NDArray[np.float32]:
    """Mean worth of each voxel, shape (z, y, x): ``worth`` by label, voxels cut 2^halvings fold where surfaces pass."""
    nx, ny, nz = grid.counts
    out = np.empty((nz, ny, nx), dtype=np.float32)
    starts = [np.arange(0, n, BLOCK) for n in grid.counts]
    for z in starts[2]:
        x, y = np.meshgrid(starts[0], starts[1], indexing="ij")
        corner = np.stack([x.ravel(), y.ravel(), np.full(x.size, z)])
        _blocks(look, grid, corner, worth, halvings, out)
    return out


def _blocks(
    look: Look, grid: Grid, corner: NDArray[np.intp], worth: FloatArray, halvings: int, out: NDArray[np.float32]
) -> None:
    """Fill blocks from the largest size down; voxels that surfaces cross are sampled inside."""
    size = BLOCK
    limit = np.array(grid.counts)[:, None]
    while True:
        label, clear = _sampled(look, grid, np.asarray(corner + (size - 1) / 2, dtype=float))
        pure = clear > SAFE * size / 2 * float(np.linalg.norm(grid.voxel_mm))
        value = worth[label].astype(np.float32)
        for cx, cy, cz, w in zip(*corner[:, pure], value[pure], strict=True):
            out[cz : cz + size, cy : cy + size, cx : cx + size] = w
        corner = corner[:, ~pure]
        if size == 1 or not corner.size:
            break
        size //= 2
        offsets = np.indices((2, 2, 2)).reshape(3, 1, 8) * size
        corner = (corner[:, :, None] + offsets).reshape(3, -1)
        corner = corner[:, (corner < limit).all(axis=0)]
        if size == 1:
            corner = _voxels(look, grid, corner, worth, out)
            break
    if corner.size:
        out[corner[2], corner[1], corner[0]] = _inside(look, grid, corner.astype(float), worth, halvings)


def _voxels(
    look: Look, grid: Grid, corner: NDArray[np.intp], worth: FloatArray, out: NDArray[np.float32]
) -> NDArray[np.intp]:
    """Fill single voxels that no surface crosses; the others are given back."""
    label, clear = _sampled(look, grid, corner.astype(float))
    pure = clear > SAFE / 2 * float(np.linalg.norm(grid.voxel_mm))
    out[corner[2, pure], corner[1, pure], corner[0, pure]] = worth[label[pure]]
    return np.asarray(corner[:, ~pure])


def _inside(look: Look, grid: Grid, centre: FloatArray, worth: FloatArray, halvings: int) -> FloatArray:
    """Mean worth of voxels about ``centre`` (3, n), halved again and again where surfaces pass."""
    mean = np.zeros(centre.shape[1])
    owner, at, step = np.arange(centre.shape[1]), centre, 1.0
    for depth in range(1, halvings + 1):
        step /= 2
        offsets = (np.indices((2, 2, 2)).reshape(3, 1, 8) - 0.5) * step
        at, owner = (at[:, :, None] + offsets).reshape(3, -1), np.repeat(owner, 8)
        label, clear = _sampled(look, grid, at)
        done = clear > SAFE * step / 2 * float(np.linalg.norm(grid.voxel_mm))
        if depth == halvings:
            done[:] = True
        mean += np.bincount(owner[done], worth[label[done]] * step**3, minlength=mean.size)
        at, owner = at[:, ~done], owner[~done]
    return mean


def _sampled(look: Look, grid: Grid, at: FloatArray) -> tuple[NDArray[np.uint8], FloatArray]:
    """Look at voxel indices (3, n), some at a time."""
    label, clear = np.empty(at.shape[1], dtype=np.uint8), np.empty(at.shape[1])
    for low in range(0, at.shape[1], AT_ONCE):
        some = slice(low, low + AT_ONCE)
        label[some], clear[some] = look(grid.points(at[:, some]))
    return label, clear

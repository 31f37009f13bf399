"""Bilinear elements turned about the axis: conductances between neighbours, capacities of nodes.

Every cell is integrated by its four corners: the gradient there, times the part of the cell that lies nearest to
that corner, 2πr in it. On cells with right angles this couples a node with the four next to it only, so that no
temperature overshoots, and it stays exact on the axis, where lumped elements store a third too much.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from rootfill.heat.mesh import Grid
from rootfill.units import FloatArray

_STEP = ((0, 0), (0, 1), (1, 1), (1, 0))
"""Corners of a cell, round from its lower inner one."""
_KEPT = {(0, 1): ("right", 0), (2, 3): ("right", 3), (1, 2): ("up", 1), (0, 3): ("up", 0)}
_KEPT |= {(0, 2): ("up_right", 0), (1, 3): ("up_left", 1)}
"""Where a coupling of two corners is kept: in which direction, at which of them."""


@dataclass(frozen=True, eq=False)
class Neighbours:
    """Conductances [W/K] from each node to those right, up, up right, up left; each (rows, columns)."""

    right: FloatArray
    up: FloatArray
    up_right: FloatArray
    up_left: FloatArray


class Cells:
    """What conducts and stores in a grid for a unit of conductivity and of heat capacity, computed once."""

    def __init__(self, grid: Grid) -> None:
        self._shape, self._volumes = grid.shape, list[FloatArray]()
        self._couplings = {pair: np.zeros(grid.layer.shape) for pair in _KEPT}
        for corners, r, s, volume in _parts(grid):
            weight = volume / _twice_area(r, s) ** 2
            for p, q, o in ((0, 1, 2), (0, 2, 1), (1, 2, 0)):
                dot = (r[p] - r[o]) * (r[q] - r[o]) + (s[p] - s[o]) * (s[q] - s[o])
                self._couplings[min(corners[p], corners[q]), max(corners[p], corners[q])] += weight * dot
            self._volumes.append(volume)

    def conductances(self, k_w_mk: FloatArray) -> Neighbours:
        """Of cells with conductivity ``k_w_mk`` (rows−1, columns−1): G_pq = −Σ k V ∇φp·∇φq over their corners."""
        found = Neighbours(*(np.zeros(self._shape) for _ in range(4)))
        for pair, coupling in self._couplings.items():
            kind, at = _KEPT[pair]
            _add(getattr(found, kind), at, k_w_mk * coupling)
        return found

    def node_sums(self, per_m3: FloatArray) -> FloatArray:
        """What each node (rows, columns) holds of a density per m³ given by cell."""
        found = np.zeros(self._shape)
        for corner, volume in enumerate(self._volumes):
            _add(found, corner, per_m3 * volume)
        return found


def line_sums(r_m: FloatArray, s_m: FloatArray) -> FloatArray:
    """Area [m²] of each node of a line (n,) turned about the axis: ∫ 2πr over its halves of pieces."""
    length = np.hypot(np.diff(r_m), np.diff(s_m))
    found = np.zeros_like(r_m)
    found[:-1] += math.pi * length * (3 * r_m[:-1] + r_m[1:]) / 4
    found[1:] += math.pi * length * (3 * r_m[1:] + r_m[:-1]) / 4
    return found


def _parts(grid: Grid) -> Iterator[tuple[tuple[int, int, int], Sequence[FloatArray], Sequence[FloatArray], FloatArray]]:
    """For each corner: it and the two next to it, their radii and heights, and the volume [m³] nearest to it."""
    rows, columns = grid.shape
    r = [grid.r_m[i : rows - 1 + i, j : columns - 1 + j] for i, j in _STEP]
    s = [np.broadcast_to(grid.s_m[i : rows - 1 + i, None], r[0].shape) for i, _ in _STEP]
    centre = ((r[0] + r[1] + r[2] + r[3]) / 4, (s[0] + s[2]) / 2)
    for p in range(4):
        near, far = (p + 1) % 4, (p + 3) % 4
        half = [((r[p] + r[q]) / 2, (s[p] + s[q]) / 2) for q in (near, far)]
        volume = _turned([(r[p], s[p]), half[0], centre, half[1]])
        yield (p, near, far), (r[p], r[near], r[far]), (s[p], s[near], s[far]), volume


def _turned(corners: Sequence[tuple[FloatArray, FloatArray]]) -> FloatArray:
    """Volume [m³] of a quadrilateral turned about the axis, as two triangles."""
    total = np.zeros_like(corners[0][0])
    for a, b, c in ((0, 1, 2), (0, 2, 3)):
        r, s = zip(corners[a], corners[b], corners[c], strict=True)
        total = total + math.pi * _twice_area(r, s) * (r[0] + r[1] + r[2]) / 3
    return total


def _twice_area(r: Sequence[FloatArray], s: Sequence[FloatArray]) -> FloatArray:
    return np.asarray((r[1] - r[0]) * (s[2] - s[0]) - (r[2] - r[0]) * (s[1] - s[0]))


def _add(found: FloatArray, corner: int, value: FloatArray) -> None:
    """Adds a value of each cell to one of its corners."""
    (i, j), (rows, columns) = _STEP[corner], found.shape
    found[i : rows - 1 + i, j : columns - 1 + j] += value

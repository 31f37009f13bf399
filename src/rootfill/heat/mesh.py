"""A mesh of quadrilaterals about the canal's axis whose columns lie on the walls of canal, root and ligament."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rootfill.heat.model import Effort, Section
from rootfill.units import FloatArray

MM = 1e-3
COMPOUND, DENTINE, LIGAMENT, BLOCK = range(4)
_FINE = 64
_OUTSIDE = 3.0
"""Outside the root cells may grow this many times longer than in it."""

Away = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True, eq=False)
class Grid:
    """Rows of nodes at heights ``s_m`` (n,), their distances ``r_m`` (n, m) from the axis, a material per cell.

    All in metres; rows ascend towards the crown; ``layer`` (n−1, m−1) numbers the materials.
    """

    s_m: FloatArray
    r_m: FloatArray
    layer: NDArray[np.intp]

    @property
    def shape(self) -> tuple[int, int]:
        """Rows, columns."""
        return self.r_m.shape[0], self.r_m.shape[1]


@dataclass(frozen=True, eq=False)
class Fitted:
    """The mesh of a section: which columns are the canal's wall, the root's surface, the bone; which row s = 0."""

    grid: Grid
    canal_column: int
    root_column: int
    bone_column: int
    end_row: int

    def row_of(self, s_mm: float) -> int:
        """The row at a station that the mesh was fitted to."""
        return int(np.argmin(np.abs(self.grid.s_m - s_mm * MM)))


def fitted(section: Section, tips_mm: Sequence[float], effort: Effort) -> Fitted:
    """The mesh of a section with a row at each of ``tips_mm`` and close rows about it."""
    s = _heights(section, tips_mm, effort)
    at = np.clip(s, 0.0, section.length_mm)
    canal, root = section.canal_radius(at), section.root_radius(at)
    rings = [(np.zeros_like(s), canal), (canal, root)]
    if section.ligament_mm > 0:
        rings.append((root, root + section.ligament_mm))
    rings.append((rings[-1][1], section.block_radius(at)))
    shares = _all_shares([float((outer - inner).max()) for inner, outer in rings], effort)
    columns = [inner[:, None] + (outer - inner)[:, None] * x for (inner, outer), x in zip(rings, shares, strict=True)]
    r = np.hstack((np.zeros((s.size, 1)), *columns))
    edges = np.cumsum([x.size for x in shares])
    layer = _layers(s, edges, section)
    walls = (int(edges[0]), int(edges[1]), int(edges[-2]))
    return Fitted(Grid(s * MM, r * MM, layer), *walls, end_row=int(np.argmin(np.abs(s))))


def _layers(s_mm: FloatArray, edges: NDArray[np.intp], section: Section) -> NDArray[np.intp]:
    kinds = [COMPOUND, DENTINE, BLOCK] if edges.size == 3 else [COMPOUND, DENTINE, LIGAMENT, BLOCK]
    across = np.repeat(kinds, np.diff(np.concatenate(([0], edges))))
    middle = (s_mm[1:] + s_mm[:-1]) / 2
    layer = np.where(middle[:, None] > 0, across, BLOCK)
    under = (middle < 0) & (middle > -section.ligament_mm)
    layer[np.ix_(under, np.arange(across.size) < edges[-2])] = LIGAMENT
    return layer


def _all_shares(thick_mm: Sequence[float], effort: Effort) -> list[FloatArray]:
    """Where the columns of each ring stand, 0 < x <= 1: cells grow both ways from the canal's wall.

    Outside the root they grow from its surface.
    """
    core = _divided(0.0, thick_mm[0], _itself, effort.tip_mm, effort.across_mm, effort)
    found, first = [1 - np.append(core[:-1][::-1], 0.0) / thick_mm[0]], effort.tip_mm
    for place, thick in enumerate(thick_mm[1:], start=1):
        longest = effort.across_mm * (_OUTSIDE if place == len(thick_mm) - 1 else 1.0)
        found.append(_divided(0.0, thick, _itself, first, longest, effort) / thick)
        first = effort.across_mm
    return found


def _itself(x_mm: FloatArray) -> FloatArray:
    return x_mm


def _heights(section: Section, tips_mm: Sequence[float], effort: Effort) -> FloatArray:
    """Heights of the rows [mm], close at each tip and wider apart away from it."""
    below = [-section.block_below_mm] + ([-section.ligament_mm] if section.ligament_mm > 0 else [])
    marks = _apart(sorted({*below, *section.marks_mm, *tips_mm}), keep={*tips_mm, 0.0})
    tips = np.asarray([*tips_mm, math.inf])

    def to_tip(s_mm: FloatArray) -> FloatArray:
        return np.asarray(np.abs(s_mm[:, None] - tips).min(axis=1))

    longest = [effort.longest_mm * (_OUTSIDE if b <= 0 else 1.0) for b in marks[1:]]
    pieces = zip(pairwise(marks), longest, strict=True)
    parts = [_divided(a, b, to_tip, effort.tip_mm, most, effort) for (a, b), most in pieces]
    return np.concatenate(([marks[0]], *parts))


def _apart(marks: Sequence[float], keep: set[float], least_mm: float = 1e-4) -> list[float]:
    """Marks without those that lie on top of another."""
    found: list[float] = []
    for mark in marks:
        if not found or mark - found[-1] > least_mm:
            found.append(float(mark))
        elif mark in keep:
            found[-1] = float(mark)
    return found


def _divided(a: float, b: float, away: Away, first_mm: float, longest_mm: float, effort: Effort) -> FloatArray:
    """Places above ``a`` up to ``b`` [mm]; a cell is about first + ln(growth) · its distance ``away`` long.

    Refining divides each cell.
    """
    fine = np.linspace(a, b, _FINE + 1)
    density = 1 / np.minimum(first_mm + math.log(effort.growth) * away(fine), longest_mm)
    count = np.concatenate(([0.0], np.cumsum((density[1:] + density[:-1]) / 2 * np.diff(fine))))
    cells = max(round(count[-1]), 1) * effort.refine
    places = np.interp(np.arange(1, cells + 1) / cells, count / count[-1], fine)
    places[-1] = b
    return np.asarray(places)

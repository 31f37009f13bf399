"""A root as voxels: how each resists and stores, and which are held by the surroundings."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rootfill.heat.model import Section
from rootfill.heat.solid.kernel import Body, Columns, Field
from rootfill.heat.solid.model import Root, root_of
from rootfill.units import FloatArray

MM = 1e-3
APART = np.float32(1e30)
"""Resistivity [m·K/W] of what does not conduct."""
_SLICES = 4
"""Thin slices of a layer whose shares of each material are averaged."""


@dataclass(frozen=True, eq=False)
class Voxels:
    """Cubes of ``spacing_mm``, shape (layers, rows, columns) with a rim of one all round, float32.

    ``resist`` is 1/k [m·K/W], 0 where held, so that a held place begins at the face of its voxel; ``take`` is
    2/(ρc·h²) [K·m/J]. ``low`` and ``high`` bound the free columns of each row. ``start_mm`` is the centre (s, y, x)
    of the first voxel.
    """

    spacing_mm: float
    start_mm: tuple[float, float, float]
    resist: Field
    take: Field
    low: Columns
    high: Columns

    @property
    def body(self) -> Body:
        """What the kernel needs."""
        return self.resist, self.take, self.low, self.high

    def along(self, axis: int) -> FloatArray:
        """Centres [mm] along s, y or x."""
        return self.start_mm[axis] + self.spacing_mm * np.arange(self.resist.shape[axis], dtype=np.float64)


def take_of(capacity_j_m3k: FloatArray, spacing_mm: float) -> FloatArray:
    """2/(ρc·h²) of heat capacities per volume."""
    return np.asarray(2 / (capacity_j_m3k * (spacing_mm * MM) ** 2))


def solid_of(section: Section, spacing_mm: float) -> Voxels:
    """Voxels of a section."""
    return voxels_of(root_of(section), spacing_mm)


def voxels_of(root: Root, spacing_mm: float) -> Voxels:
    """Voxels of a root: arithmetic means of the materials in each, the middle of the root in the middle of one.

    A face lies at s = 0. Held are the voxels whose centre is outside the block, and those below it; the top is
    insulated.
    """
    h = spacing_mm
    half, below = math.ceil(root.block_radius_mm / h) + 1, math.ceil(root.block_below_mm / h - 1e-9)
    above, width = math.ceil(root.length_mm / h - 1e-9), 2 * half + 1
    across = h * np.arange(-half, half + 1)
    shape = (below + above + 2, width, width)
    y, x = np.meshgrid(across, across, indexing="ij")
    free = np.hypot(x, y) < root.block_radius_mm
    found = Voxels(
        h,
        (-(below + 0.5) * h, -half * h, -half * h),
        np.zeros(shape, dtype=np.float32),
        np.zeros(shape, dtype=np.float32),
        np.where(free.any(axis=1), free.argmax(axis=1), 1),
        np.where(free.any(axis=1), width - free[:, ::-1].argmax(axis=1), 1),
    )
    k, stored = (np.array([getattr(m, name) for m in root.materials.layers]) for name in ("k_w_mk", "capacity_j_m3k"))
    for layer, s in enumerate(found.along(0)[1:-1], start=1):
        shares = shares_at(root, s, h, x, y)
        found.resist[layer] = np.where(free, 1 / np.tensordot(k, shares, 1), 0)
        found.take[layer] = np.where(free, take_of(np.tensordot(stored, shares, 1), h), 0)
    found.resist[-1] = APART
    return found


def shares_at(root: Root, s_mm: float, thick_mm: float, x_mm: FloatArray, y_mm: FloatArray) -> FloatArray:
    """Shares of compound, dentine, ligament and block in voxels of a layer about a station, shape (4, ...).

    Within a slice the share inside a circle is taken from the distance to it, as at a straight edge.
    """
    slices = s_mm + thick_mm * ((np.arange(_SLICES) + 0.5) / _SLICES - 0.5)
    beside = np.hypot(x_mm, y_mm)
    total = np.zeros((4, *beside.shape))

    def within(distance: FloatArray, radius: float) -> FloatArray:
        return np.clip(0.5 + (radius - distance) / thick_mm, 0.0, 1.0)

    for s in slices:
        inside = within(beside, float(root.radius(s))) if s > 0 else np.zeros_like(beside)
        around = (
            within(beside, float(root.radius(np.maximum(s, 0.0))) + root.ligament_mm)
            if s > -root.ligament_mm
            else inside
        )
        filled = np.zeros_like(beside)
        if s > 0:
            for canal in root.canals:
                filled += within(canal.beside(x_mm, y_mm), float(canal.radius(s)))
        total += (filled, inside - filled, around - inside, 1 - around)
    return total / _SLICES

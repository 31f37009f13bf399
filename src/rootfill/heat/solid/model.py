"""Types of the three-dimensional heat: a round root with its canals, which of them is heated, how time is divided."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from rootfill.heat.model import Effort, Materials, Section, Source
from rootfill.units import FloatArray


@dataclass(frozen=True, eq=False)
class Canal:
    """A straight round canal along the root: rows (s, diameter) in mm, shape (n, 2), and where its axis lies."""

    rows: FloatArray
    x_mm: float = 0.0
    y_mm: float = 0.0

    def radius(self, s_mm: FloatArray) -> FloatArray:
        """Radius [mm] at stations: linear between rows and constant beyond."""
        return np.interp(s_mm, self.rows[:, 0], self.rows[:, 1]) / 2

    def beside(self, x_mm: FloatArray | float, y_mm: FloatArray | float) -> FloatArray:
        """Distance of points from the axis, mm."""
        return np.asarray(np.hypot(x_mm - self.x_mm, y_mm - self.y_mm))


@dataclass(frozen=True, eq=False)
class Root:
    """A round root from s = 0 to ``length_mm`` with one canal or more; otherwise as a :class:`Section`.

    Raises ValueError where a canal is not open, leaves the root or meets another, where the block does not
    hold the root, or where a material melts or is perfused: this solver knows constant properties only.
    """

    length_mm: float
    canals: tuple[Canal, ...]
    root: FloatArray
    block_radius_mm: float
    block_below_mm: float
    materials: Materials
    ligament_mm: float = 0.0

    def __post_init__(self) -> None:
        if (self.ligament_mm > 0) != (self.materials.ligament is not None):
            raise ValueError("a ligament has a thickness and a material, or neither")
        if any(m.transition is not None or m.perfusion_w_m3k > 0 for m in self.materials.layers):
            raise ValueError("in three dimensions no material melts and none is perfused")
        rows = np.concatenate([self.root[:, 0], *(c.rows[:, 0] for c in self.canals)])
        s = np.unique(np.concatenate(([0.0, self.length_mm], rows[(rows > 0) & (rows < self.length_mm)])))
        outer = self.radius(s)
        for i, one in enumerate(self.canals):
            if np.any(one.radius(s) <= 0) or np.any(one.beside(0.0, 0.0) + one.radius(s) >= outer):
                raise ValueError("every canal is open and lies within the root")
            for other in self.canals[:i]:
                if np.any(one.radius(s) + other.radius(s) >= one.beside(other.x_mm, other.y_mm)):
                    raise ValueError("two canals do not meet")
        wide = self.block_radius_mm > outer.max() + self.ligament_mm
        if not (self.canals and wide and self.block_below_mm > self.ligament_mm):
            raise ValueError("there is a canal, and the block is wider and reaches deeper than root and ligament")

    def radius(self, s_mm: FloatArray) -> FloatArray:
        """Radius of the root [mm] at stations."""
        return np.interp(s_mm, self.root[:, 0], self.root[:, 1]) / 2


def root_of(section: Section) -> Root:
    """The root of a section, its canal straight along the middle. Raises ValueError for one that is only coated."""
    if math.isfinite(section.wrap_mm):
        raise ValueError("in three dimensions the block is a cylinder")
    return Root(
        section.length_mm,
        (Canal(section.canal),),
        section.root,
        section.block_radius_mm,
        section.block_below_mm,
        section.materials,
        section.ligament_mm,
    )


@dataclass(frozen=True)
class Heating:
    """A source in the canal of that number."""

    source: Source
    canal: int = 0


@dataclass(frozen=True)
class SuperSteps:
    """Super-steps [s]: ``first_s`` after each change, four times longer after every ``per_level``, to ``longest_s``.

    The first is divided into ``starts`` first-order super-steps, which damp the jump at the tip.
    """

    first_s: float = 0.05
    longest_s: float = 1.0
    per_level: int = 6
    starts: int = 4

    @property
    def effort(self) -> Effort:
        """The same as steps of the axisymmetric march."""
        return Effort(refine=1, first_s=self.first_s, longest_s=self.longest_s, per_level=self.per_level)

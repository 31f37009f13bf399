"""Types of the heat computations: what warms, and what it is warmed by."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from rootfill.units import FloatArray

HELD = math.inf
"""Conductance of a side that is held at its temperature, and of a contact without resistance."""
INSULATED = 0.0


@dataclass(frozen=True)
class Transition:
    """Latent heat [J/kg] taken up between two temperatures [°C] on heating, given back between two on cooling.

    The share that is molten grows evenly from 0 at the first to 1 at the second. Raises ValueError where a
    pair does not ascend, or where cooling would lie above heating.
    """

    latent_j_kg: float
    heating_c: tuple[float, float]
    cooling_c: tuple[float, float]

    def __post_init__(self) -> None:
        (a, b), (c, d) = self.heating_c, self.cooling_c
        if not (self.latent_j_kg >= 0 and a < b and c < d and c <= a and d <= b):
            raise ValueError("latent heat is at least 0, each pair ascends, and cooling does not lie above heating")

    @classmethod
    def sharp(cls, latent_j_kg: float, melts_c: float, width_c: float = 0.5) -> Transition:
        """One melting point, the same on heating and cooling, drawn over ``width_c``."""
        ends = (melts_c - width_c / 2, melts_c + width_c / 2)
        return cls(latent_j_kg, ends, ends)


@dataclass(frozen=True)
class Material:
    """Conductivity [W/m/K], density [kg/m³], heat capacity [J/kg/K], transition, and blood flow w·ρ·c [W/m³/K].

    Raises ValueError where one is not above 0 (blood flow: below 0) or not finite.
    """

    k_w_mk: float
    density_kg_m3: float
    cp_j_kgk: float
    transition: Transition | None = None
    perfusion_w_m3k: float = 0.0

    def __post_init__(self) -> None:
        if not all(0 < x < math.inf for x in (self.k_w_mk, self.density_kg_m3, self.cp_j_kgk)):
            raise ValueError("conductivity, density and heat capacity are above 0")
        if not 0 <= self.perfusion_w_m3k < math.inf:
            raise ValueError("blood flow is at least 0")

    @property
    def capacity_j_m3k(self) -> float:
        """Heat [J] that warms a cubic metre by 1 °C."""
        return self.density_kg_m3 * self.cp_j_kgk


@dataclass(frozen=True)
class Materials:
    """What fills the canal, the root, the ligament (where there is one) and the block."""

    compound: Material
    dentine: Material
    block: Material
    ligament: Material | None = None

    @property
    def layers(self) -> tuple[Material, ...]:
        """In the order in which the mesh numbers them: compound, dentine, ligament, block."""
        return self.compound, self.dentine, self.ligament or self.block, self.block


@dataclass(frozen=True, eq=False)
class Section:
    """A root round about its canal, in mm; ``canal`` and ``root`` are rows (s, diameter), shape (n, 2).

    The root ends flat at s = 0 and its top lies at ``length_mm``; the block lies around and below it, the
    ligament between, ``ligament_mm`` thick. Diameters are linear between rows and constant beyond. The block is
    nowhere thicker than ``wrap_mm`` about root and ligament: a thin one follows them. Raises ValueError where the
    root is not thicker than the canal everywhere, the block not wider than the root, or the wrap not above 0.
    """

    length_mm: float
    canal: FloatArray
    root: FloatArray
    block_radius_mm: float
    block_below_mm: float
    materials: Materials
    ligament_mm: float = 0.0
    wrap_mm: float = math.inf

    def __post_init__(self) -> None:
        if (self.ligament_mm > 0) != (self.materials.ligament is not None):
            raise ValueError("a ligament has a thickness and a material, or neither")
        marks = self.marks_mm
        canal, root = self.canal_radius(marks), self.root_radius(marks)
        if not (self.length_mm > 0 and np.all(canal > 0) and np.all(root > canal)):
            raise ValueError("the canal is open and the root thicker than it everywhere")
        wide = self.wrap_mm > 0 and self.block_radius_mm > root.max() + self.ligament_mm
        if not (wide and self.block_below_mm > self.ligament_mm):
            raise ValueError("the block is wider and reaches deeper than root and ligament")

    @property
    def marks_mm(self) -> FloatArray:
        """Both ends of the root and every station between them where canal or root is given."""
        rows = np.concatenate((self.canal[:, 0], self.root[:, 0]))
        inside = rows[(rows > 0) & (rows < self.length_mm)]
        return np.unique(np.concatenate(([0.0], inside, [self.length_mm])))

    def canal_radius(self, s_mm: FloatArray) -> FloatArray:
        """Radius of the canal [mm] at stations."""
        return np.interp(s_mm, self.canal[:, 0], self.canal[:, 1]) / 2

    def root_radius(self, s_mm: FloatArray) -> FloatArray:
        """Radius of the root [mm] at stations."""
        return np.interp(s_mm, self.root[:, 0], self.root[:, 1]) / 2

    def block_radius(self, s_mm: FloatArray) -> FloatArray:
        """Radius of the block's side [mm] at stations."""
        return np.minimum(self.block_radius_mm, self.root_radius(s_mm) + self.ligament_mm + self.wrap_mm)


@dataclass(frozen=True)
class Surroundings:
    """Temperature [°C] outside the block, and the conductance [W/m²/K] to it at its side and its bottom.

    ``HELD`` for a bath that holds the face at its temperature, a number for a film, ``INSULATED``.
    The top is insulated. ``start_c`` is the temperature of everything at the start; None: the same.
    """

    temperature_c: float
    side_w_m2k: float = HELD
    bottom_w_m2k: float = HELD
    start_c: float | None = None

    @property
    def begins_c(self) -> float:
        """Temperature of everything at the start, °C."""
        return self.temperature_c if self.start_c is None else self.start_c


@dataclass(frozen=True)
class Source:
    """A tip in the canal from ``from_s`` to ``until_s``: the canal from the tip up is at its temperature.

    ``path`` is rows (seconds since ``from_s``, station of the tip [mm]), ``temperature`` rows (seconds since
    ``from_s``, °C), linear between and constant beyond. ``contact_w_m2k`` is the conductance between tip and
    what it touches. A cold plugger is a source at its own temperature. Raises ValueError where rows do not ascend.
    """

    from_s: float
    until_s: float
    path: tuple[tuple[float, float], ...]
    temperature: tuple[tuple[float, float], ...]
    contact_w_m2k: float = HELD

    def __post_init__(self) -> None:
        for rows in (self.path, self.temperature):
            if not rows or any(b[0] <= a[0] for a, b in pairwise(rows)):
                raise ValueError("path and temperature have rows that ascend in time")
        if not (0 <= self.from_s < self.until_s and self.contact_w_m2k > 0):
            raise ValueError("a source ends after it begins, and its contact conducts")

    @classmethod
    def still(
        cls, tip_s_mm: float, from_s: float, until_s: float, temperature_c: float, contact_w_m2k: float = HELD
    ) -> Source:
        """A tip that stays in one place at one temperature."""
        return cls(from_s, until_s, ((0.0, tip_s_mm),), ((0.0, temperature_c),), contact_w_m2k)

    def temperature_at(self, time_s: float) -> float:
        """Temperature of the tip [°C] at a time of the run."""
        since, celsius = zip(*self.temperature, strict=True)
        return float(np.interp(time_s - self.from_s, since, celsius))

    def tip_at(self, time_s: float | FloatArray) -> FloatArray:
        """Station of the tip [mm] at times of the run."""
        since, s_mm = zip(*self.path, strict=True)
        return np.asarray(np.interp(np.asarray(time_s) - self.from_s, since, s_mm))


@dataclass(frozen=True)
class Rod:
    """Metal nobody heats, in the canal from ``tip_s_mm`` up: a cold plugger, or a tip whose heat was switched off.

    ``comes_at_c`` is its temperature as it comes in [°C]; None: as warm as what was there, for a tip left in place.
    Raises ValueError where it ends before it begins.
    """

    from_s: float
    until_s: float
    tip_s_mm: float
    material: Material
    comes_at_c: float | None = None

    def __post_init__(self) -> None:
        _ends_after_it_begins(self.from_s, self.until_s)


@dataclass(frozen=True)
class Gap:
    """Nothing in the canal from ``from_s_mm`` up: a withdrawn tip took what was there with it.

    ``filled_c``: compound that was not there before, below ``from_s_mm``, comes in at this temperature [°C], as an
    injected increment does on top of what stands below a gap; None: nothing is filled. Raises ValueError likewise.
    """

    from_s: float
    until_s: float
    from_s_mm: float
    filled_c: float | None = None

    def __post_init__(self) -> None:
        _ends_after_it_begins(self.from_s, self.until_s)


Content = Source | Rod | Gap
"""What stands in the canal above a station for a while, in place of compound."""


def _ends_after_it_begins(from_s: float, until_s: float) -> None:
    if not 0 <= from_s < until_s:
        raise ValueError("what is in the canal leaves after it came")


@dataclass(frozen=True)
class Effort:
    """How fine mesh [mm] and steps [s] are; ``refine`` divides every one of them.

    Cells begin ``tip_mm`` long at the rim of each tip and grow by ``growth`` to ``across_mm`` across the root and
    ``longest_mm`` along it. Steps begin at ``first_s`` after each change and grow every ``per_level``. A moving tip
    goes in stops of at most ``stop_mm``, which ``refine`` does not divide.
    """

    refine: int = 2
    tip_mm: float = 0.04
    growth: float = 1.4
    across_mm: float = 0.3
    longest_mm: float = 0.6
    first_s: float = 0.08
    longest_s: float = 1.0
    per_level: int = 2
    stop_mm: float = 0.25

    def refined(self, refine: int) -> Effort:
        """The same with every cell and step divided into ``refine``."""
        return replace(self, refine=refine)

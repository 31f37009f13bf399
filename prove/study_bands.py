"""What no study of heat tells, as bands fixed before the first run and the same for all of them; 32 draws.

A plain root stands for every tooth: root length 13 mm (table of a dental anatomy textbook, upper central incisor),
canal widened evenly from the study's apical size to 0.65 mm at 5 mm (`canal_diameters.csv`, upper central incisor, mean
of 0.76 and 0.54), a wall as thick all along. Apex, working length and the canal's end are one point. Nothing melts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import qmc

from rootfill.heat import HELD, Material, Materials, Section, Surroundings, Tip

DRAWS = 32
ROOT_MM, AT_5_MM = 13.0, 0.65
SKIN_MM = 0.02
"""Of dentine, about a root in a bath or in air: the film acts on its outside."""
BLOCK_MM, LIGAMENT_MM = 10.0, 0.2
"""Bone out to where it is held at body temperature; thickness of the ligament, from memory."""
BODY_C = 37.0

TIP_C = (80.0, 250.0)
"""Tip, constant while heated. Set to 200 °C, tips reached 73 °C (in an insulating block) to 325 °C (in air)."""
RESISTANCE_M2K_W = (0.0, 1e-3)
COMPOUND_K = (0.604, 2.247)
"""W/m/K, four cones, Fan 2017; drawn evenly in its logarithm."""
COMPOUND_KG_M3 = (2160.0, 2860.0)
"""From the filler content of the same cones."""
DENTINE_K = (0.48, 0.58)
"""W/m/K, Lin 2010; upper end from memory."""
WALL_MM = (0.8, 2.0)
HEAT_S = (2.0, 10.0)
DEPTH_MM = (3.0, 5.0)
"""Of the tip above the canal's end where a study (or what could be read of it) does not give it; common practice."""
AIR_W_M2K, AIR_C = (5.0, 15.0), (20.0, 25.0)
WATER_W_M2K = (200.0, 1000.0)
"""Film of water about a root, from memory: free to gently stirred."""
INJECTED_C = (38.5, 103.9)
"""From the lowest mean in a canal (Weller & Koch 1994, 38.52 to 61.58) to the hottest extruded (Lottanti 2014)."""

COMPOUND_CP = 940.0
"""Miner 2006, J/kg/K."""
DENTINE_KG_M3, DENTINE_CP = 2140.0, 1302.0
"""From memory, as are ligament and bone."""
LIGAMENT = Material(0.5, 1050, 3700)
BONE = Material(0.55, 1908, 1313)

Band = tuple[float, float]


@dataclass(frozen=True)
class Way:
    """One way the unknown may be; ``depth``, ``film``, ``apical`` are shares (0 to 1) of a study's own band."""

    tip_c: float
    resistance_m2k_w: float
    compound: Material
    dentine: Material
    wall_mm: float
    heat_s: float
    depth: float
    film: float
    air_c: float
    apical: float
    injected_c: float

    @property
    def tip(self) -> Tip:
        """As hot from the first moment as it gets."""
        conducts = HELD if self.resistance_m2k_w == 0 else 1 / self.resistance_m2k_w
        return Tip(((0.0, self.tip_c), (HEAT_S[1], self.tip_c)), conducts)

    @property
    def depth_mm(self) -> float:
        """Of the tip, where the study does not give it."""
        return self.within(*DEPTH_MM)

    def within(self, low_mm: float, high_mm: float) -> float:
        """Depth of the tip where the study gives from where to where it was."""
        return _within((low_mm, high_mm), self.depth)

    def bare_root(self, apical_mm: Band) -> Section:
        """A root whose surface itself meets what lies about it."""
        parts = Materials(self.compound, self.dentine, self.dentine)
        canal, root = self._shape(apical_mm)
        return Section(ROOT_MM, canal, root, float(root[-1, 1]) / 2 + SKIN_MM, SKIN_MM, parts, wrap_mm=SKIN_MM)

    def root_in_bone(self, apical_mm: Band) -> Section:
        """A root with its ligament in bone."""
        parts = Materials(self.compound, self.dentine, BONE, LIGAMENT)
        return Section(ROOT_MM, *self._shape(apical_mm), BLOCK_MM, BLOCK_MM / 2, parts, LIGAMENT_MM)

    def in_air(self) -> Surroundings:
        """Everything at room temperature."""
        film = _within(AIR_W_M2K, self.film)
        return Surroundings(self.air_c, film, film)

    def in_water(self) -> Surroundings:
        """Everything at body temperature."""
        film = _within(WATER_W_M2K, self.film)
        return Surroundings(BODY_C, film, film)

    def _shape(self, apical_mm: Band) -> tuple[np.ndarray, np.ndarray]:
        end = _within(apical_mm, self.apical)
        canal = np.array([[0.0, end], [ROOT_MM, end + (AT_5_MM - end) / 5 * ROOT_MM]])
        return canal, canal + np.array([0.0, 2 * self.wall_mm])


def ways(seed: int) -> list[Way]:
    """The draws of a seed."""
    return [_way(row) for row in qmc.Sobol(12, seed=seed).random(DRAWS)]


def _way(shares: Sequence[float]) -> Way:
    tip, resists, k, heavy, dentine_k, wall, heat, depth, film, air, apical, injected = (float(x) for x in shares)
    compound_k = COMPOUND_K[0] * (COMPOUND_K[1] / COMPOUND_K[0]) ** k
    return Way(
        tip_c=_within(TIP_C, tip),
        resistance_m2k_w=_within(RESISTANCE_M2K_W, resists),
        compound=Material(compound_k, _within(COMPOUND_KG_M3, heavy), COMPOUND_CP),
        dentine=Material(_within(DENTINE_K, dentine_k), DENTINE_KG_M3, DENTINE_CP),
        wall_mm=_within(WALL_MM, wall),
        heat_s=_within(HEAT_S, heat),
        depth=depth,
        film=film,
        air_c=_within(AIR_C, air),
        apical=apical,
        injected_c=_within(INJECTED_C, injected),
    )


def _within(band: Band, share: float) -> float:
    return band[0] + (band[1] - band[0]) * share

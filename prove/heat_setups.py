"""Five published studies as runs of the solver: what they did, what they measured, and bands for what they do not say.

The bands were fixed before the first run and are the same for all; nothing is tuned to a study.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from rootfill.heat import Content, Gap, Material, Materials, Pace, Section, Source, Surroundings, Tip, Warming, stepwise
from rootfill.units import FloatArray

BODY_C = 37.0
UNKNOWNS = 9
Air = Callable[["Unknown"], Surroundings]


@dataclass(frozen=True)
class Unknown:
    """One draw of what the studies do not say."""

    tip_c: float
    contact_w_m2k: float
    compound_k: float
    compound_density: float
    dentine_k: float
    wall_mm: float
    act_s: float
    film_share: float
    share: float
    """For what only one study leaves open."""


BANDS: tuple[tuple[str, str], ...] = (
    ("real temperature of the tip", "80 to 250 °C, constant while heated"),
    ("contact of tip and compound", "0 to 0.001 m²K/W"),
    ("conductivity of the compound", "0.604 to 2.247 W/m/K (Fan 2017), by its logarithm"),
    ("density of the compound", "2160 to 2860 kg/m³; heat capacity 940 J/kg/K (Miner 2006)"),
    ("conductivity of dentine", "0.48 to 0.58 W/m/K; 2140 kg/m³ and 1302 J/kg/K from memory"),
    ("wall of dentine", "0.8 to 2.0 mm, the same all along"),
    ("seconds of heat", "2 to 10 s"),
    ("film of air about a bare root", "5 to 15 W/m²K at 20 to 25 °C, from memory"),
    ("film of water about a root in a bath", "200 to 1000 W/m²K at 37 °C, from memory"),
    ("temperature of injected compound as it lies in the canal", "38.5 to 61.6 °C (Weller and Koch 1994)"),
)


def unknown(shares: FloatArray) -> Unknown:
    """From nine shares between 0 and 1."""
    tip, contact, k, density, dentine, wall, act, film, more = (float(x) for x in shares)
    return Unknown(
        80 + 170 * tip,
        1 / max(1e-3 * contact, 1e-6),
        0.604 * (2.247 / 0.604) ** k,
        2160 + 700 * density,
        0.48 + 0.10 * dentine,
        0.8 + 1.2 * wall,
        2 + 8 * act,
        film,
        more,
    )


@dataclass(frozen=True)
class Measured:
    """A value a study reports, as a mean (SD) or a range, and how a run answers it; ``base`` is where a rise begins."""

    what: str
    reported: str
    value: float
    unit: str
    answer: Callable[[Warming], float]
    base: float = 0.0


@dataclass(frozen=True)
class Setup:
    """One act of one study; ``source`` says where its numbers were read."""

    study: str
    act: str
    source: str
    section: Callable[[Unknown], Section]
    around: Air
    contents: Callable[[Unknown], Sequence[Content]]
    measured: tuple[Measured, ...]
    watched_s: float = 60.0


def incisor(u: Unknown, apical_mm: float = 0.35, length_mm: float = 13.0) -> Section:
    """A straight root of 13 mm, its canal tapered by 0.06, bare."""
    canal = np.array([[0.0, apical_mm], [length_mm, apical_mm + 0.06 * length_mm]])
    root = canal + np.array([0.0, 2 * u.wall_mm])
    return Section(length_mm, canal, root, 0.0, 0.05, _materials(u), wrap_mm=0.05)


def in_bone(u: Unknown) -> Section:
    """The same with a ligament of 0.2 mm in 5 mm of bone (0.55 W/m/K, 1908 kg/m³, 1313 J/kg/K, from memory)."""
    bare = incisor(u, 0.30)
    bone, ligament = Material(0.55, 1908, 1313), Material(0.5, 1050, 3750)
    parts = Materials(bare.materials.compound, bare.materials.dentine, bone, ligament)
    radius = float(bare.root[:, 1].max()) / 2 + 5.2
    return Section(bare.length_mm, bare.canal, bare.root, radius, 5.0, parts, ligament_mm=0.2)


def in_air(u: Unknown) -> Surroundings:
    """Still air."""
    film = 5 + 10 * u.film_share
    return Surroundings(20 + 5 * u.film_share, film, film)


def in_bath(u: Unknown) -> Surroundings:
    """Water at body temperature."""
    film = 200 + 800 * u.film_share
    return Surroundings(BODY_C, film, film)


def in_body(_: Unknown) -> Surroundings:
    """Far away in the jaw, at body temperature."""
    return Surroundings(BODY_C)


def plunge(to_s_mm: float) -> Callable[[Unknown], Sequence[Content]]:
    """The tip stands at a station, then is gone."""

    def contents(u: Unknown) -> Sequence[Content]:
        hot = Source.still(to_s_mm, 0.0, u.act_s, u.tip_c, u.contact_w_m2k)
        return hot, Gap(u.act_s, u.act_s + 1.0, to_s_mm)

    return contents


def packed(*stations_mm: float) -> Callable[[Unknown], Sequence[Content]]:
    """Step by step, with a cold plugger (steel, 25 °C) for 5 s and 10 s until the next heat."""
    pace = Pace(5.0, 10.0, Material(14.9, 7900, 477), 25.0)

    def contents(u: Unknown) -> Sequence[Content]:
        tip = Tip(((u.act_s, u.tip_c),), u.contact_w_m2k)
        return stepwise(stations_mm, u.act_s, tip, pace)

    return contents


def injected(from_s_mm: float) -> Callable[[Unknown], Sequence[Content]]:
    """The empty canal filled to a station, at once, at the temperature at which the compound comes to lie there."""

    def contents(u: Unknown) -> Sequence[Content]:
        arrives = 38.5 + (61.6 - 38.5) * u.share
        return Gap(0.0, 0.5, 0.1), Gap(0.5, 5.0, from_s_mm, filled_c=arrives)

    return contents


def _materials(u: Unknown) -> Materials:
    dentine = Material(u.dentine_k, 2140, 1302)
    return Materials(Material(u.compound_k, u.compound_density, 940), dentine, dentine)

"""The ways a canal may be, as far as its heat is concerned: what is not known of wall, compound, bone and contact."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from rootfill import tables
from rootfill.heat import Draw, Material, Materials, Pace, Section, Surroundings, Tip
from rootfill.plan.frame import Frame
from rootfill.tooth.anatomy import diameters, thin_roots
from rootfill.tooth.notation import ToothNumber
from rootfill.tooth.wall import remaining_wall_mm
from rootfill.tray.model import HeatedTip
from rootfill.units import Z90, FloatArray

WAYS = 32
BODY_C = 37.0
_UNKNOWNS = 8
_SEED = 20
_STATIONS = 6
_BLOCK_MM = 5.0
"""How far the bone is computed beyond the root: heat does not come further within the minutes of a run."""
_LEAST_CONTACT = 1e-6

Wall = Callable[[float, FloatArray], FloatArray]
"""Dentine left about the canal [mm] at stations, by where it lies between its thin (0) and its thick (1) end."""


@dataclass(frozen=True, eq=False)
class Way:
    """One draw, and the temperatures [°C] at which its compound first changes and becomes mouldable."""

    draw: Draw
    softens_c: float
    mouldable_c: float


def ways(frame: Frame, tooth: ToothNumber, tip: Tip) -> list[Way]:
    """``WAYS`` draws, spread evenly over all that is not known. The same draw of two canals is the same tooth."""
    from scipy.stats import qmc  # a cold command that heats nothing does not wait for it

    drawn = qmc.Sobol(_UNKNOWNS, seed=_SEED).random(WAYS)
    return [_way(frame, tooth, tip, shares) for shares in drawn]


def middle_way(frame: Frame, tooth: ToothNumber, tip: Tip) -> Way:
    """The one with everything half-way."""
    return _way(frame, tooth, tip, np.full(_UNKNOWNS, 0.5))


def settings_of(tip: HeatedTip) -> tuple[float, ...]:
    """Settings [°C] at which the tip was measured, the lowest first."""
    return tuple(sorted({setting for setting, seconds, _ in tip.measured if seconds > 0}))


def as_measured(tip: HeatedTip, setting_c: float) -> Tip:
    """The tip at one setting; of several readings at one time the hottest, which is careful for the root."""
    rows = [(seconds, celsius) for setting, seconds, celsius in tip.measured if setting == setting_c and seconds >= 0]
    return Tip(tuple((at, max(c for s, c in rows if s == at)) for at in sorted({s for s, _ in rows})))


def pace() -> Pace:
    """How a step goes on after its heat."""
    push, wait = tables.rule("push_s").value, tables.rule("heat_wait_s").value
    return Pace(push, wait, material("steel", 0.5), tables.rule("plugger_c").value)


def material(layer: str, share: float) -> Material:
    """Dentine, bone, ligament or steel, its conductivity at a share between low and high."""
    row = next(r for r in tables.table("heat_layers") if r["layer"] == layer)
    low, high = (float(row[column] or row["k_w_mk"]) for column in ("k_low_w_mk", "k_high_w_mk"))
    return Material(low + share * (high - low), float(row["density_kg_m3"]), float(row["cp_j_kgk"]))


def wall_of(frame: Frame, tooth: ToothNumber) -> tuple[Wall, str]:
    """The dentine about a canal from its thin to its thick end, and in words where it comes from.

    As entered, give or take its reading; else of the tables from their thin end to their mean, less what shaping
    took; else the thin end of thin roots.
    """
    entered = frame.canal.wall
    if entered is not None:
        reading = tables.rule("wall_reading_mm").value
        return (lambda x, s: entered.at(s) + (2 * x - 1) * reading), f"wall as entered, {reading:g} mm either way"
    thin = thin_roots(tooth, frame.name)
    if thin is not None and thin.mean_mm is not None:
        low, mean = thin.low_mm or thin.mean_mm - Z90 * (thin.sd_mm or 0.0), thin.mean_mm
        taken = _taken_by_shaping(frame, tooth)
        return (
            lambda x, s: low + x * (mean - low) - taken(s)
        ), f"wall from tables, {low:.1f} to {mean:.1f} mm before shaping"
    rule = tables.rule("unknown_wall_mm")
    low, high = rule.low or rule.value, rule.high or rule.value
    return (lambda x, s: np.full_like(s, low + x * (high - low))), f"wall not known, {low:g} to {high:g} mm taken"


def _taken_by_shaping(frame: Frame, tooth: ToothNumber) -> Callable[[FloatArray], FloatArray]:
    natural = diameters(tooth, frame.name)
    if not natural:
        return np.zeros_like
    levels, _, width = zip(*natural, strict=True)

    def taken(s_mm: FloatArray) -> FloatArray:
        before = np.interp(s_mm, levels, width)
        return -remaining_wall_mm(np.zeros_like(s_mm), before, frame.canal.profile.narrow_at(s_mm))

    return taken


def _way(frame: Frame, tooth: ToothNumber, tip: Tip, shares: FloatArray) -> Way:
    k, cp, density, dentine, wall, bone, contact, changes = (float(x) for x in shares)
    parts = Materials(
        _compound(k, cp, density), material("dentine", dentine), material("bone", bone), material("ligament", 0.5)
    )
    resistance = tables.rule("contact_resistance_m2k_w").high or 0.0
    touching = Tip(tip.measured, 1 / max(contact * resistance, _LEAST_CONTACT))
    draw = Draw(_section(frame, tooth, wall, parts), Surroundings(BODY_C), touching)
    return Way(draw, _between("softens_c", changes), _between("mouldable_c", changes))


def _section(frame: Frame, tooth: ToothNumber, wall: float, parts: Materials) -> Section:
    """The canal round with its own area, the root round with the thin wall all about: the careful end."""
    profile, length = frame.canal.profile, frame.canal.length_mm
    s = np.linspace(0.0, length, _STATIONS)
    canal = np.sqrt(profile.narrow_at(s) * profile.wide_at(s))
    left = np.maximum(wall_of(frame, tooth)[0](wall, s), tables.rule("wall_floor_mm").value)
    root = canal + 2 * left
    ligament = tables.rule("ligament_mm").value
    beyond = float(root.max()) / 2 + ligament + _BLOCK_MM
    return Section(length, _rows(s, canal), _rows(s, root), beyond, _BLOCK_MM, parts, ligament)


def _rows(s_mm: FloatArray, diameter_mm: FloatArray) -> FloatArray:
    return np.column_stack((s_mm, diameter_mm))


def _compound(k: float, cp: float, density: float) -> Material:
    row = next(r for r in tables.table("heat_layers") if r["layer"] == "compound")
    low, high = float(row["k_low_w_mk"]), float(row["k_high_w_mk"])
    return Material(
        low * (high / low) ** k, _between("compound_density_kg_m3", density), _between("compound_cp_j_kgk", cp)
    )


def _between(key: str, share: float) -> float:
    rule = tables.rule(key)
    low, high = rule.low or 0.0, rule.high or rule.value
    return low + share * (high - low)

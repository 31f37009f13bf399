"""The bare heat run: a section file in, how warm its root gets out."""

from __future__ import annotations

import json
import time
from collections.abc import Mapping
from dataclasses import asdict, dataclass

import numpy as np

from rootfill import heat, tables
from rootfill.clinic.casefile import parse
from rootfill.clinic.heat_file import HeatFile, heat_adapter, layer, section_of, sources_of
from rootfill.errors import InputRefused, Said
from rootfill.heat import Effort, Surroundings, Warming
from rootfill.units import FloatArray

AHEAD_MM = (1, 2, 3)
LARGEST_BAND = 2_000_000
"""Numbers in one factorised matrix: 16 MB, some fifty of them at once."""


@dataclass(frozen=True)
class HeatResult:
    """How warm the root's surface got, and the filling ahead of the deepest tip; temperatures ± ``error_c``."""

    surface_rise_c: float
    at_s_mm: float
    at_time_s: float
    ahead_c: Mapping[str, float | None]
    softened_ahead_mm: Mapping[str, float]
    cem43_min: float | None
    energy_error: float
    error_c: float
    wall_s: float
    cautions: tuple[str, ...]


def heat_section(text: str) -> HeatResult:
    """Run a section file, and once more twice as coarse for the error. Raises InputRefused."""
    started = time.perf_counter()
    entered = parse(heat_adapter(), text, "the section file")
    section, there, sources = section_of(entered), Surroundings(entered.surroundings.temperature_c), sources_of(entered)
    fine, coarse = Effort(), Effort().refined(1)
    if heat.band_size(section, sources, entered.run.seconds, fine) > LARGEST_BAND:
        raise InputRefused("section", Said("too large to compute in memory"), "fewer stations or tips, a smaller block")
    found, rough = (heat.warm(section, there, sources, entered.run.seconds, effort) for effort in (fine, coarse))
    tip = min(s.tip_s_mm for s in entered.source)
    error = float(np.abs(_temperatures(found, tip) - _temperatures(rough, tip)).max())
    return _result(entered, found, tip, error, time.perf_counter() - started)


def heat_json(result: HeatResult) -> str:
    """The result as JSON."""
    return json.dumps(asdict(result), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _temperatures(found: Warming, tip: float) -> FloatArray:
    """Everything in the result that is a temperature."""
    ahead = [found.axis_peak_c(tip - far) for far in AHEAD_MM]
    return np.array([found.surface_peak().rise_c, *(x for x in ahead if x is not None)])


def _result(entered: HeatFile, found: Warming, tip: float, error: float, wall_s: float) -> HeatResult:
    peak, dose = found.surface_peak(), float(heat.cem43_min(found.times_s, found.surface_c).max())
    soft, mouldable = tables.rule("softens_c"), tables.rule("mouldable_c")
    thresholds = (soft.value, mouldable.value, mouldable.high or mouldable.value)
    return HeatResult(
        round(peak.rise_c, 6),
        round(peak.s_mm, 6),
        round(peak.time_s, 6),
        {str(far): _rounded(found.axis_peak_c(tip - far)) for far in AHEAD_MM},
        {f"{x:g}": round(found.softened_ahead_mm(tip, x), 6) for x in thresholds},
        None if np.isnan(dose) else round(dose, 6),
        found.energy_error,
        round(error, 6),
        round(wall_s, 6),
        _cautions(entered, peak.rise_c, np.isnan(dose)),
    )


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 6)


def _cautions(entered: HeatFile, rise_c: float, no_dose: bool) -> tuple[str, ...]:
    limit, compound = tables.rule("surface_rise_limit_c").value, layer("compound")
    low, high = float(compound["k_low_w_mk"]), float(compound["k_high_w_mk"])
    said = [
        "The error is that of mesh and steps alone: it does not hold what is unknown of tip, contact and materials; "
        f"four cones conducted {low:.1f} to {high:.2f} W/m/K."
    ]
    if any(s.contact_w_m2k is None for s in entered.source):
        said.append(
            "A tip in perfect contact at its setting overheats every published root: enter the temperature that "
            "your tip really reaches, and contact_w_m2k where you know it."
        )
    if rise_c > limit:
        said.append(f"The root's surface is warmed by more than {limit:g} °C: heat for less time or less hot.")
    if no_dose:
        valid = tables.rule("cem43_valid_c").value
        said.append(f"The root's surface passes {valid:g} °C: equivalent minutes at 43 °C say nothing there.")
    if entered.section.ligament_mm and entered.materials.ligament is None:
        said.append("The ligament's properties are assumed, those of soft tissue from memory: nobody measured them.")
    return tuple(said)

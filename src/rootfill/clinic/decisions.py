"""What the hand sets in one canal, thing by thing, in the words of the tray card."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rootfill.clinic.card_rows import CONE, HEAT, ROLES
from rootfill.drawing.stops import working_stop_mm
from rootfill.plan.model import CanalPlan, ConeChoice, DownpackStep, Increment, InstrumentFit
from rootfill.tray.names import called
from rootfill.units import entered_mm


@dataclass(frozen=True)
class Decision:
    """One thing that is set. ``slot`` is its place in the plan, ``name`` what takes that place where that can change.

    ``what`` names it where the name stays, and ``value`` is what it is set to. What belongs to something else, its
    slot in ``part_of``, is not worth a word where that comes or goes.
    """

    slot: str
    what: str
    value: str
    name: str = ""
    part_of: str | None = None


def decisions(canal: CanalPlan) -> Iterator[Decision]:
    """Everything that is set in this canal; without packing numbers only reference and end."""
    yield _plain("reference", canal.reference)
    yield _plain("end, set by you", entered_mm(canal.working_length_mm))
    if canal.cone is not None:
        yield from _cone(canal.cone)
    chosen = {p.role: p for p in canal.pluggers}
    yield from (_plugger(canal, chosen[role]) for role in ROLES if role in chosen)
    yield from (_heat(step) for step in canal.downpack if step.heat_set_stop_mm is not None)
    yield from (_plain(HEAT, seconds) for seconds in dict.fromkeys(_seconds(step) for step in canal.downpack))
    for number, increment in enumerate(canal.increments, 1):
        yield from _increment(number, increment)
    if canal.fill_level_mm is not None:
        yield _plain("fill to", f"{canal.fill_level_mm:.1f}")


def _plain(what: str, value: str, part_of: str | None = None) -> Decision:
    return Decision(what, what, value, part_of=part_of)


def _cone(cone: ConeChoice) -> Iterator[Decision]:
    yield _plain("cone", cone.name)
    yield _plain("cone's tip", _tip(cone), "cone")
    yield _plain(CONE, f"{cone.cone_set_mm:.1f}", "cone")


def _tip(cone: ConeChoice) -> str:
    if cone.trim_to == cone.size:
        return f"{cone.trim_to}, not trimmed"
    if cone.trim_by == "gauge":
        return f"trimmed to {cone.trim_to}, by gauge"
    return f"trimmed to {cone.trim_to}, {cone.trim_mm.value:.1f} mm off, by {cone.trim_by}"


def _plugger(canal: CanalPlan, plugger: InstrumentFit) -> Decision:
    stop = f"{working_stop_mm(canal, plugger):.1f}"
    return Decision(f"{plugger.role} plugger", f"{called(plugger.name, 'plugger')}, stop", stop, plugger.name)


def _heat(step: DownpackStep) -> Decision:
    tip = called(step.heated_tip or "", "heated tip")
    return Decision(f"step {step.step} with", f"{tip}, step {step.step}, stop", f"{step.heat_set_stop_mm:.1f}", tip)


def _seconds(step: DownpackStep) -> str:
    if step.heat_s is None:
        return step.heat_says
    return f"{step.heat_s:g} at {step.heat_setting_c:g} °C, stop by {step.stop_by_s:g}"


def _increment(number: int, increment: Increment) -> Iterator[Decision]:
    place = f"increment {number}"
    yield _plain(f"{place}, length", f"{increment.length_mm:.1f}")
    if increment.needle is not None and increment.needle_set_stop_mm is not None:
        needle, stop = called(increment.needle, "needle"), f"{increment.needle_set_stop_mm:.1f}"
        yield Decision(f"{place} with", f"{place}, {needle}, stop", stop, needle, f"{place}, length")

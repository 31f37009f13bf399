"""Packing from the orifice down: where heat and pluggers stop at each step, and what stays a cold cone."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from rootfill import tables
from rootfill.plan.frame import Frame
from rootfill.plan.instruments import Instruments, heat_end_mm
from rootfill.plan.model import ConeChoice, DownpackStep, InstrumentFit
from rootfill.units import Estimate, down_to_half


@dataclass(frozen=True)
class Downpack:
    """The steps, where the packed compound ends, and the part of the cone heat does not reach."""

    steps: tuple[DownpackStep, ...]
    packed_top_mm: float
    because: str
    source: str
    cold: Estimate | None
    cold_advice: tuple[str, ...]
    cautions: tuple[str, ...]


def plan_downpack(
    frame: Frame, technique: str, instruments: Instruments, cone: ConeChoice | None, fill_level_mm: float
) -> Downpack:
    """Down-pack for the canal's technique; ``fill_level_mm`` is the shallowest the packed top may lie."""
    if technique == "injected_only":
        return _injected_only(frame, fill_level_mm)
    heat, apical = instruments.with_role("heat"), instruments.with_role("apical")
    top = _packed_top(frame, heat, apical, fill_level_mm)
    cautions = tuple(_cautions(frame, heat, apical, top, fill_level_mm))
    deepest = _deepest_heat(frame, heat, top.mm)
    levels = _levels(frame, technique, deepest)
    steps = tuple(_step(k, level, k == len(levels), top.mm, heat, instruments) for k, level in enumerate(levels, 1))
    cold = _cold(frame, cone, deepest)
    advice = tuple(_cold_advice(frame, cone, heat, deepest, cold)) if cold is not None else ()
    return Downpack(steps, top.mm, top.because, top.source, cold, advice, cautions)


class _Top(NamedTuple):
    """Depth of the compound after the last push, why, and by which source."""

    mm: float
    because: str
    source: str


def _injected_only(frame: Frame, fill_level_mm: float) -> Downpack:
    """Nothing is packed: injection starts on the plug whose top was entered, or at the chosen end."""
    asked = frame.entry.pack_to_mm
    if asked is not None:
        top = _asked(asked, fill_level_mm)
        return Downpack((), top.mm, f"top of the plug, {top.because}", top.source, None, (), ())
    caution = (
        "Injected only, and no plug is entered: nothing stops the first increment at the end. "
        "Place a plug and enter its top as pack_to_mm."
    )
    end = frame.depth(frame.own_end_s_mm)
    return Downpack((), end, "the chosen end: no plug entered", "case", None, (), (caution,))


def _asked(asked: float, fill_level_mm: float) -> _Top:
    if asked < fill_level_mm:
        return _Top(fill_level_mm, "the fill level: pack_to_mm lies above it", "practice")
    return _Top(asked, "set by you", "case")


def _packed_top(frame: Frame, heat: InstrumentFit | None, apical: InstrumentFit | None, fill_level_mm: float) -> _Top:
    """What the clinician asked for, else the apical plugger's stop; never deeper than the planned end of heat
    nor than heat softens ahead of its tip, never above the fill level."""
    if frame.entry.pack_to_mm is not None:
        return _asked(frame.entry.pack_to_mm, fill_level_mm)
    limits = [_Top(heat_end_mm(frame), "the planned end of heat", "practice")]
    if apical is not None:
        limits.append(_Top(apical.set_stop_mm, f"the stop of plugger {apical.name}", "fit.reach"))
    if heat is not None:
        ahead = softened_ahead()
        limits.append(_Top(heat.set_stop_mm + ahead.low, "what the heated tip softens ahead", ahead.source))
    top = min(limits)
    return top if top.mm > fill_level_mm else _Top(fill_level_mm, "the fill level", "practice")


def _cautions(
    frame: Frame, heat: InstrumentFit | None, apical: InstrumentFit | None, top: _Top, fill_level_mm: float
) -> Iterator[str]:
    asked, stop = frame.entry.pack_to_mm, None if apical is None else apical.set_stop_mm
    if heat is None:
        yield "No heated tip of the tray enters this canal: it cannot be packed warm as planned."
    if asked is not None and asked < fill_level_mm:
        yield f"pack_to_mm {asked:g} lies above the fill level {fill_level_mm:.1f} mm: take the filling down to there."
    elif stop is not None and stop < top.mm and (asked is not None or top.because == "the fill level"):
        deepest = f"The deepest plugger stop is {stop:.1f} mm"
        yield f"{deepest}, above the packed top {top.mm:.1f} mm: check it is packed down to there."
    elif stop is None and asked is not None:
        yield f"Packed top {asked:g} mm is set by you; no plugger of the tray works in this canal."


def _deepest_heat(frame: Frame, heat: InstrumentFit | None, top: float) -> float | None:
    """Deepest stop of the heated tip: its own, but not past the planned end of heat nor above the orifice."""
    if heat is None:
        return None
    asked = frame.entry.pack_to_mm
    wanted = down_to_half(top if asked is not None else max(top, heat_end_mm(frame)))
    return max(min(heat.set_stop_mm, wanted), frame.orifice_at_mm)


def _levels(frame: Frame, technique: str, deepest: float | None) -> list[float]:
    """Depths of the heated tip, step by step: 3 to 4 mm each when stepwise, one run when a single wave."""
    if deepest is None or deepest - frame.orifice_at_mm < 0.5:
        return []
    if technique == "single_wave":
        return [deepest]
    longest = tables.rule("downpack_step_mm").high or 4.0
    travel = deepest - frame.orifice_at_mm
    count = math.ceil(travel / longest - 1e-9)
    inner = [down_to_half(frame.orifice_at_mm + travel * k / count) for k in range(1, count)]
    return [*inner, deepest]


def _step(
    k: int, level: float, last: bool, top: float, heat: InstrumentFit | None, instruments: Instruments
) -> DownpackStep:
    plugger = _plugger_for(top if last else level, last, instruments)
    return DownpackStep(
        step=k,
        heated_tip=None if heat is None else heat.name,
        heat_set_stop_mm=level,
        plugger=None if plugger is None else plugger.name,
        plugger_set_stop_mm=None if plugger is None else min(plugger.set_stop_mm, down_to_half(top if last else level)),
        push_s=tables.rule("push_s").value,
        softened_ahead_mm=softened_ahead(),
    )


def softened_ahead() -> Estimate:
    """How far ahead of its tip heat softens the compound: measured range, until it is computed for the tip."""
    ahead = tables.rule("softened_ahead_mm")
    low, high = ahead.low or ahead.value, ahead.high or ahead.value
    return Estimate(ahead.value, low, high, "mm", "measured range; not computed for this tip", ahead.source)


def _plugger_for(level: float, last: bool, instruments: Instruments) -> InstrumentFit | None:
    """The apical plugger for the last push; else the widest chosen one whose stop allows this level."""
    chosen = [p for role in ("coronal", "middle", "apical") if (p := instruments.with_role(role)) is not None]
    if last:
        return instruments.with_role("apical") or (chosen[-1] if chosen else None)
    return next((p for p in chosen if p.set_stop_mm >= level), chosen[-1] if chosen else None)


def _cold(frame: Frame, cone: ConeChoice | None, deepest: float | None) -> Estimate | None:
    """Length of the cone that stays below softening: cone tip − deepest heat − what it softens ahead."""
    if cone is None:
        return None
    ahead = softened_ahead()
    from_mm = frame.orifice_at_mm if deepest is None else deepest
    low = cone.cone_to_mm.low - from_mm - ahead.high
    high = cone.cone_to_mm.high - from_mm - ahead.low
    value = cone.cone_to_mm.value - from_mm - ahead.value
    low, value, high = (max(x, 0.0) for x in (low, value, high))
    return Estimate(
        value,
        low,
        high,
        "mm",
        "spread of the cone's tip, and 2 to 3 mm softened ahead of the tip",
        ahead.source,
    )


def _cold_advice(
    frame: Frame, cone: ConeChoice | None, heat: InstrumentFit | None, deepest: float | None, cold: Estimate
) -> Iterator[str]:
    """Which depth or which instrument would shorten the cold part."""
    if cone is None or cold.high <= 0:
        return
    ahead = softened_ahead().low
    needed = down_to_half(cone.cone_to_mm.value - ahead + 0.499)
    closest = frame.entry.working_length_mm - needed
    if heat is None or deepest is None:
        yield f"No heated tip of the tray enters: one stopped at {needed:.1f} mm would soften the cone to its end."
        return
    if needed <= deepest:
        return
    text = f"A heated tip stopped at {needed:.1f} mm ({needed - deepest:.1f} mm deeper) would leave no cold part"
    if heat.set_stop_mm >= needed:
        yield f"{text}; {heat.name} can go there."
    else:
        width = float(frame.canal.profile.narrow_at(frame.station(needed)))
        yield f"{text}; {heat.name} stops at {heat.set_stop_mm:.1f} mm, so it takes a tip thinner than {width:.2f} mm."
    end = "the end" if frame.entry.joins is None else "the chosen end, past what was planned for the join"
    yield (
        f"That is {closest:.1f} mm from {end}: heat and the push then reach further; "
        "not planned without your decision (pack_to_mm)."
    )

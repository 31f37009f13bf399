"""Packing from the orifice down: where heat and pluggers stop at each step, and what stays a cold cone."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from rootfill import tables
from rootfill.plan.frame import Frame
from rootfill.plan.heat import Heated
from rootfill.plan.instruments import WOULD_DO_STEP_MM, Instruments, fit_one, floors, heat_end_mm
from rootfill.plan.model import ConeChoice, DownpackStep, InstrumentFit
from rootfill.plan.reaches import may_stop_at
from rootfill.plan.settings import Settings
from rootfill.units import Estimate, down_to_half, up_to_half


@dataclass(frozen=True)
class Downpack:
    """The steps, and the part of the cone heat does not reach."""

    steps: tuple[DownpackStep, ...]
    cold: Estimate | None
    cold_advice: tuple[str, ...]
    cautions: tuple[str, ...]


def heat_levels(frame: Frame, instruments: Instruments, top: PackedTop) -> tuple[float, ...]:
    """Depths of the heated tip, step by step; none where nothing is heated."""
    deepest = _deepest(frame, instruments, top)
    return () if deepest is None or frame.entry.technique == "injected_only" else tuple(_levels(frame, deepest))


def _deepest(frame: Frame, instruments: Instruments, top: PackedTop) -> float | None:
    heat, apical = instruments.with_role("heat"), instruments.with_role("apical")
    reached = top.mm if apical is None else min(top.mm, apical.set_stop_mm)
    return None if heat is None else max(min(heat.set_stop_mm, down_to_half(reached)), frame.orifice_at_mm)


def plan_downpack(
    frame: Frame,
    settings: Settings,
    instruments: Instruments,
    cone: ConeChoice | None,
    top: PackedTop,
    level_mm: float,
    heated: Heated,
) -> Downpack:
    """Down-pack for the canal's technique, down to the packed top; ``level_mm`` is the fill level."""
    if frame.entry.technique == "injected_only":
        return Downpack((), None, (), tuple(_plug_cautions(frame)))
    heat, apical = instruments.with_role("heat"), instruments.with_role("apical")
    steps = tuple(_step(k, top.mm, instruments, heated) for k in range(len(heated.levels_mm)))
    deepest = next(reversed(heated.levels_mm), _deepest(frame, instruments, top))
    ahead = softened_ahead(heated)
    cold = None if cone is None else _cold(frame, cone, deepest, ahead)
    advice: tuple[str, ...] = ()
    if cone is not None and cold is not None and deepest is not None and cold.value > 0:
        advice = tuple(_cold_advice(frame, settings, cone, instruments, deepest, ahead))
    return Downpack(steps, cold, advice, tuple(_cautions(frame, heat, apical, top, level_mm)))


class PackedTop(NamedTuple):
    """Depth of the compound after the last push, why, and by which source."""

    mm: float
    because: str
    source: str


def packed_top(
    frame: Frame, instruments: Instruments, cone: ConeChoice | None, fill_level_mm: float, ahead: Estimate
) -> PackedTop:
    """Where packing ends: what the clinician asked for, else the apical plugger's stop.

    Never deeper than the planned end of heat, the tip of the cone, nor what heat softens ``ahead`` of its tip; never
    above the fill level.
    Injected only: the top of the plug, or the chosen end where no plug was entered.
    """
    asked = frame.entry.pack_to_mm
    if asked is not None:
        return _asked(asked, fill_level_mm)
    if frame.entry.technique == "injected_only":
        return PackedTop(frame.depth(frame.own_end_s_mm), "the chosen end: no plug entered", "case")
    heat, apical = instruments.with_role("heat"), instruments.with_role("apical")
    limits = [PackedTop(heat_end_mm(frame), "the planned end of heat", "practice")]
    limits += [PackedTop(down_to_half(depth), f"stays above {what}", "case") for depth, what in floors(frame)]
    if cone is not None:
        limits.append(PackedTop(down_to_half(cone.cone_to_mm.value), "the tip of the cone", "fit.seat"))
    if apical is not None:
        limits.append(PackedTop(apical.set_stop_mm, f"the stop of plugger {apical.name}", "fit.reach"))
    if heat is not None:
        limits.append(PackedTop(heat.set_stop_mm + ahead.low, "what the heated tip softens ahead", ahead.source))
    top = min(limits)
    return top if top.mm > fill_level_mm else PackedTop(fill_level_mm, "the fill level", "practice")


def _plug_cautions(frame: Frame) -> Iterator[str]:
    if frame.entry.pack_to_mm is None:
        yield (
            "Injected only, and no plug is entered: nothing stops the first increment at the end. "
            "Place a plug and enter its top as pack_to_mm."
        )
    else:
        yield "The plug must be set hard before anything is injected on it; take a film after the first increment."


def _asked(asked: float, fill_level_mm: float) -> PackedTop:
    if asked < fill_level_mm:
        return PackedTop(fill_level_mm, "the fill level: pack_to_mm lies above it", "practice")
    return PackedTop(asked, "set by you", "case")


def _cautions(
    frame: Frame, heat: InstrumentFit | None, apical: InstrumentFit | None, top: PackedTop, fill_level_mm: float
) -> Iterator[str]:
    asked, stop = frame.entry.pack_to_mm, None if apical is None else apical.set_stop_mm
    if heat is None:
        yield "No heated tip of the tray enters this canal: it cannot be packed warm as planned."
    if fill_level_mm >= frame.depth(frame.own_end_s_mm) - 0.5:
        yield f"The fill level {fill_level_mm:.1f} mm lies at the end of the canal: nothing would be filled."
    if asked is not None and asked < fill_level_mm:
        yield f"pack_to_mm {asked:g} lies above the fill level {fill_level_mm:.1f} mm: take the filling down to there."
    elif stop is not None and stop < top.mm and (asked is not None or top.because == "the fill level"):
        deepest = f"The deepest plugger stop is {stop:.1f} mm"
        yield f"{deepest}, above the packed top {top.mm:.1f} mm: check it is packed down to there."
    for depth, what in floors(frame):
        if top.mm > depth:
            yield f"The packed top {top.mm:.1f} mm lies past {what} at {depth:.1f} mm: agree first what stays."


def _levels(frame: Frame, deepest: float | None) -> list[float]:
    """Depths of the heated tip, step by step: 3 to 4 mm each when stepwise, one run when a single wave."""
    if deepest is None or deepest - frame.orifice_at_mm < 0.5:
        return []
    if frame.entry.technique == "single_wave":
        return [deepest]
    longest = tables.rule("downpack_step_mm").high or 4.0
    travel = deepest - frame.orifice_at_mm
    count = math.ceil(travel / longest - 1e-9)
    inner = [down_to_half(frame.orifice_at_mm + travel * k / count) for k in range(1, count)]
    return [*inner, deepest]


def _step(k: int, top: float, instruments: Instruments, heated: Heated) -> DownpackStep:
    level, last = heated.levels_mm[k], k == len(heated.levels_mm) - 1
    heat, plugger = instruments.with_role("heat"), _plugger_for(top if last else level, last, instruments)
    step = heated.steps[k] if heated.steps else None
    lowest = down_to_half(min(top, level + softened_ahead(heated, k).low))
    return DownpackStep(
        step=k + 1,
        heated_tip=None if heat is None else heat.name,
        heat_set_stop_mm=level,
        plugger=None if plugger is None else plugger.name,
        plugger_set_stop_mm=None if plugger is None else min(plugger.set_stop_mm, lowest),
        push_s=tables.rule("push_s").value,
        softened_ahead_mm=softened_ahead() if step is None else step.softened,
        heat_setting_c=heated.setting_c,
        heat_s=heated.heat_s,
        stop_by_s=heated.stop_by_s,
        wait_s=heated.wait_s,
        surface_rise_c=None if step is None else step.rise,
        mouldable_ahead_mm=None if step is None else step.mouldable,
        heat_says=heated.says,
    )


def softened_ahead(heated: Heated | None = None, step: int = -1) -> Estimate:
    """How far ahead of its tip heat makes the compound mouldable at a step; a measured range where not computed."""
    if heated is not None and heated.steps:
        return heated.steps[step].mouldable
    ahead = tables.rule("softened_ahead_mm")
    low, high = ahead.low or ahead.value, ahead.high or ahead.value
    return Estimate(ahead.value, low, high, "mm", "measured range; not computed for this tip", ahead.source)


def _plugger_for(level: float, last: bool, instruments: Instruments) -> InstrumentFit | None:
    """The apical plugger for the last push; else the widest chosen one whose stop allows this level."""
    chosen = [p for role in ("coronal", "middle", "apical") if (p := instruments.with_role(role)) is not None]
    if last:
        return instruments.with_role("apical") or (chosen[-1] if chosen else None)
    return next((p for p in chosen if p.set_stop_mm >= level), chosen[-1] if chosen else None)


def _cold(frame: Frame, cone: ConeChoice, deepest: float | None, ahead: Estimate) -> Estimate:
    """Length of the cone that stays below softening: cone tip − deepest heat − what it softens ``ahead``.

    Without a heated tip the whole cone below the orifice.
    """
    if deepest is None:
        whole = cone.cone_to_mm.shifted(1, -frame.orifice_at_mm)
        return dataclasses.replace(whole, low=max(whole.low, 0.0))
    tip = cone.cone_to_mm
    low, value, high = (
        max(depth - deepest - softened, 0.0)
        for depth, softened in ((tip.low, ahead.high), (tip.value, ahead.value), (tip.high, ahead.low))
    )
    because = f"spread of the cone's tip, and {ahead.low:.1f} to {ahead.high:.1f} mm softened ahead of the heated tip"
    return Estimate(value, low, high, "mm", because, ahead.source)


def _cold_advice(
    frame: Frame, settings: Settings, cone: ConeChoice, instruments: Instruments, deepest: float, ahead: Estimate
) -> Iterator[str]:
    """Which depth and which instruments would leave no cold part; nothing where that lies past a join or a split."""
    heat, tip = instruments.with_role("heat"), cone.cone_to_mm.value
    needed = min(up_to_half(tip - ahead.value), down_to_half(frame.entry.working_length_mm))
    if heat is None or needed <= deepest or needed > min(depth for depth, _ in floors(frame)):
        return
    if frame.entry.working_length_mm - needed < tables.rule("heat_closest_mm").value:
        yield from _shorter_cold(frame, tip, deepest, ahead)
        return
    yield f"A heated tip at {needed:.1f} mm, {needed - deepest:.1f} mm deeper, would leave no cold part."
    yield _who_reaches("heated tip", needed, instruments.heated_tips, _would_reach(frame, settings, heat, needed))
    yield _who_reaches("plugger", needed, instruments.pluggers, None)
    yield (
        f"That is {frame.entry.working_length_mm - needed:.1f} mm from the end: heat and push then come closer to it; "
        "not planned without your decision (pack_to_mm)."
    )


def _shorter_cold(frame: Frame, tip: float, deepest: float, ahead: Estimate) -> Iterator[str]:
    """Where no depth that may be spoken of leaves no cold part: what is left at the deepest that is taught."""
    short = tables.rule("heat_end_short_mm").low or 0.0
    closest = down_to_half(frame.entry.working_length_mm - short)
    if closest > deepest:
        left = max(tip - closest - ahead.value, 0.0)
        yield f"Even a heated tip at {closest:.1f} mm, {short:g} mm from the end, would leave {left:.1f} mm cold."
    yield "A tip that gets hotter, as you measure it, softens further ahead; the root's surface decides for how long."


def _who_reaches(what: str, needed: float, tray: Sequence[InstrumentFit], other: float | None) -> str:
    able = [i for i in tray if i.set_stop_mm >= needed]
    if able:
        widest = max(able, key=lambda i: i.tip_mm)
        name = widest.name if widest.name.endswith("tip") else f"{what} {widest.name}"
        return f"On the tray, {name} goes there."
    return f"No {what} of the tray goes there" + (f"; a tip of {other:.2f} mm would." if other is not None else ".")


def _would_reach(frame: Frame, settings: Settings, heat: InstrumentFit, needed: float) -> float | None:
    """The widest tip, in steps of 0.05 mm and of the same taper, whose stop would reach this depth."""
    like = next(t for t in settings.tray.heated_tips if t.name == heat.name)
    for steps in range(int(like.tip_mm / WOULD_DO_STEP_MM), 4, -1):
        thinner = dataclasses.replace(like, name="thinner", tip_mm=round(steps * WOULD_DO_STEP_MM, 2))
        fit = fit_one(frame, settings, thinner) if may_stop_at(frame, settings, thinner, needed) else None
        if fit is not None and fit.set_stop_mm >= needed:
            return thinner.tip_mm
    return None

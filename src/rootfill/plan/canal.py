"""One canal: what is known of it before its heat, and its whole plan once that is computed."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rootfill import tables
from rootfill.plan.backfill import fill_level_mm, plan_backfill, volume
from rootfill.plan.cautions import canal_cautions
from rootfill.plan.cone import choose_cone
from rootfill.plan.downpack import PackedTop, heat_levels, packed_top, plan_downpack, softened_ahead
from rootfill.plan.frame import Frame, section_of
from rootfill.plan.heat import Heated
from rootfill.plan.instruments import Instruments, fit_instruments, with_delivery, with_plugger_reaching
from rootfill.plan.model import CanalPlan, ConeChoice, Exit
from rootfill.plan.order import join_cautions
from rootfill.plan.settings import Settings
from rootfill.tooth.notation import ToothNumber
from rootfill.units import Z90, Estimate


@dataclass(frozen=True, eq=False)
class Begun:
    """A canal with everything that is known before its heat."""

    frame: Frame
    cone: ConeChoice | None
    instruments: Instruments
    level_mm: float
    levels_mm: tuple[float, ...]


def begin(frame: Frame, settings: Settings) -> Begun:
    """Cone, instruments and the depths of heat."""
    cone = None if frame.entry.technique == "injected_only" else choose_cone(frame, settings)
    instruments = fit_instruments(frame, settings)
    level = fill_level_mm(frame, settings)
    top = packed_top(frame, instruments, cone, level, softened_ahead())
    reaching = with_plugger_reaching(frame, settings, instruments, top.mm)
    return Begun(frame, cone, instruments, level, heat_levels(frame, reaching, top))


def bare_canal(frame: Frame, settings: Settings, leaving: Exit | None) -> CanalPlan:
    """The canal without packing numbers; all there is of one with an exit."""
    entry = frame.entry
    return CanalPlan(
        name=frame.name,
        reference=entry.reference,
        working_length_mm=entry.working_length_mm,
        made_end_mm=frame.made_end_mm,
        orifice_at_mm=frame.orifice_at_mm,
        ends_in=None if entry.joins is None else entry.joins.canal,
        splits_at_mm=None if entry.splits is None else frame.depth(entry.splits.at_mm),
        technique=entry.technique or "stepwise",
        technique_assumed=entry.technique is None,
        section=section_of(frame),
        exit=leaving,
        effort=settings.effort.word,
    )


def packed_canal(
    bare: CanalPlan,
    begun: Begun,
    heated: Heated,
    shapes: Sequence[Frame],
    settings: Settings,
    tooth: ToothNumber,
) -> CanalPlan:
    """The canal with all its packing numbers."""
    frame, cone, level = begun.frame, begun.cone, begun.level_mm
    top = packed_top(frame, begun.instruments, cone, level, softened_ahead(heated))
    instruments = with_plugger_reaching(frame, settings, begun.instruments, top.mm)
    instruments = with_delivery(frame, settings, instruments, top.mm)
    down = plan_downpack(frame, settings, instruments, cone, top, level, heated)
    back = plan_backfill(frame, settings, instruments, top.mm, level)
    chosen = [i for i in (*instruments.pluggers, *instruments.heated_tips, *instruments.needles) if i.role]
    top_s, level_s = frame.station(top.mm), frame.station(level)
    post = _post(frame, level) if frame.entry.post_planned else None
    cautions = [
        *join_cautions(frame, shapes, cone),
        *_hold(heated),
        *down.cautions,
        *back.cautions,
        *_post_cautions(frame, level, post),
        *canal_cautions(frame, settings, tooth, cone, chosen),
    ]
    return dataclasses.replace(
        bare,
        cone=cone,
        pluggers=instruments.pluggers,
        would_do_mm=instruments.would_do_mm,
        heated_tips=instruments.heated_tips,
        needles=instruments.needles,
        volume_mm3=volume(frame, settings, 0.0, frame.canal.length_mm, "its own stretch, by frusta"),
        packed_volume_mm3=volume(frame, settings, 0.0, top_s, "end to packed top"),
        unfilled_volume_mm3=volume(frame, settings, level_s, frame.canal.length_mm, "fill level to orifice"),
        packed_top_mm=_top_estimate(top, settings),
        fill_level_mm=level,
        cold_apical_part_mm=down.cold,
        cold_advice=down.cold_advice,
        downpack=down.steps,
        increments=back.increments,
        blind_gap_mm=back.blind_gap,
        options=back.options,
        post_available_mm=post,
        heat=heated.canal,
        cautions=tuple(dict.fromkeys(cautions)),
    )


def _hold(heated: Heated) -> Iterator[str]:
    """Where the compound is still soft when the plugger would be taken away."""
    if heated.canal is None:
        return
    after, push = heated.canal.solid_after_s, tables.rule("push_s").value
    if after.value > push:
        between = f"{after.low:.0f} to {after.high:.0f} s, computed"
        yield f"Hold the last plugger {math.ceil(after.value)} s, not {push:g}: until then it is soft ({between})."


def _top_estimate(top: PackedTop, settings: Settings) -> Estimate:
    """A depth set by a stop, against a made end that has a spread of its own."""
    wl = Z90 * settings.case.preferences.wl_sd_mm
    return Estimate(top.mm, top.mm - wl, top.mm + wl, "mm", f"{top.because}; spread of the made end", top.source)


def _post(frame: Frame, level: float) -> Estimate:
    """Length for a post or bonded core, orifice to the top of the filling that must stay."""
    rule = tables.rule("post_filling_left_mm")
    value = max(level - frame.orifice_at_mm, 0.0)
    low, high = rule.low or rule.value, rule.high or rule.value
    longest = frame.depth(frame.own_end_s_mm) - low - frame.orifice_at_mm
    return Estimate(value, value, max(longest, value), "mm", f"{low:g} to {high:g} mm of filling left", rule.source)


def _post_cautions(frame: Frame, level: float, post: Estimate | None) -> Iterator[str]:
    if post is None:
        return
    left = frame.depth(frame.own_end_s_mm) - level
    yield f"Post planned: the filling ends at {level:.1f} mm and leaves {left:.1f} mm."
    if left < (tables.rule("post_filling_left_mm").low or 0.0) - 1e-9:
        yield f"No post or bonded core: only {left:.1f} mm of filling would stay."
    elif post.value < frame.orifice_at_mm - 1e-9:
        yield (
            f"Only {post.value:.1f} mm is available for the post, less than the {frame.orifice_at_mm:.1f} mm of tooth "
            "above the orifice: no post or bonded core unless shortened on purpose."
        )

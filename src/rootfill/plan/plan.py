"""A case in, a plan out."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

import numpy as np

from rootfill import tables
from rootfill.errors import InputRefused
from rootfill.plan.backfill import fill_level_mm, plan_backfill, volume
from rootfill.plan.case import Case
from rootfill.plan.cautions import canal_cautions, cones_seen, tooth_cautions
from rootfill.plan.cone import choose_cone, enters
from rootfill.plan.downpack import PackedTop, packed_top, plan_downpack
from rootfill.plan.exits import exits
from rootfill.plan.frame import Frame, frames, section_of
from rootfill.plan.instruments import fit_instruments, with_delivery, with_plugger_reaching
from rootfill.plan.model import CanalPlan, Exit, Plan, SourceLine, ToothLine
from rootfill.plan.order import join_cautions, order_of_work
from rootfill.plan.ready import questions
from rootfill.plan.record import assumed, unused
from rootfill.plan.sealer import chosen_sealer, plan_sealer, sealer_cautions
from rootfill.plan.seen import seen
from rootfill.plan.settings import FULL, Effort, Settings
from rootfill.tooth.notation import ToothNumber, tooth_number
from rootfill.tray.model import Tray
from rootfill.units import Z90, Estimate

NOTHING_KEPT: Mapping[str, CanalPlan] = MappingProxyType({})


def make_plan(
    case: Case,
    tray: Tray,
    rng: np.random.Generator,
    program: str,
    effort: Effort = FULL,
    keep: Mapping[str, CanalPlan] = NOTHING_KEPT,
) -> Plan:
    """The whole plan of a tooth. Pure: chance comes in as ``rng``.

    Canals in ``keep`` stand as they are, the rest is computed; which may be kept says
    :func:`rootfill.plan.unaffected.unaffected`.

    Raises InputRefused for a tooth that is refused, geometry that cannot be, or a tray without cones.
    """
    tooth = tooth_number(case.case.tooth, case.case.notation)
    if not tray.cones:
        raise InputRefused("tray.cones", None, "a plan needs at least one cone with name, size and taper")
    _check_tray(tray)
    _check_findings(case)
    settings, shapes = Settings(case, tray, rng, effort), frames(case)
    plans = _canals(shapes, settings, tooth, keep)
    _check_cones(settings, shapes, plans)
    plan = _tooth(shapes, settings, tooth, program, plans)
    return dataclasses.replace(plan, sources=_sources(plan))


def _canals(
    shapes: Sequence[Frame], settings: Settings, tooth: ToothNumber, keep: Mapping[str, CanalPlan]
) -> dict[str, CanalPlan]:
    """Every canal, kept or computed; a full plan keeps none from a first look."""
    leaving = exits(settings.case, shapes)
    quick = settings.effort != FULL
    kept = {name: plan for name, plan in keep.items() if quick or plan.effort == FULL.word}
    return {f.name: kept.get(f.name) or _canal(f, shapes, settings, tooth, leaving.get(f.name)) for f in shapes}


def _tooth(
    shapes: Sequence[Frame],
    settings: Settings,
    tooth: ToothNumber,
    program: str,
    plans: Mapping[str, CanalPlan],
) -> Plan:
    """What is said of the whole tooth, around its canals."""
    case, tray, canals = settings.case, settings.tray, tuple(plans.values())
    sealer = chosen_sealer(case, tray)
    sealing = plan_sealer(sealer, canals) if any(c.exit is None for c in canals) else None
    of_sealer = () if sealing is None else sealer_cautions(sealer, sealing, any(c.downpack for c in canals))
    return Plan(
        id=case.case.id,
        note=case.case.note,
        tooth=ToothLine(tooth.iso3950, tooth.universal, str(case.case.notation), str(case.case.tooth), tooth.words),
        program=program,
        tray=tray.name,
        tray_assumed=bool(tray.assumed_names),
        ready=questions(case, sealer),
        order=order_of_work(shapes, plans),
        sealer=sealing,
        cautions=(*of_sealer, *cones_seen(shapes, settings, canals), *tooth_cautions(case, tray, tooth, canals)),
        assumed=assumed(case),
        canals=canals,
        seen=seen(shapes, plans, settings),
        unused=unused(case, tray),
        effort=settings.effort.word,
    )


def _canal(
    frame: Frame, shapes: Sequence[Frame], settings: Settings, tooth: ToothNumber, leaving: Exit | None
) -> CanalPlan:
    entry = frame.entry
    bare = CanalPlan(
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
    return bare if bare.exit is not None else _packed(bare, frame, shapes, settings, tooth)


def _packed(
    bare: CanalPlan, frame: Frame, shapes: Sequence[Frame], settings: Settings, tooth: ToothNumber
) -> CanalPlan:
    """The canal with all its packing numbers."""
    cone = None if bare.technique == "injected_only" else choose_cone(frame, settings)
    instruments = fit_instruments(frame, settings)
    level = fill_level_mm(frame, settings)
    top = packed_top(frame, instruments, cone, level)
    instruments = with_plugger_reaching(frame, settings, instruments, top.mm)
    instruments = with_delivery(frame, settings, instruments, top.mm)
    down = plan_downpack(frame, settings, instruments, cone, top, level)
    back = plan_backfill(frame, settings, instruments, top.mm, level)
    chosen = [i for i in (*instruments.pluggers, *instruments.heated_tips, *instruments.needles) if i.role]
    top_s, level_s = frame.station(top.mm), frame.station(level)
    post = _post(frame, level) if frame.entry.post_planned else None
    cautions = [
        *join_cautions(frame, shapes, cone), *down.cautions, *back.cautions, *_post_cautions(frame, level, post),
        *canal_cautions(frame, settings, tooth, cone, chosen),
    ]  # fmt: skip
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
        cautions=tuple(dict.fromkeys(cautions)),
    )


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


def _check_cones(settings: Settings, shapes: Sequence[Frame], plans: Mapping[str, CanalPlan]) -> None:
    """Refuse a tray of which no cone enters any canal that wants one."""
    wanting = [f for f in shapes if plans[f.name].exit is None and plans[f.name].technique != "injected_only"]
    if wanting and not any(enters(c, f) for c in settings.tray.cones for f in wanting):
        least = min(settings.tray.cones, key=lambda c: c.size)
        widest = max(wanting, key=lambda f: f.canal.profile.narrow_mm[-1])
        width = float(widest.canal.profile.narrow_mm[-1])
        none = f"no cone of the tray enters the orifice of {widest.name}, {width:.2f} mm wide"
        raise InputRefused("tray.cones", least.size_name, none)


def _check_tray(tray: Tray) -> None:
    """Nicknames are unique among what is stiff, and a shaft needs the length of the part below it."""
    named = [(f"pluggers[{i}]", p.name) for i, p in enumerate(tray.pluggers)]
    named += [(f"heated_tips[{i}]", t.name) for i, t in enumerate(tray.heated_tips)]
    named += [(f"needles[{i}]", n.name) for i, n in enumerate(tray.needles)]
    seen: set[str] = set()
    for where, name in named:
        if name.lower() in seen:
            raise InputRefused(f"tray.{where}.name", name, "every plugger, tip and needle has a name of its own")
        seen.add(name.lower())
    for one in (*tray.pluggers, *tray.heated_tips):
        if one.shaft_mm is not None and one.working_mm is None:
            raise InputRefused(f"working_mm of {one.name}", None, "a shaft needs the length of the part below it")


def _check_findings(case: Case) -> None:
    names, visits = [c.name for c in case.canals], [v.id for v in case.visits]
    spoken = [(f"canals[{i}].visit ({c.name})", c.visit) for i, c in enumerate(case.canals)]
    spoken += [(f"findings[{i}].visit", f.visit) for i, f in enumerate(case.findings)]
    for where, visit in spoken:
        if visit is not None and visits and visit not in visits:
            raise InputRefused(where, visit, f"name a visit of the case: {', '.join(map(str, visits))}")
    for i, finding in enumerate(case.findings):
        if finding.canal is not None and finding.canal not in names:
            raise InputRefused(f"findings[{i}].canal", finding.canal, f"name a canal of this tooth: {', '.join(names)}")


def _sources(plan: Plan) -> tuple[SourceLine, ...]:
    """Every source an estimate of this plan names, once, in order of first use."""
    ids = dict.fromkeys(e.source for e in estimates(plan))
    return tuple(SourceLine(s.id, s.text, s.mark) for s in (tables.source(i) for i in ids))


def estimates(thing: object) -> Iterator[Estimate]:
    """Every Estimate inside a plan."""
    if isinstance(thing, Estimate):
        yield thing
    elif dataclasses.is_dataclass(thing) and not isinstance(thing, type):
        for field in dataclasses.fields(thing):
            yield from estimates(getattr(thing, field.name))
    elif isinstance(thing, tuple):
        for one in thing:
            yield from estimates(one)

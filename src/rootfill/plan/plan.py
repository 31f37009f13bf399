"""A case in, a plan out."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

import numpy as np

from rootfill import tables
from rootfill.errors import InputRefused
from rootfill.plan.canal import Begun, bare_canal, begin, packed_canal
from rootfill.plan.case import Case
from rootfill.plan.cautions import cones_seen, tooth_cautions
from rootfill.plan.cone import enters
from rootfill.plan.exits import exits
from rootfill.plan.frame import Frame, frames
from rootfill.plan.heat import LATER, Heated, ToHeat, heat_canals, heatable
from rootfill.plan.model import UNMEASURED, CanalPlan, Plan, SourceLine, ToothLine
from rootfill.plan.order import order_of_work
from rootfill.plan.ready import questions
from rootfill.plan.record import assumed, unused
from rootfill.plan.sealer import chosen_sealer, plan_sealer, sealer_cautions
from rootfill.plan.seen import seen
from rootfill.plan.settings import FULL, Effort, Settings
from rootfill.tooth.notation import ToothNumber, tooth_number
from rootfill.tray.model import Tray
from rootfill.units import Estimate

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
    begun = {f.name: begin(f, settings) for f in shapes if f.name not in kept and f.name not in leaving}
    heated = _heated(begun, settings, tooth)
    leaving |= {name: one.leaving for name, one in heated.items() if one.leaving is not None}
    bare = {f.name: bare_canal(f, settings, leaving.get(f.name)) for f in shapes if f.name not in kept}
    made = {
        name: packed_canal(bare[name], one, heated[name], shapes, settings, tooth)
        for name, one in begun.items()
        if name not in leaving
    }
    return {f.name: kept.get(f.name) or made.get(f.name) or bare[f.name] for f in shapes}


def _heated(begun: Mapping[str, Begun], settings: Settings, tooth: ToothNumber) -> dict[str, Heated]:
    """Seconds of heat of every canal; a first look computes none."""
    to_heat, found = list[ToHeat](), {name: Heated(one.levels_mm, UNMEASURED) for name, one in begun.items()}
    for name, one in begun.items():
        tip = one.instruments.with_role("heat")
        if tip is None or not one.levels_mm:
            continue
        measured = heatable(settings.tray, tip.name)
        if settings.effort != FULL and measured is not None:
            found[name] = Heated(one.levels_mm, LATER)
        to_heat.append(ToHeat(one.frame, one.levels_mm, one.frame.entry.technique or "stepwise", measured))
    return {**found, **(heat_canals(to_heat, tooth) if settings.effort == FULL else {})}


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

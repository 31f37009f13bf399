"""Cautions that follow from the numbers and from the tables. None is printed that is not true of this tooth."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rootfill import tables
from rootfill.plan.case import CanalEntry, Case
from rootfill.plan.frame import Frame
from rootfill.plan.heat import ENTER_WALL, heatable
from rootfill.plan.instruments import DISAGREES, may_work_near_the_end
from rootfill.plan.model import NO_OTHER_SECONDS, CanalPlan, ConeChoice, InstrumentFit
from rootfill.plan.settings import Settings, binds_within, moved, same_name
from rootfill.plan.words import listed
from rootfill.tooth.anatomy import length_range, look_for, nerve_near, thin_roots
from rootfill.tooth.notation import ToothNumber
from rootfill.tray.model import Tray

_FEATURES = {
    "ledge": "a ledge: instruments catch there; stops end above it",
    "block": "a block: the length below it is not proven; stops end above it",
    "fragment": "a fragment: stops end above it; agree first what stays",
    "resorption": "resorption: widths there are not the made shape; injection may fill it better",
    "old_filling": "old filling left: the cone may stop on it",
}


def canal_cautions(
    frame: Frame,
    settings: Settings,
    tooth: ToothNumber,
    cone: ConeChoice | None,
    chosen: Sequence[InstrumentFit],
) -> tuple[str, ...]:
    """Cautions of one canal that is going to be packed."""
    return (
        *_length(frame, tooth),
        *_cone(frame, cone, 0.0 if frame.entry.joins else settings.case.preferences.cone_short_mm),
        *_wall(frame, tooth),
        *_end(frame),
        *_curve(frame, settings, chosen),
        *_oval(frame),
        *_plugger(frame, chosen),
        *_features(frame),
        *_findings(frame, settings),
    )


def tooth_cautions(case: Case, tray: Tray, tooth: ToothNumber, canals: Sequence[CanalPlan]) -> tuple[str, ...]:
    """Cautions of the whole tooth."""
    return tuple(_tooth(case, tray, tooth, canals))


def cones_seen(shapes: Sequence[Frame], settings: Settings, canals: Sequence[CanalPlan]) -> Iterator[str]:
    """Cones that were seen to stop above the depth this plan sets them to: what was seen decides."""
    for frame, canal in zip(shapes, canals, strict=True):
        tried = [f for f in settings.case.findings if f.kind == "cone_seat" and f.canal == canal.name]
        usable = [f for f in tried if f.value_mm is not None and not f.other_cone_in]
        last = next((f.value_mm for f in reversed(usable) if not settings.outdated(f, frame)), None)
        if canal.cone is not None and canal.exit is None and last is not None and last < canal.cone.cone_set_mm:
            set_to = f"the cone was seen to stop at {last:.1f} mm; this plan sets it to {canal.cone.cone_set_mm:.1f}"
            yield f"{canal.name}: {set_to}. Set none deeper than was seen, and find out first why it stops."


def _tooth(case: Case, tray: Tray, tooth: ToothNumber, canals: Sequence[CanalPlan]) -> Iterator[str]:
    packed = [c for c in canals if c.exit is None]
    near = nerve_near(tooth)
    if near is not None and packed:
        yield near
        yield from _long_cones(packed)
    if any(c.downpack for c in packed):
        yield "No alcohol in the canal or on the tray near a hot tip: fire."
        yield from _heat_seconds(tray, packed)
        force = tables.rule("force_taught_n")
        taught = f"Push {force.low:g} to {force.high:g} N, as learned on a kitchen scale"
        yield f"{taught} (common practice); less in thin roots."
    if any(c.increments for c in packed):
        yield "Shield the lip from the hot needle."
    if packed:
        yield from _assumed(tray)
    if moved(case):
        yield "A reference moved: take every length of this tooth again; the lengths below are as entered."
    names = [name for c in case.canals for name in (c.name, *_branches(c))]
    for one in look_for(tooth, names):
        yield one.sentence


def _assumed(tray: Tray) -> Iterator[str]:
    """Which dimensions nobody measured: all, those named, or all but those named, whichever is shorter."""
    assumed, measured = tray.assumed_names, tray.measured_names
    if assumed and not measured:
        yield "Instrument dimensions are assumed: try every plugger in, note where it binds."
    elif assumed and len(assumed) <= len(measured):
        yield f"Dimensions of {listed(assumed)} are assumed, not measured."
    elif assumed:
        yield f"All dimensions but those of {listed(measured)} are assumed, not measured."


def _long_cones(packed: Sequence[CanalPlan]) -> Iterator[str]:
    """Near a nerve a cone that may pass the end is said, whatever its verdict."""
    limit = tables.rule("long_cone_chance").value
    own = [c for c in packed if c.ends_in is None and c.cone is not None]
    long = [c.name for c in own if c.cone is not None and c.cone.chances["loose"] >= limit]
    if long:
        yield f"Near the nerve: the cone of {', '.join(long)} may pass the end; try it in and see the cone film first."


def _branches(canal: CanalEntry) -> tuple[str, ...]:
    """Names of the branches a canal divides into."""
    if canal.splits is None:
        return ()
    return (canal.splits.into,) if isinstance(canal.splits.into, str) else canal.splits.into


def _heat_seconds(tray: Tray, packed: Sequence[CanalPlan]) -> Iterator[str]:
    """How seconds are to be taken; where a tip was not measured, the trade's short pulses instead."""
    steps = [(c, s) for c in packed for s in c.downpack]
    bare = list(dict.fromkeys(c.name for c, s in steps if s.heat_s is None and ENTER_WALL not in s.heat_says))
    walls = list(dict.fromkeys(c.name for c, s in steps if ENTER_WALL in s.heat_says))
    if walls:
        which = f"No heat in {listed(walls)} before its wall is entered"
        yield f"{which}: in the thinnest even half a second is too long."
    pulse, wait = tables.rule("unmeasured_heat_s").value, tables.rule("unmeasured_wait_s").value
    if bare:
        used = {s.heated_tip for _, s in steps}
        measured = all(heatable(tray, t.name) for t in tray.heated_tips if t.name in used)
        why = "Seconds of heat come with the whole plan" if measured else "The heated tip was never measured"
        where = "" if len(bare) == len(packed) else f" in {listed(bare)}"
        yield f"{why}: {pulse:g} s at a time, wait {wait:g} s between{where}; {NO_OTHER_SECONDS}."
    if any(s.heat_s is not None for _, s in steps):
        yield "Never heat longer than 'stop by', at any step: the seconds hold for the tip as you measured it."


def _length(frame: Frame, tooth: ToothNumber) -> Iterator[str]:
    low, high, _ = length_range(tooth)
    length = frame.entry.working_length_mm
    if not low <= length <= high:
        yield (
            f"Working length {length:g} mm is outside the tables for this tooth ({low:.0f} to {high:.0f} mm): "
            "check reference and reading."
        )
    deepest = max((f.to_mm for f in frame.entry.files or ()), default=length)
    if deepest < length:
        short = length - deepest
        yield f"The files end at {deepest:g} mm, {short:.1f} mm short of the working length: the rest is not shaped."


def _cone(frame: Frame, cone: ConeChoice | None, wanted_mm: float) -> Iterator[str]:
    if cone is None:
        if frame.entry.technique != "injected_only":
            yield "No cone of the tray stands in this canal without passing its end: a larger or longer cone is needed."
        return
    if frame.entry.pack_to_mm is not None and frame.entry.pack_to_mm > cone.cone_to_mm.value:
        yield f"pack_to_mm {frame.entry.pack_to_mm:g} lies past the cone's tip at {cone.cone_to_mm.value:.1f} mm."
    off = abs(cone.short_of_end_mm.value - wanted_mm)
    if cone.verdict == "right" and off > tables.rule("cone_off_mm").value:
        ends = f"{cone.short_of_end_mm.value:.1f} mm short of the end"
        yield f"The best cone of the tray, {cone.name}, ends {ends}: a thinner or longer cone is needed."
    if cone.verdict == "wrong_place":
        short = cone.short_of_end_mm.value
        yield f"The best cone, {cone.name}, seats {short:.1f} mm short and is held only higher up: take a lower taper."
    elif cone.verdict == "all_along":
        yield f"The best cone, {cone.name}, is held all along: its tug-back cannot tell where; a lower taper would."
    elif cone.verdict == "loose":
        yield f"The best cone, {cone.name}, is loose: none on the tray is held at the end."


def _wall(frame: Frame, tooth: ToothNumber) -> Iterator[str]:
    limit = tables.rule("thin_wall_mm").value
    if frame.canal.wall is not None:
        at, wall = frame.canal.wall.thinnest()
        if wall < limit:
            where = f" at {frame.depth(at):.1f} mm" if frame.canal.wall.s_mm.size > 1 else ""
            yield f"Wall only {wall:.2f} mm{where}: short heat, light push."
            floor = tables.rule("wall_floor_mm").value
            if wall < floor:
                yield f"A wall below {floor:g} mm is said not to resist packing (from memory): do not push."
        return
    thin = thin_roots(tooth, frame.name)
    if thin is not None:
        yield f"Wall not entered; tables: {thin.words} Short heat, light push."


def _end(frame: Frame) -> Iterator[str]:
    width = float(frame.canal.profile.wide_mm[0])
    if width >= tables.rule("wide_end_mm").value and frame.entry.technique != "injected_only":
        yield (
            f"Wide end, {width:.2f} mm: little holds the compound back; cone short, light first push, "
            "film after the down-pack."
        )


def _curve(frame: Frame, settings: Settings, chosen: Sequence[InstrumentFit]) -> Iterator[str]:
    if not frame.curve_known:
        share = tables.rule("curved_share_percent").value
        yield (
            "Curvature not entered: planned as straight, stops at the cautious end. "
            f"{share:.0f} % of canals are curved (tables): try the pluggers in."
        )
        return
    steel = {
        p.name for p in (*settings.tray.pluggers, *settings.tray.heated_tips) if p.material == "steel" and not p.prebend
    }
    for arc in frame.canal.curve.arcs:
        if arc.radius_mm >= tables.rule("tight_radius_mm").value:
            continue
        inside = [f.name for f in chosen if f.name in steel and frame.station(f.set_stop_mm) < arc.to_mm - 1e-9]
        if inside:
            names = ", ".join(dict.fromkeys(inside))
            top = frame.depth(arc.to_mm)
            yield f"Stiff steel enters the {arc.radius_mm:g} mm curve at {top:.1f} mm: {names}. Pre-bend, do not lever."
    for f in chosen if settings.effort.elastic else ():
        if f.touches and f.wall_force_n is None:
            yield f"{f.name} would bend for good or wedge at {f.set_stop_mm:.1f} mm: do not take it there."


def _oval(frame: Frame) -> Iterator[str]:
    if not frame.canal.profile.is_round:
        holds = "" if frame.entry.technique == "injected_only" else "the cone holds on two sides only; "
        yield f"Oval: {holds}pack in strokes around the wall."
    elif frame.entry.shape == "oval":
        yield (
            "Oval by what was seen, but no widths are entered: volumes are too small, "
            "the cone holds on two sides only; pack around the wall."
        )


def _plugger(frame: Frame, chosen: Sequence[InstrumentFit]) -> Iterator[str]:
    yield from (f"{f.name}: {DISAGREES}." for f in chosen if DISAGREES in f.says)
    within = tables.rule("plugger_apical_within_mm").value
    apical = next((f for f in chosen if f.role == "apical"), None)
    if apical is None:
        yield "No plugger of the tray works in this canal."
    elif may_work_near_the_end(frame) and apical.reach_s_mm.value > within + 1e-6:
        nearest = f"{apical.name} reaches {apical.reach_s_mm.value:.1f} mm from it"
        yield f"No plugger works within {within:g} mm of the end: {nearest}."


def _findings(frame: Frame, settings: Settings) -> Iterator[str]:
    mine = [f for f in settings.case.findings if f.canal == frame.name]
    for f in mine:
        if f.kind == "binds" and settings.outdated(f, frame):
            yield f"{f.instrument} was seen to bind before the reference moved: not used, try it in again."
        elif f.kind == "binds" and f.value_mm is not None and not binds_within(f, frame):
            where = f"outside the canal, {frame.orifice_at_mm:g} to {frame.made_end_mm:g} mm"
            yield f"{f.instrument} is noted to bind at {f.value_mm:g} mm, {where}: not used, check it."
        if f.kind == "binds" and not any(same_name(f.instrument, name) for name in settings.stiff_names):
            name = f.instrument or "An instrument without a name"
            yield f"{name} is noted to bind, but is not on the tray: not used."
    points = [f for f in mine if f.kind == "paper_point"]
    if points and points[-1].tip == "blood":
        yield "Blood on the last paper point: too long, or a source at the side; look before packing."


def _features(frame: Frame) -> Iterator[str]:
    for feature in frame.features:
        if feature.kind in _FEATURES:
            where = "" if feature.from_mm is None else f" at {frame.depth(feature.upper_mm):.1f} mm"
            yield f"Entered{where}: {_FEATURES[feature.kind]}."

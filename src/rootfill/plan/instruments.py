"""How deep each plugger, heated tip and needle goes, where its stop is set, and which are chosen."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from rootfill import tables
from rootfill.errors import SolverError
from rootfill.fit.beam import bend
from rootfill.fit.reach import clearance_mm
from rootfill.plan.case import Finding
from rootfill.plan.frame import Frame
from rootfill.plan.model import InstrumentFit
from rootfill.plan.reaches import binds_computed, may_reach, modulus_mpa, reach_of, stands_free, width_error
from rootfill.plan.settings import Settings
from rootfill.tray.model import Needle, Plugger, Stiff
from rootfill.units import Z90, Estimate, down_to_half

WOULD_DO_STEP_MM = 0.05
DISAGREES = "seen deeper than the entered shape lets it: gauge again"
OBSTACLES = ("ledge", "block", "fragment")
"""Features that stop an instrument; nothing is planned past their upper end."""

_FREE = Estimate(0.0, 0.0, 0.0, "N", "a straight instrument fits without touching both walls", "fit.reach")


@dataclass(frozen=True)
class Instruments:
    """All instruments of the tray that enter the canal, roles given."""

    pluggers: tuple[InstrumentFit, ...]
    heated_tips: tuple[InstrumentFit, ...]
    needles: tuple[InstrumentFit, ...]
    would_do_mm: float | None

    def with_role(self, role: str) -> InstrumentFit | None:
        """The instrument of this role."""
        everyone = (*self.pluggers, *self.heated_tips, *self.needles)
        return next((i for i in everyone if i.role == role), None)


def fit_instruments(frame: Frame, settings: Settings) -> Instruments:
    """Reach, binding depth, stop and role of everything stiff on the tray."""
    pluggers = _fits(frame, settings, settings.tray.pluggers)
    heated = _fits(frame, settings, settings.tray.heated_tips)
    needles = _fits(frame, settings, settings.tray.needles)
    chosen = _plugger_roles(frame, settings, pluggers)
    apical = next((p for p in chosen if p.role == "apical"), None)
    within = tables.rule("plugger_apical_within_mm").value
    lacking = may_work_near_the_end(frame) and (apical is None or apical.reach_s_mm.value > within + 1e-6)
    return Instruments(
        chosen,
        _heated_role(frame, heated),
        _rinsing(frame, settings, needles),
        _would_do(frame, settings) if lacking else None,
    )


def _fits(frame: Frame, settings: Settings, stiff: Iterable[Stiff]) -> tuple[InstrumentFit, ...]:
    fits = (fit_one(frame, settings, one) for one in stiff)
    return tuple(f for f in fits if f is not None)


def fit_one(frame: Frame, settings: Settings, stiff: Stiff) -> InstrumentFit | None:
    """One instrument in one canal; None when it is wider than the orifice."""
    nominal = reach_of(frame, settings, stiff)
    if nominal is None:
        return None
    reach_s, binds, stop, says = _bound(frame, settings, stiff, nominal)
    at_s = frame.station(stop)
    room = clearance_mm(frame.canal, stiff.rod, at_s)
    touches = not stands_free(frame, stiff, at_s)
    return InstrumentFit(
        name=stiff.name,
        role=None,
        tip_mm=stiff.tip_mm,
        reach_s_mm=reach_s,
        binds_at_mm=binds,
        set_stop_mm=stop,
        cover=_cover(frame, settings, stiff, at_s),
        clearance_mm=_clearance(settings, stiff, room),
        touches=touches,
        wall_force_n=_pressing(frame, settings, stiff, at_s, room) if touches else _FREE,
        says=says,
    )


def _bound(
    frame: Frame, settings: Settings, stiff: Stiff, nominal: Estimate
) -> tuple[Estimate, Estimate, float, tuple[str, ...]]:
    """Reach, binding depth, stop and what it says of it: as it was seen to bind, else as computed."""
    computed = binds_computed(frame, settings, nominal)
    own, narrower = settings.observed(frame, stiff)
    binds = _observed(own) if own is not None else computed
    if narrower is not None and _stops_before(_observed(narrower), binds, settings):
        binds = _observed(narrower)
    stop, says = _stop(frame, settings, stiff, binds)
    if binds.source != "seen":
        return nominal, binds, stop, says
    if clearance_mm(frame.canal, stiff.rod, frame.station(stop)) < 0:
        return nominal, computed, _stop(frame, settings, stiff, computed)[0], (DISAGREES,)
    return binds.shifted(-1, frame.made_end_mm), binds, stop, says


def _stops_before(narrower: Estimate, binds: Estimate, settings: Settings) -> bool:
    """Whether a narrower instrument was seen to bind before; at a first look its careful end decides too.

    A rigid reach may end just above what was seen, and yet with a deeper careful end.
    """
    return narrower.value < binds.value or (not settings.effort.elastic and narrower.low < binds.low)


def _observed(seen: Finding) -> Estimate:
    value = float(seen.value_mm or 0.0)
    half = Z90 * (tables.rule("stop_reading_sd_mm").value if seen.sd_mm is None else seen.sd_mm)
    because = f"{seen.instrument} was seen to bind there; spread of reading a stop"
    return Estimate(value, value - half, value + half, "mm", because, "seen")


def _stop(frame: Frame, settings: Settings, stiff: Stiff, binds: Estimate) -> tuple[float, tuple[str, ...]]:
    """Short of the shallow end of binding by the margin, and of whatever the instrument must not pass."""
    margin = settings.case.preferences.stop_margin_mm
    limits = [(binds.low - margin, "")]
    limits += [(depth - margin, f"stays above {what}") for depth, what in floors(frame)]
    if isinstance(stiff, Needle) and stiff.use == "irrigate":
        rule = tables.rule("irrigate_vented_short_mm" if stiff.vent == "side" else "irrigate_open_short_mm")
        why = f"kept {rule.value:g} mm short of the end: irrigant must not be forced out"
        limits.append((min(frame.entry.working_length_mm, frame.made_end_mm) - rule.value, why))
    limit, why = min(limits)
    return max(down_to_half(limit), 0.0), (why,) if why else ()


def floors(frame: Frame) -> Iterator[tuple[float, str]]:
    """Depths no stiff instrument is planned past, and what lies there."""
    yield min(frame.entry.working_length_mm, frame.made_end_mm), "the end"
    if frame.entry.joins is not None:
        yield frame.depth(frame.canal.own_from_mm), f"the join with {frame.entry.joins.canal}"
    if frame.entry.splits is not None:
        yield frame.depth(frame.entry.splits.at_mm), "the split"
    if frame.entry.technique == "injected_only" and frame.entry.pack_to_mm is not None:
        yield frame.entry.pack_to_mm, "the plug"
    for feature in frame.features:
        if feature.kind in OBSTACLES:
            yield frame.depth(feature.upper_mm), f"the {feature.kind}"


def _cover(frame: Frame, settings: Settings, stiff: Stiff, at_s: float) -> Estimate:
    """Face over narrow width where it works, 0 to 1."""
    width = float(frame.canal.profile.narrow_at(at_s))
    error = width_error(settings, stiff)
    value = stiff.tip_mm / width
    low, high = max(stiff.tip_mm - error, 0.0) / width, (stiff.tip_mm + error) / width
    return Estimate(value, low, high, "", "file and instrument tolerances", "geometry")


def _clearance(settings: Settings, stiff: Stiff, room: float) -> Estimate:
    """Least difference between canal and instrument at the set stop, mm."""
    error = width_error(settings, stiff)
    return Estimate(room, room - error, room + error, "mm", "file and instrument tolerances", "geometry")


def _pressing(frame: Frame, settings: Settings, stiff: Stiff, at_s: float, room: float) -> Estimate | None:
    """Largest wall force at the set stop of what touches; None where it would bend for good, be wedged, or was
    not solved, and at a first look."""
    if room < 0 or not settings.effort.elastic:
        return None
    try:
        bent = bend(frame.canal, stiff.rod, modulus_mpa(stiff), at_s)
    except SolverError:
        return None
    if stiff.material == "steel" and bent.surface_strain > tables.rule("steel_yield_strain").value:
        return None
    force = bent.largest_force_n
    return Estimate(
        force, 0.0 if stiff.prebend else force, force, "N", "elastic rod, nominal dimensions", "fit.elastic"
    )


def _covers(fit: InstrumentFit, settings: Settings, frame: Frame) -> bool:
    """Neither spears nor hangs above the orifice at its set stop."""
    enters = fit.set_stop_mm > frame.orifice_at_mm
    return enters and fit.cover.value >= settings.case.preferences.cover_min


def _plugger_roles(frame: Frame, settings: Settings, fits: tuple[InstrumentFit, ...]) -> tuple[InstrumentFit, ...]:
    """Coronal: widest free in the coronal third; apical: widest within 5 mm of the end; middle: between them."""
    usable = sorted((f for f in fits if _covers(f, settings, frame)), key=lambda f: -f.tip_mm)
    third = frame.canal.length_mm * 2 / 3
    within = tables.rule("plugger_apical_within_mm").value
    apical = next((f for f in usable if f.reach_s_mm.value <= within + 1e-6), None)
    apical = apical or min(usable, key=lambda f: f.reach_s_mm.value, default=None)
    widest = next((f for f in usable if f.reach_s_mm.value <= third + 1e-6), None)
    coronal = None if widest is None or (apical is not None and widest.tip_mm <= apical.tip_mm) else widest
    roles = {"apical": apical, "coronal": coronal, "middle": _middle(usable, coronal, apical)}
    names = {f.name: role for role, f in roles.items() if f is not None}
    return tuple(replace(f, role=names.get(f.name)) for f in fits)


def with_plugger_reaching(frame: Frame, settings: Settings, instruments: Instruments, top_mm: float) -> Instruments:
    """The same with the last push done by the widest plugger that reaches the packed top, where one does.

    Only needed where the packed top is set by the clinician or by the fill level; else the apical plugger sets it.
    """
    apical = instruments.with_role("apical")
    if apical is not None and apical.set_stop_mm >= top_mm - 1e-9:
        return instruments
    able = [p for p in instruments.pluggers if p.set_stop_mm >= top_mm - 1e-9 and _covers(p, settings, frame)]
    last = max(able, key=lambda p: p.tip_mm, default=None)
    if last is None:
        return instruments
    roles = {p.name: p.role for p in instruments.pluggers}
    if apical is not None:
        roles[apical.name] = "middle" if "middle" not in roles.values() else None
    roles[last.name] = "apical"
    return replace(instruments, pluggers=tuple(replace(p, role=roles[p.name]) for p in instruments.pluggers))


def may_work_near_the_end(frame: Frame) -> bool:
    """Whether a plugger has business within the apical limit: not when injecting only, nor above a join or obstacle."""
    within = tables.rule("plugger_apical_within_mm").value
    lowest = min(depth for depth, _ in floors(frame))
    return frame.entry.technique != "injected_only" and frame.made_end_mm - lowest < within


def _middle(
    usable: Sequence[InstrumentFit], coronal: InstrumentFit | None, apical: InstrumentFit | None
) -> InstrumentFit | None:
    """The plugger between the two whose reach lies nearest to half-way."""
    if coronal is None or apical is None:
        return None
    between = [f for f in usable if apical.tip_mm < f.tip_mm < coronal.tip_mm]
    half = (coronal.reach_s_mm.value + apical.reach_s_mm.value) / 2
    return min(between, key=lambda f: abs(f.reach_s_mm.value - half), default=None)


def heat_end_mm(frame: Frame) -> float:
    """How deep heat is planned at most: short of the chosen end by the rule, and above a join."""
    short = tables.rule("heat_end_short_mm").value
    ahead = tables.rule("softened_ahead_mm").low or 0.0
    limit = min(frame.entry.working_length_mm, frame.made_end_mm) - short
    if frame.entry.joins is not None:
        limit = min(limit, frame.depth(frame.canal.own_from_mm) - ahead)
    if frame.entry.splits is not None:
        limit = min(limit, frame.depth(frame.entry.splits.at_mm) - ahead)
    return down_to_half(limit)


def _heated_role(frame: Frame, fits: tuple[InstrumentFit, ...]) -> tuple[InstrumentFit, ...]:
    """The widest tip whose stop reaches the planned depth, else the one that goes deepest; none when injected only."""
    if frame.entry.technique == "injected_only":
        return fits
    wanted = heat_end_mm(frame)
    inside = [f for f in fits if f.set_stop_mm > frame.orifice_at_mm]
    reaching = [f for f in inside if f.set_stop_mm >= wanted]
    best = max(reaching, key=lambda f: f.tip_mm, default=None) or max(inside, key=lambda f: f.set_stop_mm, default=None)
    return tuple(replace(f, role="heat" if f is best else None) for f in fits)


def _rinsing(frame: Frame, settings: Settings, fits: tuple[InstrumentFit, ...]) -> tuple[InstrumentFit, ...]:
    """The irrigating needle that goes deepest; among equals the wider bore."""
    best = max(_of_use("irrigate", frame, settings, fits), key=lambda f: (f.set_stop_mm, f.tip_mm), default=None)
    return tuple(replace(f, role="irrigate" if f is best else None) for f in fits)


def with_delivery(frame: Frame, settings: Settings, instruments: Instruments, packed_top_mm: float) -> Instruments:
    """The same with a delivering needle chosen: the widest that reaches the packed top, else the deepest."""
    able = _of_use("deliver", frame, settings, instruments.needles)
    wanted = packed_top_mm - tables.rule("blind_gap_mm").value
    reaching = max((f for f in able if f.set_stop_mm >= wanted - 1e-9), key=lambda f: f.tip_mm, default=None)
    best = reaching or max(able, key=lambda f: (f.set_stop_mm, f.tip_mm), default=None)
    needles = tuple(replace(f, role="deliver") if f is best else f for f in instruments.needles)
    return replace(instruments, needles=needles)


def _of_use(use: str, frame: Frame, settings: Settings, fits: Sequence[InstrumentFit]) -> list[InstrumentFit]:
    """Needles of this use whose stop lies below the orifice."""
    names = {n.name for n in settings.tray.needles if n.use == use}
    return [f for f in fits if f.name in names and f.set_stop_mm > frame.orifice_at_mm]


def _would_do(frame: Frame, settings: Settings) -> float | None:
    """The widest parallel steel plugger, in steps of 0.05 mm, that would work within the apical limit."""
    within = tables.rule("plugger_apical_within_mm").value
    for steps in range(20, 4, -1):
        plugger = Plugger(name="would do", tip_mm=round(steps * WOULD_DO_STEP_MM, 2), taper=0.0)
        worth = may_reach(frame, settings, plugger, within, settings.case.preferences.passive_force_n)
        fit = fit_one(frame, settings, plugger) if worth else None
        if fit is not None and fit.reach_s_mm.value <= within and _covers(fit, settings, frame):
            return plugger.tip_mm
    return None

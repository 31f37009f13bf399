"""How deep each plugger, heated tip and needle goes, where its stop is set, and which are chosen."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from rootfill import tables
from rootfill.errors import SolverError
from rootfill.fit.beam import bend, reach
from rootfill.fit.reach import clearance_mm, fits_rigid, grid, rigid_reach_mm, width_reach_mm
from rootfill.plan.case import Finding
from rootfill.plan.frame import Frame
from rootfill.plan.model import InstrumentFit
from rootfill.plan.settings import Settings
from rootfill.tooth.canal import Canal
from rootfill.tooth.curve import Arc, Curve
from rootfill.tray.model import Needle, Plugger, Rod, Stiff
from rootfill.units import Z90, Estimate, down_to_half

WOULD_DO_STEP_MM = 0.05
DISAGREES = "seen deeper than the entered shape lets it: gauge again"
OBSTACLES = ("ledge", "block", "fragment")
"""Features that stop an instrument; nothing is planned past their upper end."""


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


def modulus_mpa(stiff: Stiff) -> float:
    """Young's modulus of the instrument's material; for nickel-titanium the stiff end of its range."""
    return tables.rule(f"{stiff.material}_e_mpa").value


def fit_one(frame: Frame, settings: Settings, stiff: Stiff) -> InstrumentFit | None:
    """One instrument in one canal; None when it is wider than the orifice."""
    reach_s = _reach(frame, settings, stiff)
    if reach_s is None:
        return None
    nominal = reach_s
    own, narrower = settings.observed(frame, stiff)
    binds = _observed(own) if own is not None else _computed(frame, settings, reach_s)
    if narrower is not None and (narrower.value_mm or 0.0) < binds.value:
        binds = _observed(narrower)
    if binds.source == "seen":
        reach_s = binds.shifted(-1, frame.made_end_mm)
    stop, says = _stop(frame, settings, stiff, binds)
    if binds.source == "seen" and clearance_mm(frame.canal, stiff.rod, frame.station(stop)) < 0:
        binds = _computed(frame, settings, nominal)
        reach_s, (stop, _) = nominal, _stop(frame, settings, stiff, binds)
        says = (DISAGREES,)
    at_s = frame.station(stop)
    return InstrumentFit(
        name=stiff.name,
        role=None,
        tip_mm=stiff.tip_mm,
        reach_s_mm=reach_s,
        binds_at_mm=binds,
        set_stop_mm=stop,
        cover=_cover(frame, settings, stiff, at_s),
        clearance_mm=_clearance(frame, settings, stiff, at_s),
        touches=not bool(fits_rigid(frame.canal, stiff.rod, np.array([at_s]), grid(frame.canal))[0]),
        wall_force_n=_force(frame, stiff, at_s),
        says=says,
    )


def _reach(frame: Frame, settings: Settings, stiff: Stiff) -> Estimate | None:
    """Nominal reach; interval = union of the reach at the low and high force and of the dimensional spread.

    Dimensions: the width errors of canal and instrument enter only through D − d, so their 5 % and 95 %
    quantiles give those of the reach. A pre-bent instrument may go as deep as its width allows; a canal of
    unknown curvature may be curved: both widen the interval, the stop follows its cautious end.
    """
    passive = tables.rule("passive_force_n")
    firm = passive.high or passive.value
    careful = passive.low or passive.value
    canal, rod = frame.canal, stiff.rod
    here = reach(canal, rod, modulus_mpa(stiff), careful, settings.case.preferences.passive_force_n, firm)
    if here is None:
        return None
    error = _width_error(settings, stiff)
    shallow = here.s_mm + _shift(canal, rod, here.first_touch_s_mm, -error)
    deep = here.s_mm - _shift(canal, rod, here.first_touch_s_mm, error)
    ends = [here.s_mm, here.careful_s_mm, here.firm_s_mm, shallow, deep]
    reasons = ["file and instrument tolerances"]
    if here.careful_s_mm - here.firm_s_mm > 1e-6:
        reasons.append(f"wall force {careful:g} to {firm:g} N")
    if stiff.prebend and not canal.curve.is_straight:
        ends.append(width_reach_mm(canal, rod) or 0.0)
        reasons.append("pre-bent: may follow the curve")
    if not frame.curve_known:
        curved = rigid_reach_mm(_if_curved(canal), rod)
        ends.append(canal.length_mm if curved is None else curved)
        reasons.append("curvature unknown: it may be curved")
    return Estimate(
        here.s_mm, max(min(ends), 0.0), min(max(ends), canal.length_mm), "mm", ", ".join(reasons), "fit.reach"
    )


def _width_error(settings: Settings, stiff: Stiff) -> float:
    """Half-width of the 90 % interval of D − d [mm]: two uniform spreads joined as if normal."""
    return Z90 * math.hypot(settings.case.preferences.file_tol_mm, stiff.tolerance_mm) / math.sqrt(3)


def _shift(canal: Canal, rod: Rod, rigid_mm: float, widen_mm: float) -> float:
    """How far the rigid reach moves from ``rigid_mm`` when every width is off by ``widen_mm``, mm, never negative."""
    if widen_mm == 0:
        return 0.0
    after = rigid_reach_mm(canal.widened(widen_mm), rod)
    return abs((canal.length_mm if after is None else after) - rigid_mm)


def _if_curved(canal: Canal) -> Canal:
    """The canal with the cautious curve of the rules table ending at its made end."""
    radius = tables.rule("unknown_curve_radius_mm").value
    most = math.degrees(canal.length_mm / radius)
    arc = Arc(min(tables.rule("unknown_curve_deg").value, most), radius)
    return Canal(canal.profile, Curve((arc,)), canal.wall, canal.own_from_mm)


def _computed(frame: Frame, settings: Settings, reach_s: Estimate) -> Estimate:
    """Binding depth: made end − reach, its interval with the made end's own spread."""
    wl = Z90 * settings.case.preferences.wl_sd_mm
    value = frame.made_end_mm - reach_s.value
    low = value - math.hypot(reach_s.high - reach_s.value, wl)
    high = value + math.hypot(reach_s.value - reach_s.low, wl)
    return Estimate(value, low, high, "mm", f"{reach_s.because}; spread of the made end", "fit.reach")


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
    error = _width_error(settings, stiff)
    value = stiff.tip_mm / width
    low, high = max(stiff.tip_mm - error, 0.0) / width, (stiff.tip_mm + error) / width
    return Estimate(value, low, high, "", "file and instrument tolerances", "geometry")


def _clearance(frame: Frame, settings: Settings, stiff: Stiff, at_s: float) -> Estimate:
    """Least difference between canal and instrument at the set stop, mm."""
    error = _width_error(settings, stiff)
    value = clearance_mm(frame.canal, stiff.rod, at_s)
    return Estimate(value, value - error, value + error, "mm", "file and instrument tolerances", "geometry")


def _force(frame: Frame, stiff: Stiff, at_s: float) -> Estimate | None:
    """Largest wall force at the set stop; None where it would bend for good, be wedged, or was not solved."""
    if bool(fits_rigid(frame.canal, stiff.rod, np.array([at_s]), grid(frame.canal))[0]):
        return Estimate(0.0, 0.0, 0.0, "N", "a straight instrument fits without touching both walls", "fit.reach")
    if clearance_mm(frame.canal, stiff.rod, at_s) < 0:
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
        fit = fit_one(frame, settings, plugger)
        if fit is not None and fit.reach_s_mm.value <= within and _covers(fit, settings, frame):
            return plugger.tip_mm
    return None

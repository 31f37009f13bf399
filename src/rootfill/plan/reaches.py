"""How deep a stiff instrument goes by the entered shape, whatever was seen of it, and where it binds by that."""

from __future__ import annotations

import math

import numpy as np

from rootfill import tables
from rootfill.fit.beam import quick_force_n, reach_beyond
from rootfill.fit.model import Reach
from rootfill.fit.reach import fits_rigid, grid, rigid_reach_mm, rigid_reaches_mm, width_reach_mm
from rootfill.plan.frame import Frame
from rootfill.plan.settings import Settings
from rootfill.tooth.canal import Canal
from rootfill.tooth.curve import Arc, Curve
from rootfill.tray.model import Stiff
from rootfill.units import Z90, Estimate

_CLOSE_MM = 1e-3
"""Two reaches found on different stations agree to a part of this."""


def modulus_mpa(stiff: Stiff) -> float:
    """Young's modulus of the instrument's material; for nickel-titanium the stiff end of its range."""
    return tables.rule(f"{stiff.material}_e_mpa").value


def reach_of(frame: Frame, settings: Settings, stiff: Stiff) -> Estimate | None:
    """How deep this instrument goes by the entered shape, whatever was seen; None when it does not enter."""
    key = frame.name, stiff
    if key not in settings.reaches:
        settings.reaches[key] = _reach(frame, settings, stiff)
    return settings.reaches[key]


def _reach(frame: Frame, settings: Settings, stiff: Stiff) -> Estimate | None:
    """Nominal reach; interval = union of the reach at the low and high force and of the dimensional spread.

    Dimensions: the width errors of canal and instrument enter only through D − d, so their 5 % and 95 %
    quantiles give those of the reach. A pre-bent instrument may go as deep as its width allows; a canal of
    unknown curvature may be curved: both widen the interval, the stop follows its cautious end.
    """
    canal, rod = frame.canal, stiff.rod
    error = width_error(settings, stiff)
    touch, narrower, wider = rigid_reaches_mm(canal, rod, (0.0, -error, error))
    if touch is None:
        return None
    here = _pushed(frame, settings, stiff, touch)
    shallow = here.s_mm + abs((canal.length_mm if narrower is None else narrower) - touch)
    deep = here.s_mm - abs((canal.length_mm if wider is None else wider) - touch)
    ends = [here.s_mm, here.careful_s_mm, here.firm_s_mm, shallow, deep]
    reasons = ["file and instrument tolerances"]
    if here.careful_s_mm - here.firm_s_mm > 1e-6:
        reasons.append(_why(settings))
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


def _pushed(frame: Frame, settings: Settings, stiff: Stiff, touch: float) -> Reach:
    """How much deeper than the first touch a push takes it; at a first look nothing, but as far as its width allows."""
    if not settings.effort.elastic:
        return Reach(touch, touch, min(width_reach_mm(frame.canal, stiff.rod) or 0.0, touch), touch)
    careful, firm = _forces()
    push = settings.case.preferences.passive_force_n
    return reach_beyond(frame.canal, stiff.rod, modulus_mpa(stiff), touch, careful, push, firm)


def _forces() -> tuple[float, float]:
    """The careful and the firm push, N."""
    passive = tables.rule("passive_force_n")
    return passive.low or passive.value, passive.high or passive.value


def _why(settings: Settings) -> str:
    if not settings.effort.elastic:
        return "a first look: wall force not computed, it may go as deep as its width allows"
    careful, firm = _forces()
    return f"wall force {careful:g} to {firm:g} N"


def may_reach(frame: Frame, settings: Settings, stiff: Stiff, s_mm: float, limit_n: float) -> bool:
    """Whether it is worth finding its reach: at this station it stands free, or within this wall force."""
    near = s_mm + _CLOSE_MM
    if near < 0:
        return False
    if stands_free(frame, stiff, near):
        return True
    return settings.effort.elastic and quick_force_n(frame.canal, stiff.rod, modulus_mpa(stiff), near) <= limit_n


def stands_free(frame: Frame, stiff: Stiff, s_mm: float) -> bool:
    """Whether it stands straight with its tip at this station."""
    return bool(fits_rigid(frame.canal, stiff.rod, np.array([s_mm]), grid(frame.canal))[0])


def may_stop_at(frame: Frame, settings: Settings, stiff: Stiff, depth_mm: float) -> bool:
    """Whether it is worth finding its stop: it may, short of binding by the margin, stand at this depth."""
    if settings.observed(frame, stiff) != (None, None):
        return True
    careful, _ = _forces()
    deepest = frame.made_end_mm - depth_mm - settings.case.preferences.stop_margin_mm
    return may_reach(frame, settings, stiff, deepest, careful)


def width_error(settings: Settings, stiff: Stiff) -> float:
    """Half-width of the 90 % interval of D − d [mm]: two uniform spreads joined as if normal."""
    return Z90 * math.hypot(settings.case.preferences.file_tol_mm, stiff.tolerance_mm) / math.sqrt(3)


def _if_curved(canal: Canal) -> Canal:
    """The canal with the cautious curve of the rules table ending at its made end."""
    radius = tables.rule("unknown_curve_radius_mm").value
    most = math.degrees(canal.length_mm / radius)
    arc = Arc(min(tables.rule("unknown_curve_deg").value, most), radius)
    return Canal(canal.profile, Curve((arc,)), canal.wall, canal.own_from_mm)


def binds_computed(frame: Frame, settings: Settings, reach_s: Estimate) -> Estimate:
    """Binding depth: made end − reach, its interval with the made end's own spread."""
    wl = Z90 * settings.case.preferences.wl_sd_mm
    value = frame.made_end_mm - reach_s.value
    low = value - math.hypot(reach_s.high - reach_s.value, wl)
    high = value + math.hypot(reach_s.value - reach_s.low, wl)
    return Estimate(value, low, high, "mm", f"{reach_s.because}; spread of the made end", "fit.reach")

"""From the packed top back up: fill level, increments, a needle stop for each, and the gap no needle reaches."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from rootfill import tables
from rootfill.plan.frame import Frame
from rootfill.plan.instruments import Instruments, fit_one
from rootfill.plan.model import NOT_REACHED, Increment, InstrumentFit
from rootfill.plan.reaches import may_stop_at
from rootfill.plan.settings import Settings
from rootfill.tray.model import Needle
from rootfill.units import Z90, Estimate, down_to_half, up_to_half


@dataclass(frozen=True)
class Backfill:
    increments: tuple[Increment, ...]
    blind_gap: Estimate | None
    options: tuple[str, ...]
    cautions: tuple[str, ...]


def fill_level_mm(frame: Frame, settings: Settings) -> float:
    """Depth where the filling ends: below the orifice by preference, or what is left for a post; deeper to 0.5.

    Never below the canal's own end.
    """
    if frame.entry.post_planned:
        left = tables.rule("post_filling_left_mm").value
        level = max(up_to_half(frame.depth(frame.own_end_s_mm) - left), up_to_half(frame.orifice_at_mm))
        return min(level, _plug_top(frame))
    wanted = up_to_half(frame.orifice_at_mm + settings.case.preferences.fill_below_orifice_mm)
    return min(wanted, down_to_half(frame.depth(frame.own_end_s_mm)), _plug_top(frame))


def _plug_top(frame: Frame) -> float:
    """A hard plug ends where it ends: no fill level lies below its top."""
    plugged = frame.entry.technique == "injected_only" and frame.entry.pack_to_mm is not None
    return down_to_half(frame.entry.pack_to_mm or 0.0) if plugged else math.inf


def plan_backfill(
    frame: Frame, settings: Settings, instruments: Instruments, packed_top_mm: float, level_mm: float
) -> Backfill:
    """Increments from the packed top to the fill level, always adding up; none when they meet."""
    travel = packed_top_mm - level_mm
    if travel <= 1e-9:
        return Backfill((), None, (), ())
    needle = instruments.with_role("deliver")
    tops = packed_top_mm - np.concatenate(([0.0], np.cumsum(split(travel))))
    increments = tuple(_increment(frame, settings, instruments, float(a), float(b)) for a, b in pairwise(tops))
    if needle is None:
        caution = (
            f"No delivering needle of the tray enters {frame.name}: {travel:.1f} mm of back-fill cannot be placed."
        )
        return Backfill(increments, None, (), (caution,))
    gap = _blind_gap(packed_top_mm, needle)
    blind = gap.value > tables.rule("blind_gap_mm").value + 1e-9
    options = tuple(_options(frame, settings, packed_top_mm, level_mm, needle)) if blind else ()
    cautions = (_gap_caution(gap, needle),) if blind else ()
    return Backfill(increments, gap, options, cautions)


def split(travel_mm: float) -> list[float]:
    """Increment lengths [mm] adding up to the travel: 3 to 4 mm each after a smaller first one, in half millimetres.

    >>> split(5.5), split(2.0), split(10.0)
    ([2.0, 3.5], [2.0], [2.0, 4.0, 4.0])
    """
    rule, first = tables.rule("increment_mm"), tables.rule("first_increment_mm").value
    low, high = rule.low or rule.value, rule.high or rule.value
    if travel_mm <= first + 0.5:
        return [travel_mm]
    if travel_mm <= first + low:
        rest = up_to_half(0.6 * travel_mm)
        return [travel_mm - rest, rest]
    best: tuple[float, list[float]] | None = None
    for count in range(1, math.ceil(travel_mm / low) + 1):
        rest = min(max(down_to_half((travel_mm - first) / count), low), high)
        start = travel_mm - count * rest
        if 0.5 <= start <= rest and (best is None or abs(start - first) <= best[0]):
            best = abs(start - first), [start, *[rest] * count]
    if best is not None:
        return best[1]
    count = math.ceil(travel_mm / high - 1e-9)
    return [travel_mm / count] * count


def _increment(frame: Frame, settings: Settings, instruments: Instruments, low: float, high: float) -> Increment:
    """One injected length from depth ``low`` up to depth ``high``."""
    needle = instruments.with_role("deliver")
    chosen = [p for p in instruments.pluggers if p.role is not None and p.set_stop_mm >= high]
    plugger = max(chosen, key=lambda p: p.tip_mm, default=None)
    above = tables.rule("needle_above_top_mm").value
    stop = None if needle is None else min(needle.set_stop_mm, down_to_half(low - above))
    reached = stop is not None and low - stop <= tables.rule("blind_gap_mm").value + 0.5
    first_blind = needle is not None and low - needle.set_stop_mm > tables.rule("blind_gap_mm").value + 1e-9
    return Increment(
        length_mm=round(low - high, 6),
        volume_mm3=volume(frame, settings, frame.station(low), frame.station(high), "frusta of the entered shape"),
        needle=None if needle is None else needle.name,
        needle_set_stop_mm=stop,
        push_s=tables.rule("push_s").value,
        filled_from_above=first_blind or not reached,
        plugger=None if plugger is None else plugger.name,
        plugger_set_stop_mm=None if plugger is None else min(plugger.set_stop_mm, down_to_half(low)),
    )


def volume(frame: Frame, settings: Settings, from_s: float, to_s: float, because: str) -> Estimate:
    """Volume of the canal's own stretch between two stations [mm³]; interval from the files' tolerance."""
    value = frame.canal.volume_mm3(from_s, to_s)
    error = Z90 * settings.case.preferences.file_tol_mm / math.sqrt(3)
    low = frame.canal.widened(-error).volume_mm3(from_s, to_s)
    high = frame.canal.widened(error).volume_mm3(from_s, to_s)
    return Estimate(value, min(low, value), max(high, value), "mm³", f"{because}; file tolerance", "geometry")


def _blind_gap(packed_top_mm: float, needle: InstrumentFit) -> Estimate:
    """Packed top less the deepest stop of the needle, never negative."""
    value = max(packed_top_mm - needle.set_stop_mm, 0.0)
    least = max(min(packed_top_mm - needle.binds_at_mm.value, value), 0.0)
    return Estimate(
        value,
        least,
        value,
        "mm",
        "stop stands short of binding; low end if it goes to where it binds",
        "fit.reach",
    )


def _gap_caution(gap: Estimate, needle: InstrumentFit) -> str:
    return (
        f"Needle {needle.name} stops {gap.value:.1f} mm above the packed top: {NOT_REACHED}, "
        "only filled from above: expect a void."
    )


def _options(
    frame: Frame, settings: Settings, packed_top_mm: float, level_mm: float, needle: InstrumentFit
) -> Iterator[str]:
    """What can be done about a gap the needle does not reach."""
    gauge = _gauge_that_reaches(frame, settings, packed_top_mm, needle)
    if gauge is not None:
        yield f"A thinner needle: a {gauge} G would reach the packed top."
    if frame.entry.technique == "injected_only":
        return
    yield "Warm the top of the packed compound longer and pack it against the first increment."
    if needle.set_stop_mm + 0.5 > level_mm:
        yield f"Pack less deep: a packed top at {needle.set_stop_mm + 0.5:.1f} mm or above is reached by {needle.name}."


def _gauge_that_reaches(frame: Frame, settings: Settings, packed_top_mm: float, needle: InstrumentFit) -> int | None:
    """The widest gauge, thinner than the needle, whose stop lies within half a millimetre of the packed top."""
    wanted = packed_top_mm - tables.rule("blind_gap_mm").value
    for row in tables.table("needles"):
        if float(row["catalogue_od_mm"]) < needle.tip_mm:
            thinner = Needle(name=row["gauge"], gauge=int(row["gauge"]), use="deliver")
            fit = fit_one(frame, settings, thinner) if may_stop_at(frame, settings, thinner, wanted) else None
            if fit is not None and fit.set_stop_mm >= wanted:
                return int(row["gauge"])
    return None

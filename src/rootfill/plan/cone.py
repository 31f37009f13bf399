"""Which cone, trimmed to what, where it comes to rest, and how likely it is held in the right place."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rootfill import tables
from rootfill.fit.model import Draws, TrimmedCones, Verdict
from rootfill.fit.seat import VERDICTS, held, open_share, seat_s_mm
from rootfill.fit.trim import trim_mm, trimmed_by_gauge, trimmed_by_ruler
from rootfill.plan.frame import Frame
from rootfill.plan.model import ConeChoice
from rootfill.plan.settings import Settings
from rootfill.tray.model import Cone
from rootfill.units import Estimate, FloatArray, down_to_half, size_name

ADVICE = {
    Verdict.RIGHT: "Held in its last 2 mm: mark it, take the cone film, go on.",
    Verdict.ALL_ALONG: "Held all along: this cannot tell where; take a cone of lower taper and try again.",
    Verdict.WRONG_PLACE: "Held only higher up: take a cone of lower taper; do not force this one.",
    Verdict.LOOSE: "Goes past the end: trim it to the next size and try again.",
}

_SPREAD = "file and cone tolerances"
_SAME_DISTANCE_MM = 0.05
"""Seats this much nearer to the target decide between cones; smaller differences do not."""


@dataclass(frozen=True)
class _Candidate:
    cone: Cone
    trim_to: int
    seat_s_mm: float
    verdict: Verdict
    distance_mm: float


def choose_cone(frame: Frame, settings: Settings) -> ConeChoice | None:
    """The best cone of the tray, or None when none can stand in this canal without passing the end."""
    entering = [c for c in settings.tray.cones if enters(c, frame)]
    found = [c for cone in entering if (c := _best_trim(frame, settings, cone)) is not None]
    if not found:
        return None
    return _described(frame, settings, min(found, key=lambda c: _rank(frame, c)))


def enters(cone: Cone, frame: Frame) -> bool:
    """Whether the cone's tip passes the orifice."""
    return cone.tip_mm < float(frame.canal.profile.narrow_mm[-1])


def _rank(frame: Frame, c: _Candidate) -> tuple[float, ...]:
    """Near where it should end, before all; held right by a lower taper; nearest; trimmed, fuller, least cut."""
    lower = c.cone.taper < frame.canal.profile.apical_taper() - 1e-9
    right = c.verdict is Verdict.RIGHT
    kind = 0 if right and lower else 1 if right else 2 + VERDICTS.index(c.verdict)
    steps = round(c.distance_mm / _SAME_DISTANCE_MM)
    untrimmed = c.trim_to == c.cone.size
    far = steps if c.distance_mm > tables.rule("cone_off_mm").value else 0
    return far, kind, steps, untrimmed, -c.cone.taper, c.trim_to - c.cone.size


def _gauges(cone: Cone, orifice_mm: float) -> list[int]:
    """Gauge holes from the cone's own size to the orifice."""
    sizes = sorted({cone.size, *(int(r["size"]) for r in tables.table("file_sizes"))})
    return [g for g in sizes if cone.size <= g and g / 100 < orifice_mm]


def _best_trim(frame: Frame, settings: Settings, cone: Cone) -> _Candidate | None:
    """Of the gauge sizes that do not pass the end, the one ending nearest to the target (tie: shorter)."""
    gauges = _gauges(cone, float(frame.canal.profile.narrow_mm[-1]))
    cones = TrimmedCones(np.array(gauges) / 100, cone.taper)
    zero = np.zeros(len(gauges))
    seats = seat_s_mm(frame.canal.profile, cones, zero)
    target = _target_s_mm(frame, settings)
    best: tuple[float, float, int] | None = None
    for i, (gauge, seat) in enumerate(zip(gauges, seats, strict=True)):
        if seat < frame.own_end_s_mm - 1e-9 or not _stands(frame, cone, gauge, float(seat)):
            continue
        distance = abs(float(seat) - target)
        key = (round(distance, 6), -float(seat), i)
        best = key if best is None or key < best else best
    if best is None:
        return None
    i = best[2]
    verdict = VERDICTS[_held(frame, TrimmedCones(cones.tip_mm[i : i + 1], cone.taper), zero[:1], seats[i : i + 1])[0]]
    return _Candidate(cone, gauges[i], float(seats[i]), verdict, best[0])


def _target_s_mm(frame: Frame, settings: Settings) -> float:
    """Where the tip should rest: short of the chosen end by preference, or at the join itself."""
    if frame.canal.own_from_mm >= frame.chosen_end_s_mm and frame.entry.joins is not None:
        return frame.canal.own_from_mm
    return frame.chosen_end_s_mm + settings.case.preferences.cone_short_mm


def _stands(frame: Frame, cone: Cone, gauge: int, seat: float) -> bool:
    """Whether the trimmed cone still stands far enough above the reference to be held."""
    left = cone.length_mm - trim_mm(cone.tip_mm, cone.taper, gauge / 100)
    return left >= frame.depth(seat) + tables.rule("cone_above_reference_mm").value


def _held(frame: Frame, cones: TrimmedCones, widen: FloatArray, seat: FloatArray) -> NDArray[np.intp]:
    contact, loose = tables.rule("contact_width_mm").value, tables.rule("loose_below_mm").value
    return held(frame.canal.profile, cones, widen, seat, frame.canal.own_from_mm, contact, loose)


def _trimmed(cone: Cone, trim_to: int, draws: Draws, by: str) -> TrimmedCones:
    trim = trimmed_by_gauge if by == "gauge" else trimmed_by_ruler
    return trim(cone.tip_mm, cone.taper, trim_to / 100, draws)


def rests_at(frame: Frame, settings: Settings, cone: Cone, trim_to: int) -> Estimate:
    """Depth where a cone of this tip comes to rest; trimmed as the clinic trims, or not at all."""
    draws = settings.draws(cone.size)
    cones = _trimmed(cone, trim_to, draws, settings.case.preferences.trim_by)
    nominal = TrimmedCones(np.array([trim_to / 100]), cone.taper)
    seat = float(seat_s_mm(frame.canal.profile, nominal, np.zeros(1))[0])
    return _depth(frame, settings, seat, seat_s_mm(frame.canal.profile, cones, draws.file_mm))


def _depth(frame: Frame, settings: Settings, seat: float, seats: FloatArray) -> Estimate:
    depths = frame.made_end_mm + settings.made_end_error_mm - seats
    return _estimate(frame.depth(seat), depths, "mm", f"{_SPREAD}, and the made end's own spread", "fit.seat")


def _described(frame: Frame, settings: Settings, c: _Candidate) -> ConeChoice:
    by = settings.case.preferences.trim_by
    draws = settings.draws(c.cone.size)
    cones = _trimmed(c.cone, c.trim_to, draws, by)
    seats = seat_s_mm(frame.canal.profile, cones, draws.file_mm)
    counts = np.bincount(_held(frame, cones, draws.file_mm, seats), minlength=len(VERDICTS))
    chances = {v.value: float(n / seats.size) for v, n in zip(VERDICTS, counts, strict=True)}
    cut = trim_mm(c.cone.tip_mm, c.cone.taper, c.trim_to / 100)
    cuts = (cones.tip_mm - c.cone.tip_mm - draws.cone_mm) / c.cone.taper
    share = open_share(frame.canal.profile, c.trim_to / 100, c.cone.taper, c.seat_s_mm)
    seat = _estimate(c.seat_s_mm, seats, "mm", _SPREAD, "fit.seat")
    return ConeChoice(
        name=c.cone.name,
        size=c.cone.size,
        taper=c.cone.taper,
        trim_by=by,
        trim_mm=_estimate(
            cut, cuts, "mm", "spread of the cone's tip" if by == "gauge" else "as measured off", "fit.trim"
        ),
        trim_to=c.trim_to,
        cone_to_mm=_depth(frame, settings, c.seat_s_mm, seats),
        cone_set_mm=down_to_half(frame.depth(c.seat_s_mm)),
        short_of_end_mm=seat.shifted(1, -frame.own_end_s_mm),
        seat_s_mm=seat,
        verdict=c.verdict.value,
        chances=chances,
        open_share=Estimate(share, share, share, "", "nominal cone and canal, by volume", "geometry"),
        advice=tuple(_advice(frame, settings, c, seats, draws)),
    )


def _estimate(value: float, sample: FloatArray, unit: str, because: str, source: str) -> Estimate:
    low, high = np.quantile(sample, [0.05, 0.95])
    return Estimate(value, min(float(low), value), max(float(high), value), unit, because, source)


def _advice(frame: Frame, settings: Settings, c: _Candidate, seats: FloatArray, draws: Draws) -> Iterator[str]:
    """What to do in each verdict, the planned one first; then what trimming by ruler or gauge costs."""
    yield ADVICE[c.verdict]
    yield _distance(frame, settings, c)
    if c.cone.taper >= frame.canal.profile.apical_taper() - 1e-9 and c.verdict is not Verdict.WRONG_PLACE:
        yield f"A cone of lower taper than {size_name(c.cone.size, c.cone.taper)} would be held nearer its tip."
    for verdict in VERDICTS:
        if verdict is not c.verdict:
            yield f"If {_WORDS[verdict]}: {_lower_first(ADVICE[verdict].split(': ', 1)[1])}"
    other = "ruler" if settings.case.preferences.trim_by == "gauge" else "gauge"
    there = seat_s_mm(frame.canal.profile, _trimmed(c.cone, c.trim_to, draws, other), draws.file_mm)
    here_sd, there_sd = float(seats.std()), float(there.std())
    if c.trim_to > c.cone.size and max(here_sd, there_sd) > 0:
        by = settings.case.preferences.trim_by
        how = {"gauge": "in the gauge hole", "ruler": "by ruler"}
        yield f"Trimmed {how[by]} the seat scatters by ±{here_sd:.1f} mm (SD); {how[other]} by ±{there_sd:.1f} mm."


def _distance(frame: Frame, settings: Settings, c: _Candidate) -> str:
    """How far short the tip ends, what was wanted, and what the next gauge size would make of it."""
    end = "the join" if frame.own_end_s_mm == frame.canal.own_from_mm > 0 else "the chosen end"
    wanted = _target_s_mm(frame, settings) - frame.own_end_s_mm
    text = f"Ends {c.seat_s_mm - frame.own_end_s_mm:.1f} mm short of {end}; {wanted:g} mm was wanted"
    wider = [g for g in _gauges(c.cone, float(frame.canal.profile.narrow_mm[-1])) if g > c.trim_to]
    if not wider:
        return f"{text}."
    cones = TrimmedCones(np.array([wider[0] / 100]), c.cone.taper)
    then = float(seat_s_mm(frame.canal.profile, cones, np.zeros(1))[0]) - frame.own_end_s_mm
    return f"{text}. Trimmed to {wider[0]} it would end {then:.1f} mm short."


_WORDS = {
    Verdict.RIGHT: "held in its last 2 mm",
    Verdict.ALL_ALONG: "held all along",
    Verdict.WRONG_PLACE: "held only higher up",
    Verdict.LOOSE: "it passes the end",
}


def _lower_first(text: str) -> str:
    return text[0].lower() + text[1:]

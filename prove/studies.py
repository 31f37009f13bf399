"""Published temperatures beside the model's band: every study with the same unknowns, none of them tuned."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from prove.study_bands import BODY_C, ROOT_MM, Band, Way, ways
from rootfill.heat import Content, Effort, Gap, Material, Pace, Section, Source, Surroundings, Warming, stepwise, warm
from rootfill.units import FloatArray

COVERS = ["src/rootfill/heat", "prove/studies.py", "prove/study_bands.py"]

EFFORT = Effort(refine=1)
SHARP = Effort(refine=4, first_s=0.02)
"""For injected compound: the canal's wall peaks in the first instants, which the rough mesh halves."""
SOFTENS_C = 42.0
STEEL = Material(14.9, 7900, 477)
PACE = Pace(push_s=5.0, idle_s=10.0, plugger=STEEL, plugger_c=25.0)
"""Cold pluggers between heats; their times and temperature from memory of common practice."""
STEPS_MM = (11.0, 9.0, 7.0)
"""Blum heated down to 7 mm; the steps above it are ours."""
COOLS_S = 60.0
EMPTY_S, INJECTED_S = 0.1, 10.0
"""For so long the canal is empty before compound is injected; until then the wall's peak is over."""
FILLED_TO_MM = ROOT_MM - 0.2
USUAL_APICAL_MM: Band = (0.35, 0.50)
"""Of Sweatman's three canals, for studies without a size."""
Read = Callable[[Warming], float]
Row = tuple[str, dict[str, Any]]


@dataclass(frozen=True)
class Measured:
    """One published value, its spread where there is one, and how it is read off a run."""

    id: str
    value: float
    sd: float | None
    read: Read


def run(seed: int) -> dict[str, Any]:
    """The model's 5, 50 and 95 % beside each value, and what was found of shapes."""
    drawn = ways(seed)
    floren = [_floren(w, EFFORT) for w in drawn]
    sweatman = [_plunged(w, w.bare_root(USUAL_APICAL_MM), w.in_air(), w.within(4.0, 5.0)) for w in drawn]
    rows = (
        *_venturi(drawn),
        *_rows(floren, Measured("floren_5", 10.62, 0.93, _surface(5.0))),
        *_rows(
            sweatman,
            Measured("sweatman_6", 74.19, None, _wall_rise(6.0)),
            Measured("sweatman_0", 2.09, None, _wall_rise(0.0)),
        ),
        *_sweatman_injected(drawn),
        *_step_by_step(drawn),
        *_cen(drawn),
    )
    return {"draws": len(drawn), "values": dict(rows), "shapes": _shapes(drawn, floren, sweatman)}


def _floren(way: Way, effort: Effort) -> Warming:
    return _plunged(way, way.bare_root(USUAL_APICAL_MM), way.in_air(), 3.0, effort=effort)


def _venturi(drawn: Sequence[Way]) -> Iterator[Row]:
    """Roots in a bath at 37 °C; 2 mm below the crown's edge is 2 mm below the top of the plain root."""
    for size, apical, near, far in (
        ("small", (0.20, 0.25), (0.5, 0.5), (4.1, 1.7)),
        ("wide", (0.30, 0.35), (0.9, 1.1), (3.9, 1.81)),
    ):
        yield from _rows(
            [_plunged(w, w.bare_root(apical), w.in_water(), w.depth_mm) for w in drawn],
            Measured(f"venturi_{size}_low", *near, _surface(1.5)),
            Measured(f"venturi_{size}_high", *far, _surface(ROOT_MM - 2)),
        )


def _sweatman_injected(drawn: Sequence[Way]) -> Iterator[Row]:
    return _rows(
        [injected(w) for w in drawn],
        Measured("sweatman_injected_0", 5.22, None, _wall_rise(0.0)),
        Measured("sweatman_injected_6", 26.63, None, _wall_rise(6.0)),
    )


def _step_by_step(drawn: Sequence[Way]) -> Iterator[Row]:
    """Blum and Goodman. At 8 mm the axis is the tip itself, so that the canal's wall stands for the filling there."""
    return _rows(
        [_packed(w, w.bare_root(USUAL_APICAL_MM), w.in_water()) for w in drawn],
        Measured("blum_8", 118.0, None, _wall_peak(8.0)),
        Measured("blum_4", 52.0, None, _axis_peak(4.0)),
        Measured("blum_2", 44.0, None, _axis_peak(2.0)),
        Measured("blum_0", 44.0, None, _axis_peak(0.0)),
        Measured("blum_0_above", 10.0, 5.0, lambda got: float(got.wall_above_s(42.9)[0])),
        Measured("goodman_body", 80.0, None, _wall_peak(8.0)),
        Measured("goodman_apex", 41.0, None, _axis_peak(1.0)),
        Measured("goodman_ahead", 2.5, None, lambda got: got.softened_ahead_mm(STEPS_MM[-1], SOFTENS_C)),
    )


def _cen(drawn: Sequence[Way]) -> Iterator[Row]:
    """Another model's roots in bone, without blood flow."""
    there = Surroundings(BODY_C)
    yield from _rows(
        [_plunged(w, w.root_in_bone(USUAL_APICAL_MM), there, w.depth_mm) for w in drawn],
        Measured("cen_plunge_distal", 50.0, None, _bone_peak),
        Measured("cen_plunge_mesial", 52.5, None, _bone_peak),
    )
    yield from _rows(
        [_packed(w, w.root_in_bone(USUAL_APICAL_MM), there, backfill=True) for w in drawn],
        Measured("cen_packed_distal", 47.3, None, _bone_peak),
        Measured("cen_packed_mesial", 47.8, None, _bone_peak),
    )


def _rows(runs: Sequence[Warming], *measured: Measured) -> Iterator[Row]:
    for one in measured:
        low, middle, high = _percents([one.read(got) for got in runs])
        inside = bool(low <= one.value <= high)
        yield one.id, {"value": one.value, "sd": one.sd, "p5": low, "p50": middle, "p95": high, "in_band": inside}


def _percents(values: Sequence[float]) -> tuple[float, float, float]:
    low, middle, high = (round(float(x), 2) for x in np.percentile(values, (5, 50, 95)))
    return low, middle, high


def _shapes(drawn: Sequence[Way], floren: Sequence[Warming], sweatman: Sequence[Warming]) -> dict[str, Any]:
    """Where Floren's root is hottest, what a dial from 250 to 600 °C would change, Sweatman's outside, Viapiana.

    The rise is in proportion to the tip above the room: nothing melts.
    """
    sites = np.arange(1.0, 11.0)
    hottest = [float(sites[np.argmax([_surface(s)(got) for s in sites])]) for got in floren]
    outside = [max(_surface(s)(got) for s in (0.0, 2.0, 4.0, 6.0)) for got in sweatman]
    slow = [_plunged(w, w.bare_root(USUAL_APICAL_MM), w.in_air(), w.depth_mm, 360.0) for w in drawn]
    fine = [
        _surface(5.0)(_floren(w, EFFORT.refined(2))) / _surface(5.0)(got) for w, got in zip(drawn, floren, strict=True)
    ]
    room_c = float(np.mean([w.air_c for w in drawn]))
    return {
        "floren_hottest_mm": _percents(hottest),
        "floren_dial_factor": round((600 - room_c) / (250 - room_c), 2),
        "floren_finer_mesh_percent": round(100 * float(np.abs(np.array(fine) - 1).max()), 1),
        "sweatman_outside_k": _percents(outside),
        "sweatman_outside_cool_percent": round(100 * float(np.mean(np.array(outside) < 10))),
        "viapiana_peak_s": _percents([got.surface_peak().time_s for got in slow]),
        "viapiana_left_percent": _percents([100 * _left(got) for got in slow]),
    }


def _left(got: Warming) -> float:
    """Share of the peak rise, at the station of the peak, that is left at the end."""
    column = int(np.argmax(got.surface_rise_c()))
    return float((got.surface_c[-1, column] - got.begins_c) / got.surface_rise_c()[column])


def _plunged(
    way: Way,
    root: Section,
    there: Surroundings,
    depth_mm: float,
    until_s: float = COOLS_S,
    effort: Effort = EFFORT,
) -> Warming:
    """A hot tip stands at its depth while heated, and is drawn out with all that stood beside it."""
    hot = Source(0.0, way.heat_s, ((0.0, depth_mm),), way.tip.measured, way.tip.contact_w_m2k)
    return warm(root, there, [hot, Gap(way.heat_s, until_s, depth_mm)], until_s, effort)


def _packed(way: Way, root: Section, there: Surroundings, backfill: bool = False) -> Warming:
    """Heated and packed step by step; filled up afterwards with injected compound, or left to cool."""
    contents: tuple[Content, ...] = stepwise(STEPS_MM, way.heat_s, way.tip, PACE)
    ends = contents[-1].until_s
    if backfill:
        contents = (*contents, _filled(way, ends))
    return warm(root, there, contents, ends + COOLS_S, EFFORT)


def injected(way: Way) -> Warming:
    """The whole canal is filled at once."""
    contents = [Gap(0.0, EMPTY_S, 0.0), Gap(EMPTY_S, INJECTED_S, FILLED_TO_MM, way.injected_c)]
    return warm(way.bare_root(USUAL_APICAL_MM), way.in_air(), contents, INJECTED_S, SHARP)


def _filled(way: Way, from_s: float) -> Gap:
    return Gap(from_s, from_s + COOLS_S / 2, FILLED_TO_MM, way.injected_c)


def _at(stations_mm: FloatArray, values: FloatArray, s_mm: float) -> float:
    return float(np.interp(s_mm, stations_mm, values))


def _surface(s_mm: float) -> Read:
    """Largest rise of the root's surface at a station."""
    return lambda got: _at(got.surface_s_mm, got.surface_rise_c(), s_mm)


def _wall_peak(s_mm: float) -> Read:
    """Highest temperature of the canal's wall at a station."""
    return lambda got: _at(got.surface_s_mm, got.wall_c.max(axis=0), s_mm)


def _wall_rise(s_mm: float) -> Read:
    """The same above the start."""
    return lambda got: _wall_peak(s_mm)(got) - got.begins_c


def _axis_peak(s_mm: float) -> Read:
    return lambda got: _at(got.axis_s_mm, got.axis_c.max(axis=0), s_mm)


def _bone_peak(got: Warming) -> float:
    """Highest temperature anywhere on the bone side of the ligament."""
    return float(got.bone_c.max())

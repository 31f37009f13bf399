"""From spreads that are entered to intervals that come out."""

from __future__ import annotations

import math

import numpy as np
import pytest

from rootfill.fit import VERDICTS, reach
from rootfill.plan.model import ConeChoice
from rootfill.tooth import Arc, Canal, Curve, tapered
from rootfill.tray import Rod
from rootfill.units import Estimate
from tests.plan.cases import canal, case_text, plan_text

STRAIGHT = "curvature = []"
TRAY = """
[tray]
cones = [{{ name = "20/.02", size = 20, taper = 0.02 }}]
pluggers = [
    {{ name = "45", tip_mm = 0.45, taper = 0, tol_mm = {tol} }},
    {{ name = "60", tip_mm = 0.60, taper = 0.02, tol_mm = {tol} }},
]
"""


def plan_of(factor: float, shape: str = STRAIGHT, short: float = 1.0, wl: float = 0.3):
    """30/.04 over 12 mm; every spread multiplied by ``factor``."""
    more = f"[preferences]\ncone_short_mm = {short}\nfile_tol_mm = {0.005 * factor}\nwl_sd_mm = {wl * factor}\n"
    more += f"cone_sd_mm = {0.006 * factor}\ngauge_sd_mm = {0.004 * factor}\n" + TRAY.format(tol=0.005 * factor)
    return plan_text(case_text(21, [canal("B", 19.0, "canal_length_mm = 12", "30", ".04", shape)], more)).canals[0]


def computed(one) -> dict[str, Estimate]:
    """Estimates whose width comes from the spreads alone."""
    found = {
        "trim": one.cone.trim_mm, "cone to": one.cone.cone_to_mm, "seat": one.cone.seat_s_mm,
        "short of end": one.cone.short_of_end_mm, "volume": one.volume_mm3, "packed": one.packed_volume_mm3,
        "unfilled": one.unfilled_volume_mm3,
    }  # fmt: skip
    for p in one.pluggers:
        found |= {f"{p.name} reach": p.reach_s_mm, f"{p.name} binds": p.binds_at_mm}
        found |= {f"{p.name} cover": p.cover, f"{p.name} clearance": p.clearance_mm}
    return found


def test_without_any_spread_no_interval_has_a_width():
    for what, e in computed(plan_of(0.0)).items():
        assert e.high - e.low == pytest.approx(0, abs=1e-9), what


def test_with_spreads_every_interval_has_a_width():
    for what, e in computed(plan_of(1.0)).items():
        assert e.high - e.low > 1e-4, what


def test_twice_the_spread_gives_twice_the_interval():
    once, twice = computed(plan_of(1.0)), computed(plan_of(2.0))
    for what in ("seat", "cone to", "short of end", "trim", "45 reach", "60 reach", "45 binds", "60 binds"):
        a, b = once[what], twice[what]
        assert b.value == pytest.approx(a.value), what
        assert b.high - b.low == pytest.approx(2 * (a.high - a.low), rel=0.01), what


def test_a_reach_is_uncertain_both_ways_by_the_error_of_the_play_over_the_taper():
    # parallel 0.45 in a straight 30/.04: 1.645 sqrt(0.005²/3 + 0.005²/3)/0.04 = 0.168 either way
    error = 1.645 * math.sqrt(2 * 0.005**2 / 3) / 0.04
    reach_s = computed(plan_of(1.0))["45 reach"]
    assert (reach_s.value - reach_s.low, reach_s.high - reach_s.value) == pytest.approx((error, error), rel=0.01)


def test_the_spread_of_the_made_end_enters_depths_and_no_station():
    without, with_ = computed(plan_of(1.0, wl=0.0)), computed(plan_of(1.0, wl=0.8))
    for what in ("seat", "45 reach", "60 reach"):
        assert (with_[what].low, with_[what].high) == (without[what].low, without[what].high)
    for what in ("cone to", "45 binds", "60 binds"):
        assert with_[what].high - with_[what].low > without[what].high - without[what].low + 1.0


def test_the_reach_of_steel_in_a_curve_is_the_union_of_a_careful_and_a_firm_push():
    shape = "curvature = [{ angle_deg = 30, radius_mm = 8, from_mm = 2 }]"
    bent = Canal(tapered(30, 0.04, 12.0), Curve((Arc(30, 8, 2.0),)))
    for p in plan_of(0.0, shape).pluggers:
        rod = Rod(p.tip_mm, 0.02 if p.name == "60" else 0.0)
        # 0.2, 0.5 and 2 N: our choice, no source
        at = reach(bent, rod, 200_000.0, 0.2, 0.5, 2.0)
        ours = p.reach_s_mm
        assert (ours.low, ours.value, ours.high) == pytest.approx((at.firm_s_mm, at.s_mm, at.careful_s_mm))
    widths = [p.reach_s_mm.high - p.reach_s_mm.low for p in plan_of(0.0, shape).pluggers]
    assert max(widths) > 0.02


def test_tolerances_never_narrow_the_interval_of_a_push():
    shape = "curvature = [{ angle_deg = 30, radius_mm = 8, from_mm = 2 }]"
    for bare, spread in zip(plan_of(0.0, shape).pluggers, plan_of(2.0, shape).pluggers, strict=True):
        assert spread.reach_s_mm.low <= bare.reach_s_mm.low
        assert spread.reach_s_mm.high >= bare.reach_s_mm.high
        assert spread.reach_s_mm.value == bare.reach_s_mm.value


def trimmed_by(how: str) -> ConeChoice:
    """A 20/.04 trimmed to 30 in a straight 30/.04, default spreads."""
    more = f'[preferences]\ncone_short_mm = 0\ntrim_by = "{how}"\n'
    more += '[tray]\ncones = [{ name = "20/.04", size = 20, taper = 0.04 }]\n'
    cone = (
        plan_text(case_text(21, [canal("B", 22.0, "canal_length_mm = 12", "30", ".04", STRAIGHT)], more)).canals[0].cone
    )
    assert cone is not None
    assert (cone.trim_to, cone.trim_by) == (30, how)
    return cone


def test_the_card_says_what_trimming_by_ruler_costs():
    # SD of the seat 0.38 mm by gauge, 1.0 mm by ruler: computations, section 2
    by_gauge, by_ruler = trimmed_by("gauge"), trimmed_by("ruler")
    assert any("gauge hole the seat scatters by ±0.4 mm (SD); by ruler by ±1.0 mm" in a for a in by_gauge.advice)
    assert any("by ruler the seat scatters by ±1.0 mm (SD); in the gauge hole by ±0.4 mm" in a for a in by_ruler.advice)
    # 90 % of a normal spread lies within 1.645 SD
    assert by_ruler.seat_s_mm.high - by_ruler.seat_s_mm.low == pytest.approx(2 * 1.645 * 1.017, rel=0.03)
    assert by_gauge.seat_s_mm.high - by_gauge.seat_s_mm.low == pytest.approx(2 * 1.645 * 0.382, rel=0.03)


def brute_chances(by: str, draws: int = 1_000_000) -> list[float]:
    """A 20/.04 trimmed to 30 in 30/.04 over 12 mm: tapers match, so the seat is the error over the taper.

    Ring and body are touched alike: the gap is the same all along, so a cone that is not loose touches all along.
    """
    rng = np.random.default_rng(99)
    canal, cone, hole = rng.uniform(-0.02, 0.02, draws), rng.normal(0, 0.039, draws), rng.normal(0, 0.01, draws)
    tip = np.maximum(0.30 + hole, 0.20 + cone) if by == "gauge" else 0.30 + cone
    loose = float(np.mean((tip - 0.30 - canal) / 0.04 < -0.2))
    return [loose, 1 - loose, 0.0, 0.0]


@pytest.mark.parametrize("by", ["gauge", "ruler"])
def test_the_planned_chances_agree_with_a_million_plainly_drawn_cones(by):
    chances = [trimmed_by(by).chances[v.value] for v in VERDICTS]
    assert sum(chances) == pytest.approx(1.0)
    assert chances == pytest.approx(brute_chances(by), abs=0.015)
    assert 0.1 < chances[0] < 0.9

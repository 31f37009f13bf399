"""A first look: less is computed, and what is less lies on the cautious side."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, given, settings

from rootfill.clinic.plan_case import first_look, full_plan
from rootfill.errors import InputRefused
from rootfill.plan import FULL, QUICK, CanalPlan, Effort, Plan
from rootfill.plan.model import InstrumentFit
from tests.plan.cases import canal, case_text
from tests.plan.random_changes import cases_with_findings, entered

BENT = "curvature = [{ angle_deg = 30, radius_mm = 8, from_mm = 2 }]"


def both(text: str) -> tuple[Plan, Plan] | None:
    """The first look and the full plan."""
    asked = entered(text)
    try:
        return None if asked is None else (first_look(*asked, {}), full_plan(*asked, {}))
    except InputRefused:
        return None


def pairs(text: str) -> Iterator[tuple[CanalPlan, CanalPlan]]:
    plans = both(text)
    if plans is not None:
        yield from zip(plans[0].canals, plans[1].canals, strict=True)


def stiff(one: CanalPlan) -> list[InstrumentFit]:
    return [*one.pluggers, *one.heated_tips, *one.needles]


@settings(max_examples=20, suppress_health_check=[HealthCheck.too_slow])
@given(cases_with_findings())
def test_no_stop_of_a_first_look_is_deeper_than_in_the_full_plan(text):
    for quick, full in pairs(text):
        for q, f in zip(stiff(quick), stiff(full), strict=True):
            assert q.name == f.name
            assert q.set_stop_mm <= f.set_stop_mm
            assert q.binds_at_mm.source != "fit.reach" or q.binds_at_mm.value <= f.binds_at_mm.value + 1e-9


@settings(max_examples=20, suppress_health_check=[HealthCheck.too_slow])
@given(cases_with_findings())
def test_a_first_look_decides_on_the_same_cone_and_fill_level(text):
    for quick, full in pairs(text):
        assert quick.exit == full.exit
        assert quick.fill_level_mm == full.fill_level_mm
        assert (quick.cone is None) == (full.cone is None)
        if quick.cone is not None and full.cone is not None:
            for what in ("name", "trim_to", "cone_set_mm", "verdict"):
                assert getattr(quick.cone, what) == getattr(full.cone, what)
            assert quick.cone.chances == pytest.approx(full.cone.chances, abs=0.06)


def bent_steel() -> tuple[InstrumentFit, InstrumentFit]:
    tray = "[tray]\ncones = [{ name = 'a', size = 25, taper = 0.04 }]\n"
    tray += "pluggers = [{ name = '45', tip_mm = 0.45, taper = 0.0 }]\n"
    plans = both(case_text(21, [canal("B", 22.0, "canal_length_mm = 12", "30", ".04", BENT)], tray))
    assert plans is not None
    return plans[0].canals[0].pluggers[0], plans[1].canals[0].pluggers[0]


def test_where_steel_touches_a_first_look_says_that_it_is_one_and_how_deep_it_may_go():
    quick, full = bent_steel()
    # parallel 0.45 in a 30/.04: by width alone it goes to (0.45 - 0.30) / 0.04 = 3.75
    assert quick.reach_s_mm.low == pytest.approx(3.75, abs=1e-3)
    assert quick.reach_s_mm.value > full.reach_s_mm.value > 3.75
    assert "first look" in quick.reach_s_mm.because
    assert "first look" in quick.binds_at_mm.because
    assert "first look" not in full.reach_s_mm.because


def test_a_first_look_gives_no_wall_force_and_no_warning_made_of_its_absence():
    # seen to bind at 19 mm, where a straight rod no longer fits: the plugger presses on both walls at its stop
    more = "[tray]\ncones = [{ name = 'a', size = 25, taper = 0.04 }]\n"
    more += "pluggers = [{ name = '40', tip_mm = 0.40, taper = 0.02, material = 'niti' }]\n"
    more += '[[findings]]\nkind = "binds"\ncanal = "B"\ninstrument = "40"\nvalue_mm = 19.0\n'
    plans = both(case_text(21, [canal("B", 22.0, "canal_length_mm = 12", "25", ".06", BENT)], more))
    assert plans is not None
    quick, full = (plan.canals[0].pluggers[0] for plan in plans)
    assert (quick.touches, full.touches, quick.role) == (True, True, "apical")
    assert full.wall_force_n is not None
    assert quick.wall_force_n is None
    assert not any("bend for good" in text for text in plans[0].canals[0].cautions)


def test_a_straight_canal_has_the_same_instruments_at_once():
    for quick, full in pairs(case_text(21, [canal("B", 22.0, "canal_length_mm = 12", "30", ".06", "curvature = []")])):
        assert stiff(quick) == stiff(full)


def test_what_is_seen_of_a_narrower_instrument_never_lets_a_first_look_go_deeper():
    # without spreads the careful end of a rigid reach could lie below what the narrower one showed
    tray = "[preferences]\nwl_sd_mm = 0\nfile_tol_mm = 0\n[tray]\ncones = [{ name = 'a', size = 25, taper = 0.04 }]\n"
    tray += "pluggers = [{ name = '20', tip_mm = 0.20, taper = 0, material = 'niti', tol_mm = 0 }, "
    tray += "{ name = '30', tip_mm = 0.30, taper = 0, material = 'niti', tol_mm = 0 }]\n"
    text = case_text(21, [canal("B", 22.0, "canal_length_mm = 12", "25", ".04", BENT)], tray)
    plans = both(text)
    assert plans is not None
    rigid, elastic = (plan.canals[0].pluggers[1].binds_at_mm.value for plan in plans)
    assert rigid + 0.2 < elastic
    between = (rigid + elastic) / 2
    seen = f'[[findings]]\nkind = "binds"\ncanal = "B"\ninstrument = "20"\nvalue_mm = {between}\nsd_mm = 1.0\n'
    again = both(text + seen)
    assert again is not None
    quick, full = (plan.canals[0].pluggers[1] for plan in again)
    assert full.binds_at_mm.source == "seen"
    assert quick.set_stop_mm <= full.set_stop_mm


def test_full_is_one_effort_and_everything_less_is_a_first_look():
    assert (FULL.word, QUICK.word, Effort(20_000, elastic=False).word) == ("full", "quick", "quick")
    assert QUICK.draws < FULL.draws

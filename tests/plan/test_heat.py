"""Seconds of heat in the plan: from measured tips alone, under the limit, counted over the root."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from rootfill import tables
from rootfill.errors import InputRefused
from rootfill.heat import Trials
from rootfill.plan import CanalPlan, Plan
from rootfill.plan.frame import frames
from rootfill.plan.heat import ENTER_WALL, MESH, ToHeat
from rootfill.plan.heat_ways import as_measured, ways
from rootfill.tooth.notation import tooth_number
from rootfill.units import down_to_half
from tests.plan.cases import canal, case_text, plan_text
from tests.plan.random_changes import entered

HOT = "[[200, 1, 110], [200, 2, 150], [200, 4, 180]]"
LIMIT = tables.rule("surface_rise_limit_c").value


def tray(measured: str = HOT, more: str = "") -> str:
    tips = f"{{ name = 'fine', tip_mm = 0.4, taper = 0.04, measured = {measured} }}{more}"
    pluggers = ", ".join(f"{{ name = '{x}', tip_mm = {x / 100}, taper = 0.02 }}" for x in (40, 60, 80, 100))
    return (
        f"[tray]\ncones = [{{ name = '30/.02', size = 30, taper = 0.02 }}]\npluggers = [{pluggers}]\n"
        f"needles = [{{ name = 'gun', gauge = 25, use = 'deliver' }}]\nheated_tips = [{tips}]\n"
    )


def entry(name: str, wall: str = "1.0", more: str = "") -> str:
    said = f"curvature = []\n{'' if not wall else f'wall_mm = {wall}'}\n{more}"
    return canal(name, 20.0, "orifice_at_mm = 8", "30", ".06", said)


@cache
def planned(tooth: int, *canals: str, on: str = "") -> Plan:
    return plan_text(case_text(tooth, canals, on or tray()))


def one(wall: str = "1.0", on: str = "", more: str = "", tooth: int = 11) -> CanalPlan:
    return planned(tooth, entry("one", wall, more), on=on).canals[0]


def stop_by(canal: CanalPlan) -> float:
    """0 where nothing is heated."""
    return (canal.downpack[0].stop_by_s or 0.0) if canal.downpack else 0.0


def test_seconds_are_half_seconds_within_their_limit_and_never_longer_than_measured():
    step = one().downpack[-1]
    assert step.heat_setting_c == 200
    assert 0 < step.heat_s <= step.stop_by_s <= 4
    assert step.heat_s == down_to_half(step.heat_s)
    assert {(s.heat_s, s.stop_by_s) for s in one().downpack} == {(step.heat_s, step.stop_by_s)}
    short = one(on=tray("[[200, 1, 60]]")).downpack[-1]
    assert short.stop_by_s == 1.0


def test_the_upper_end_of_the_rise_is_under_the_limit_and_half_a_second_more_would_pass_it():
    plan = one("0.8")
    assert plan.heat is not None
    assert plan.heat.surface_rise_c.high < LIMIT
    case, on = entered(case_text(11, [entry("one", "0.8")], tray()))
    frame = frames(case)[0]
    tip = on.heated_tips[0]
    to_heat = ToHeat(frame, tuple(s.heat_set_stop_mm for s in plan.downpack), "stepwise", tip)
    draws = [way.draw for way in ways(frame, tooth_number(11, "iso3950"), as_measured(tip, 200))]
    stop_by = plan.downpack[0].stop_by_s
    assert stop_by < 4
    over = Trials(draws, to_heat.packing, MESH).rises_c(stop_by + 0.5)
    assert np.quantile(over, 0.95) * (1 + tables.rule("heat_mesh_share").value) >= LIMIT


def test_the_root_warms_from_step_to_step():
    rises = [s.surface_rise_c.value for s in one().downpack]
    assert len(rises) > 1
    assert rises == sorted(rises)
    assert one().heat.surface_rise_c.value == pytest.approx(rises[-1])


def test_a_thicker_wall_allows_no_less_and_a_hotter_tip_no_more():
    stops = [stop_by(one(wall)) for wall in ("0.4", "0.7", "1.0", "1.6")]
    assert stops == sorted(stops)
    assert stops[0] < stops[-1]
    assert stop_by(one(on=tray("[[200, 1, 160], [200, 4, 230]]"))) < stop_by(one())


def test_another_canal_of_the_root_takes_seconds_and_one_of_another_root_none():
    alone = planned(36, entry("MB")).canals[0]
    both = planned(36, entry("MB"), entry("ML")).canals[0]
    apart = planned(36, entry("MB"), entry("D")).canals[0]
    assert both.downpack[0].stop_by_s <= alone.downpack[0].stop_by_s
    assert both.heat.left_by == ("ML",)
    assert apart.downpack == alone.downpack
    assert apart.heat.left_by == ()


def test_the_same_seconds_warm_more_after_another_canal():
    on = tray("[[200, 1, 60]]")
    alone, both = planned(36, entry("MB"), on=on).canals[0], planned(36, entry("MB"), entry("ML"), on=on).canals[0]
    assert both.downpack[0].heat_s == alone.downpack[0].heat_s
    assert both.heat.surface_rise_c.value > alone.heat.surface_rise_c.value


def test_two_canals_of_one_root_get_the_same_in_whatever_order_they_stand():
    one_way = {c.name: c.downpack for c in planned(36, entry("MB"), entry("ML", "0.9")).canals}
    other = {c.name: c.downpack for c in planned(36, entry("ML", "0.9"), entry("MB")).canals}
    assert one_way == other


def test_a_canal_the_tables_do_not_place_counts_for_every_root():
    assert planned(36, entry("D"), entry("extra")).canals[0].heat.left_by == ("extra",)


def test_where_half_a_second_is_too_long_for_the_wall_as_entered_the_canal_has_an_exit_and_no_numbers():
    plan = one("0.3", on=tray("[[250, 1, 300]]"))
    assert plan.exit is not None
    assert plan.exit.kind == "too_warm"
    assert plan.exit.because.startswith("even 0.5 s of heat at each step with heated tip fine at 250 °C may warm")
    assert (plan.cone, plan.downpack, plan.increments, plan.heat) == (None, (), (), None)


def test_where_the_wall_is_not_known_there_are_no_seconds_but_no_exit_either():
    plan = planned(11, entry("one", ""), on=tray("[[250, 1, 300]]"))
    canal = plan.canals[0]
    assert canal.exit is None
    assert {step.heat_s for step in canal.downpack} == {None}
    assert all(step.heat_says.startswith(ENTER_WALL) for step in canal.downpack)
    assert any(text.startswith("No heat in one before its wall is entered") for text in plan.cautions)
    assert not any("1 s at a time" in text for text in plan.cautions)


def test_the_other_canal_of_the_root_is_planned_although_one_has_its_exit():
    exits = {
        c.name: c.exit for c in planned(36, entry("MB", "0.3"), entry("ML", "2.0"), on=tray("[[200, 1, 150]]")).canals
    }
    assert exits["MB"] is not None
    assert exits["ML"] is None


def test_a_tip_that_was_not_measured_gives_no_seconds_to_any_canal_of_its_root():
    wide = "{ name = 'wide', tip_mm = 0.65, taper = 0.02 }"
    narrow = canal("ML", 20.0, "orifice_at_mm = 8", "45", ".06", "curvature = []\nwall_mm = 1.0")
    plan = planned(36, entry("MB"), narrow, on=tray(more=f", {wide}"))
    tips = {c.name: c.downpack[0].heated_tip for c in plan.canals}
    assert tips == {"MB": "fine", "ML": "wide"}
    assert {s.heat_s for c in plan.canals for s in c.downpack} == {None}
    assert "another canal of the root" in plan.canals[0].downpack[0].heat_says
    assert any("never measured: 1 s at a time" in text for text in plan.cautions)


def test_the_packed_top_and_the_cold_part_follow_what_gets_mouldable():
    plan = one()
    last = plan.downpack[-1]
    ahead = last.mouldable_ahead_mm
    assert plan.packed_top_mm.value <= last.heat_set_stop_mm + ahead.low + 1e-6
    tip = plan.cone.cone_to_mm.value
    assert plan.cold_apical_part_mm.value == pytest.approx(tip - last.heat_set_stop_mm - ahead.value)
    assert ahead.value < last.softened_ahead_mm.value


def test_the_deepest_wall_is_warmest_beside_the_tip_and_cool_at_the_end():
    heat = one().heat
    assert 42 < heat.sealer_peak_c.low < heat.sealer_peak_c.high < 180
    assert 37 <= heat.end_peak_c.value < 40
    assert heat.sealer_warm_s.high < 20


def test_the_compound_under_the_plugger_is_solid_sooner_where_it_was_heated_less():
    usual, less = one("1.6").heat.solid_after_s, one("1.6", on=tray("[[200, 1, 60]]")).heat.solid_after_s
    assert 0 <= less.value < usual.value


def test_where_it_is_still_soft_after_the_usual_push_the_plugger_is_held_longer():
    def held(canal: CanalPlan) -> list[str]:
        return [text for text in canal.cautions if text.startswith("Hold the last plugger")]

    long, short = one("1.6"), one("1.6", on=tray("[[200, 1, 60]]"))
    assert long.heat.solid_after_s.value > long.downpack[-1].push_s
    assert held(long) == ["Hold the last plugger 7 s, not 5: until then it is soft (5 to 12 s, computed)."]
    assert short.heat.solid_after_s.value < short.downpack[-1].push_s
    assert held(short) == []


def test_the_course_begins_at_body_temperature_and_follows_the_schedule():
    course = one().heat.course
    assert set(course.axis_c[0]) == {37.0}
    assert list(course.times_s) == sorted(course.times_s)
    assert {len(row) for row in (*course.axis_c, *course.surface_c)} == {len(course.s_mm)}
    assert {"heat", "push", "empty"} == set(course.what)
    along = one().heat.along
    assert max(along.high_c) == pytest.approx(one().heat.surface_rise_c.high, abs=0.5)
    assert all(a <= b <= c for a, b, c in zip(along.low_c, along.value_c, along.high_c, strict=True))


def test_the_lowest_setting_is_taken_that_does_about_as_much():
    two = tray("[[180, 1, 110], [180, 4, 180], [230, 1, 112], [230, 4, 182]]")
    assert one(on=two).downpack[0].heat_setting_c == 180
    weak = tray("[[120, 1, 50], [120, 4, 60], [230, 1, 110], [230, 4, 180]]")
    assert one(on=weak).downpack[0].heat_setting_c == 230


def test_of_several_readings_at_one_second_the_hottest_counts():
    twice = tray("[[200, 1, 100], [200, 1, 110], [200, 2, 150], [200, 4, 170], [200, 4, 180]]")
    assert one(on=twice).downpack == one().downpack


def test_a_single_wave_is_timed_likewise_and_injection_alone_is_not():
    wave = one("1.5", more='technique = "single_wave"')
    assert wave.heat.surface_rise_c.high < LIMIT
    assert len(wave.downpack) == 1
    assert one(more='technique = "injected_only"').heat is None


@pytest.mark.parametrize(
    ("tooth", "name", "wall", "words"),
    [
        (11, "one", "0.9", "as entered"),
        (11, "one", "", "not known"),
        (36, "MB", "", "mm before shaping"),
    ],
)
def test_the_wall_that_was_taken_is_named(tooth, name, wall, words):
    made = planned(tooth, entry(name, wall), on=tray("[[200, 1, 60]]")).canals[0]
    assert words in made.heat.wall
    assert words in made.heat.surface_rise_c.because


ODD = (
    "[[200, 60, 1000]]",
    "[[1, 0.1, 20]]",
    "[[200, 0, 200]]",
    "[[200, 0, 37], [200, 60, 60]]",
    "[[200, 1, 0], [200, 2, 0]]",
)


@pytest.mark.parametrize("measured", ODD)
@pytest.mark.parametrize(("length", "end"), [("canal_length_mm = 3.5", "30"), ("orifice_at_mm = 1", "15")])
def test_whatever_was_measured_and_however_long_the_canal_the_upper_end_stays_under_the_limit(measured, length, end):
    entered_canal = canal("one", 21.0, length, end, ".04", "curvature = []\nwall_mm = 0.5")
    made = planned(11, entered_canal, on=tray(measured)).canals[0]
    assert made.heat is None or made.heat.surface_rise_c.high < LIMIT
    assert all(s.heat_s is None or s.heat_s <= s.stop_by_s <= 60 for s in made.downpack)


@pytest.mark.parametrize("row", ["[200, 61, 100]", "[200, -1, 100]", "[0, 1, 100]", "[200, 1, 1001]", "[200, 1]"])
def test_a_row_that_nobody_can_have_measured_is_refused(row):
    with pytest.raises(InputRefused, match="measured"):
        plan_text(case_text(11, [entry("one")], tray(f"[{row}]")))

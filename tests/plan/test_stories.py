"""Invented teeth whose plan is known beforehand."""

from __future__ import annotations

import math

import pytest

from rootfill.errors import InputRefused
from tests.plan.cases import canal, case_text, plan_text

STRAIGHT = "curvature = []"
NO_SHORT = "[preferences]\ncone_short_mm = 0\n"
PARALLEL = """
[tray]
cones = [{ name = "20/.04", size = 20, taper = 0.04 }]
pluggers = [
    { name = "45", tip_mm = 0.45, taper = 0 }, { name = "50", tip_mm = 0.50, taper = 0 },
    { name = "70", tip_mm = 0.70, taper = 0 },
]
"""


def reach_of(plan, name="B"):
    one = next(c for c in plan.canals if c.name == name)
    return {p.name: p.reach_s_mm.value for p in one.pluggers}


def test_a_straight_30_04_takes_a_20_04_trimmed_by_2_50_and_lets_parallel_pluggers_down_to_where_widths_meet():
    text = case_text(21, [canal("B", 22.0, "canal_length_mm = 12", "30", ".04", STRAIGHT)], NO_SHORT + PARALLEL)
    plan = plan_text(text)
    one = plan.canals[0]
    assert one.cone is not None
    assert one.cone.trim_to == 30
    assert one.cone.trim_mm.value == pytest.approx(2.50)
    assert reach_of(plan) == pytest.approx({"45": 3.75, "50": 5.00, "70": 10.00}, abs=1e-3)
    assert one.volume_mm3.value == pytest.approx(2.929, abs=5e-4)


def test_a_curved_25_06_holds_parallel_steel_where_the_arc_does():
    bend = "curvature = [{ angle_deg = 25, radius_mm = 8, from_mm = 3 }]"
    plan = plan_text(case_text(21, [canal("B", 22.0, "canal_length_mm = 13", "25", ".06", bend)], NO_SHORT + PARALLEL))
    assert reach_of(plan) == pytest.approx({"45": 4.70, "50": 5.00, "70": 7.5}, abs=0.05)


def test_a_cone_of_higher_taper_seats_4_mm_short_in_the_wrong_place_and_a_lower_taper_is_advised():
    tray = '[tray]\ncones = [{ name = "25/.06", size = 25, taper = 0.06 }]\n'
    plan = plan_text(case_text(36, [canal("D", 19.5, "canal_length_mm = 12", "25", ".04", STRAIGHT)], tray))
    cone = plan.canals[0].cone
    assert cone.seat_s_mm.value == pytest.approx(4.0)
    assert cone.short_of_end_mm.value == pytest.approx(4.0)
    assert cone.verdict == "wrong_place"
    assert "lower taper" in cone.advice[0]


def joined(first_joins: bool):
    join_mb = 'joins = { canal = "ML", at_mm = 3.0 }' if first_joins else ""
    join_ml = "" if first_joins else 'joins = { canal = "MB", at_mm = 3.0 }'
    tray = '[tray]\ncones = [{ name = "25/.06", size = 25, taper = 0.06 }]\n'
    canals = [
        canal("MB", 19.5, "orifice_at_mm = 7.0", "25", ".06", f"{STRAIGHT}\n{join_mb}"),
        canal("ML", 19.0, "orifice_at_mm = 7.0", "25", ".06", f"{STRAIGHT}\n{join_ml}"),
    ]
    return plan_text(case_text(46, canals, tray))


def test_the_second_cone_of_a_joined_pair_ends_at_15_67_above_the_join():
    mb, ml = joined(first_joins=False).canals
    assert ml.cone.trim_to == 45
    assert ml.cone.cone_to_mm.value == pytest.approx(15.667, abs=1e-3)
    assert ml.cone.cone_to_mm.value <= 16.0
    assert any("keep a cone or point in the join" in c for c in ml.cautions)
    assert any("keep a cone or point in the join" in c for c in mb.cautions)


def test_a_joined_pair_counts_the_shared_stretch_once():
    mb, ml = joined(first_joins=False).canals
    # frusta of 25/.06 by hand: pi/12 h (d0^2 + d0 d1 + d1^2)
    whole = math.pi / 12 * 12.5 * (0.25**2 + 0.25 * 1.00 + 1.00**2)
    other = math.pi / 12 * 12.0 * (0.25**2 + 0.25 * 0.97 + 0.97**2)
    shared = math.pi / 12 * 3.0 * (0.25**2 + 0.25 * 0.43 + 0.43**2)
    assert mb.volume_mm3.value == pytest.approx(whole, abs=1e-6)
    assert ml.volume_mm3.value == pytest.approx(other - shared, abs=1e-6)


def test_swapping_which_canal_carries_the_join_changes_both():
    before, after = joined(first_joins=False), joined(first_joins=True)
    for a, b in zip(before.canals, after.canals, strict=True):
        assert a.cone.cone_to_mm.value != b.cone.cone_to_mm.value
        assert a.volume_mm3.value != b.volume_mm3.value
    assert after.canals[0].cone.cone_to_mm.value <= 16.5
    assert [s.canal for s in before.order] == ["MB", "ML"]
    assert [s.canal for s in after.order] == ["ML", "MB"]


def test_a_needle_that_does_not_reach_the_packed_top_leaves_a_blind_gap_that_is_said():
    tray = '[tray]\ncones = [{ name = "25/.04", size = 25, taper = 0.04 }]\n'
    tray += 'needles = [{ name = "23 G", gauge = 23, use = "deliver" }]\n'
    plan = plan_text(case_text(24, [canal("B", 19.5, "orifice_at_mm = 7.0", "25", ".06", "pack_to_mm = 15.0")], tray))
    one = plan.canals[0]
    needle = one.needles[0]
    assert needle.binds_at_mm.value == pytest.approx(12.98, abs=0.01)
    assert needle.set_stop_mm in (11.5, 12.0)
    assert 3.0 <= one.blind_gap_mm.value <= 3.5
    assert one.increments[0].filled_from_above
    assert one.options
    assert any("not reached" in c for c in one.cautions)


def test_a_post_takes_the_place_of_the_back_fill():
    plan = plan_text(case_text(11, [canal("single", 22.0, "orifice_at_mm = 10.5", "45", ".04", "post_planned = true")]))
    one = plan.canals[0]
    assert one.fill_level_mm == 17.0
    assert one.increments == ()
    assert one.post_available_mm.value == pytest.approx(6.5)
    assert any("post" in c for c in one.cautions)


def test_a_c_shape_gives_the_checklist_and_no_numbers():
    plan = plan_text(case_text(47, [canal("C", 20.0, "orifice_at_mm = 8", "30", ".04", 'shape = "c_shape"')]))
    one = plan.canals[0]
    assert plan.has_exit
    assert one.exit.kind == "c_shape"
    assert one.cone is None
    assert one.pluggers == ()
    assert one.increments == ()
    assert plan.ready


@pytest.mark.parametrize(
    ("tooth", "notation", "words"),
    [
        ("55", 'notation = "iso3950"', ["resorbing root, not for this method"]),
        ("18", "", ["upper right third molar", "lower left second molar"]),
    ],
)
def test_a_tooth_that_is_not_for_this_is_refused_in_a_sentence(tooth, notation, words):
    text = case_text(21, [canal("B", 22.0, "canal_length_mm = 12", "30", ".04", "")])
    text = text.replace("tooth = 21", f"tooth = {tooth}").replace('notation = "iso3950"', notation)
    with pytest.raises(InputRefused) as refused:
        plan_text(text)
    assert all(w in refused.value.sentence for w in words)
    assert "\n" not in refused.value.sentence


@pytest.mark.parametrize(("length", "meant"), [("1.85", "18.5"), ("210", "21")])
def test_a_slipped_decimal_point_is_refused_and_the_likely_length_named(length, meant):
    text = case_text(21, [canal("B", 22.0, "canal_length_mm = 12", "30", ".04", "")])
    with pytest.raises(InputRefused) as refused:
        plan_text(text.replace("22.0", length))
    assert "canals[0].working_length_mm" in refused.value.sentence
    assert length in refused.value.sentence
    assert "8 to 40 mm" in refused.value.sentence
    assert f"did you mean {meant}?" in refused.value.sentence

"""Lengths and volumes of whole plans add up, whatever the tooth."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings

from tests.plan.cases import canal, case_text, plan_text
from tests.plan.random_cases import cases, packed, planned

FEW = settings(max_examples=12)


@FEW
@given(cases())
def test_the_increments_reach_from_the_packed_top_to_the_fill_level(text):
    for one in packed(text):
        total = sum(i.length_mm for i in one.increments)
        assert total == pytest.approx(one.packed_top_mm.value - one.fill_level_mm, abs=1e-5), one.name
        assert all(i.length_mm > 0 for i in one.increments)


@FEW
@given(cases())
def test_the_volumes_of_increments_packed_and_unfilled_part_are_the_canals(text):
    for one in packed(text):
        parts = sum(i.volume_mm3.value for i in one.increments)
        total = parts + one.packed_volume_mm3.value + one.unfilled_volume_mm3.value
        assert total == pytest.approx(one.volume_mm3.value, rel=0.01), one.name


@FEW
@given(cases())
def test_the_packed_top_lies_between_the_fill_level_and_the_end(text):
    for one in packed(text):
        assert one.fill_level_mm <= one.packed_top_mm.value <= one.made_end_mm, one.name


@FEW
@given(cases())
def test_the_steps_of_the_down_pack_go_deeper_one_by_one_and_end_where_the_tip_may_go(text):
    for one in packed(text):
        stops = [s.heat_set_stop_mm for s in one.downpack if s.heat_set_stop_mm is not None]
        assert stops == sorted(set(stops)), one.name
        limit = max((h.set_stop_mm for h in one.heated_tips), default=0.0)
        assert all(one.orifice_at_mm < s <= limit for s in stops), one.name
        assert [s.step for s in one.downpack] == list(range(1, len(one.downpack) + 1))


@FEW
@given(cases())
def test_no_push_and_no_needle_of_a_step_passes_the_stop_of_its_instrument(text):
    for one in packed(text):
        stop = {i.name: i.set_stop_mm for i in (*one.pluggers, *one.needles, *one.heated_tips)}
        for step in one.downpack:
            assert step.plugger is None or step.plugger_set_stop_mm <= stop[step.plugger]
        for part in one.increments:
            assert part.needle is None or part.needle_set_stop_mm <= stop[part.needle]


@FEW
@given(cases())
def test_the_order_of_work_lists_every_canal_once(text):
    plan = planned(text)
    if plan is not None:
        assert sorted(s.canal for s in plan.order) == sorted(c.name for c in plan.canals)


def test_a_joined_pair_shares_out_the_whole_pair_once():
    # 25/.06: both to the join at 3.0, the shared stretch counted with the first: pi/12 h (d0² + d0 d1 + d1²)
    straight = "curvature = []"
    canals = [
        canal("MB", 19.5, "canal_length_mm = 12", "25", ".06", straight),
        canal("ML", 19.0, "canal_length_mm = 12", "25", ".06", f'{straight}\njoins = {{ canal = "MB", at_mm = 3.0 }}'),
    ]
    mb, ml = plan_text(case_text(46, canals)).canals
    whole, own = 0.25**2 + 0.25 * 0.97 + 0.97**2, 0.43**2 + 0.43 * 0.97 + 0.97**2
    pair = math.pi / 12 * (12 * whole + 9 * own)
    assert mb.volume_mm3.value + ml.volume_mm3.value == pytest.approx(pair, rel=1e-9)
    for one in (mb, ml):
        parts = sum(i.volume_mm3.value for i in one.increments)
        total = parts + one.packed_volume_mm3.value + one.unfilled_volume_mm3.value
        assert total == pytest.approx(one.volume_mm3.value, rel=1e-9)

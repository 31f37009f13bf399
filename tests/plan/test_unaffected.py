"""A canal that a change does not touch keeps its numbers, to the last digit."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rootfill.clinic.plan_case import first_look, full_plan
from rootfill.clinic.result import plan_data, plan_json, read_plan
from rootfill.errors import InputRefused
from rootfill.plan import CanalPlan, Plan, unaffected
from tests.plan.cases import canal, case_text
from tests.plan.random_changes import cases_with_findings, changed_once, entered


def planned(text: str, keep: dict[str, CanalPlan] | None = None) -> Plan | None:
    asked = entered(text)
    try:
        return None if asked is None else full_plan(*asked, keep or {})
    except InputRefused:
        return None


def kept(before: str, after: str) -> frozenset[str]:
    was, now = entered(before), entered(after)
    assert was is not None
    assert now is not None
    return unaffected(*was, *now)


@settings(max_examples=25, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_a_plan_with_kept_canals_is_the_plan_from_scratch(data):
    before = data.draw(cases_with_findings())
    after = data.draw(changed_once(before))
    old, scratch = planned(before), planned(after)
    if old is None or scratch is None:
        return
    names = kept(before, after)
    stored = {c.name: c for c in read_plan(plan_json(old)).canals if c.name in names}
    assert plan_data(planned(after, stored)) == plan_data(scratch)


STRAIGHT = "curvature = []"
THREE = [
    canal("A", 20.0, "orifice_at_mm = 8", "30", ".04", STRAIGHT),
    canal("B", 20.0, "orifice_at_mm = 8", "30", ".04", f"{STRAIGHT}\njoins = {{ canal = 'A', at_mm = 3 }}"),
    canal("C", 21.0, "orifice_at_mm = 8", "35", ".04", STRAIGHT),
]
VISIT = "[[visits]]\nid = 1\nisolated = true\nrinsed = true\n"
TEXT = case_text(46, THREE, VISIT)


@pytest.mark.parametrize(
    ("old", "new", "stay"),
    [
        # what no canal reads keeps all of them
        ('id = "invented"', 'id = "other"\nnote = "n"\ndiagnosis = "vital"', "ABC"),
        ("rinsed = true", "rinsed = false", "ABC"),
        ("[[visits]]", "[patient]\npacemaker = true\n[materials]\nsealer = 'epoxy sealer'\n[[visits]]", "ABC"),
        # what every canal reads keeps none
        ("isolated = true", "isolated = false", ""),
        ("[[visits]]", "[preferences]\nstop_margin_mm = 1\n[[visits]]", ""),
        ("tooth = 46", "tooth = 36", ""),
        ("[[visits]]", "[tray]\ncones = [{ name = 'a', size = 25, taper = 0.04 }]\n[[visits]]", ""),
        ("[[visits]]", "[[findings]]\nkind = 'reference_moved'\nby_mm = 0.5\n[[visits]]", ""),
        ("[[visits]]", "[[findings]]\nkind = 'reference_moved'\ncanal = 'C'\nby_mm = 0.5\n[[visits]]", ""),
        # a canal alone
        ("working_length_mm = 21.0", "working_length_mm = 20.5", "AB"),
        ("[[visits]]", "[[findings]]\nkind = 'binds'\ncanal = 'C'\ninstrument = '60'\nvalue_mm = 14\n[[visits]]", "AB"),
        ('reference = "C cusp tip"', 'reference = "C cusp"', "AB"),
        # of joined canals: a reference is its own, the place of the join and the end are shared
        ('reference = "A cusp tip"', 'reference = "A cusp"', "BC"),
        ("at_mm = 3 }", "at_mm = 4 }", "C"),
        ('reference = "A cusp tip"', 'reference = "A cusp tip"\ndrying = "damp"', "C"),
        ("joins = {", "features = [{ kind = 'ledge', from_mm = 1, to_mm = 2 }]\njoins = {", "C"),
        ("joins = {", "features = [{ kind = 'ledge', from_mm = 5, to_mm = 6 }]\njoins = {", "AC"),
    ],
)
def test_only_what_a_change_touches_is_computed_again(old, new, stay):
    assert TEXT.count(old) >= 1
    assert kept(TEXT, TEXT.replace(old, new, 1)) == frozenset(stay)


def test_the_same_case_keeps_every_canal_in_whatever_order_they_stand():
    turned = case_text(46, [THREE[2], THREE[0], THREE[1]], VISIT)
    assert kept(TEXT, TEXT) == kept(TEXT, turned) == {"A", "B", "C"}


def test_a_renamed_canal_is_a_new_one():
    assert kept(TEXT, TEXT.replace('name = "C"', 'name = "D"')) == {"A", "B"}


def test_nothing_is_kept_of_a_case_that_cannot_be_planned():
    assert kept(TEXT, TEXT.replace("at_mm = 3 }", "at_mm = 11.9 }")) == frozenset()


def test_a_full_plan_keeps_nothing_of_a_first_look_and_a_first_look_keeps_what_is_full():
    asked = entered(TEXT)
    assert asked is not None
    quick, full = first_look(*asked, {}), full_plan(*asked, {})
    assert full_plan(*asked, {c.name: c for c in quick.canals}) == full
    mixed = first_look(*asked, {"A": full.canals[0]})
    assert [c.effort for c in mixed.canals] == ["full", "quick", "quick"]
    assert (mixed.effort, full.effort, {c.effort for c in full.canals}) == ("quick", "full", {"full"})


MEASURED = (
    "[tray]\ncones = [{ name = 'c', size = 25, taper = 0.04 }]\n"
    "pluggers = [{ name = 'p', tip_mm = 0.5, taper = 0.02 }]\n"
    "heated_tips = [{ name = 'hot', tip_mm = 0.4, taper = 0.04, measured = [[200, 2, 120]] }]\n"
)
UNMEASURED = MEASURED.replace("[[200, 2, 120]]", "[]")


@pytest.mark.parametrize(("tray", "stay"), [(MEASURED, {"D"}), (UNMEASURED, {"D", "ML"})])
def test_with_a_measured_tip_a_change_reaches_the_other_canals_of_its_root_and_no_further(tray, stay):
    walls = {"MB": "1.0", "ML": "1.1", "D": "1.2"}
    three = [canal(name, 20.0, "orifice_at_mm = 8", "30", ".06", f"wall_mm = {wall}") for name, wall in walls.items()]
    text = case_text(46, three, tray)
    assert kept(text, text.replace("wall_mm = 1.0", "wall_mm = 0.9")) == stay


def test_a_tray_that_is_no_longer_assumed_keeps_no_canal():
    text = case_text(46, [canal("D", 20.0, "orifice_at_mm = 8", "30", ".06", "wall_mm = 1.0")], MEASURED)
    assert kept(text.replace("[tray]", "[tray]\nassumed = true"), text) == frozenset()

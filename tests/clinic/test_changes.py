"""What a new plan changes for the hand, and what of a printed card no longer holds."""

from __future__ import annotations

import dataclasses
import re
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rootfill import clinic
from rootfill.clinic.changes import Change, changes, out_of_date
from rootfill.clinic.result import plan_json, read_plan
from rootfill.plan import Plan
from rootfill.plan.model import CanalPlan, Exit, OrderStep, Question
from rootfill.units import Estimate
from tests.plan.cases import NoTrays
from tests.plan.random_cases import cases
from tests.plan.random_changes import CANAL, cases_with_findings, changed_once, number_changed
from tests.plan.test_unaffected import planned


@pytest.fixture(scope="module")
def demo() -> Plan:
    """MB and ML, which join, DB and DL; as a store gives it back."""
    return read_plan(plan_json(clinic.plan_case(clinic.demo_case(), NoTrays())))


def canal(plan: Plan, name: str) -> CanalPlan:
    return next(c for c in plan.canals if c.name == name)


def with_canal(plan: Plan, name: str, /, **fields: Any) -> Plan:
    """The plan with one canal that has other values."""
    canals = tuple(dataclasses.replace(c, **fields) if c.name == name else c for c in plan.canals)
    return dataclasses.replace(plan, canals=canals)


def with_cone(plan: Plan, name: str, /, **fields: Any) -> Plan:
    cone = canal(plan, name).cone
    assert cone is not None
    return with_canal(plan, name, cone=dataclasses.replace(cone, **fields))


def with_one_of(plan: Plan, name: str, part: str, place: int, /, **fields: Any) -> Plan:
    """The same with one plugger, step or increment that has other values."""
    parts = list(getattr(canal(plan, name), part))
    parts[place] = dataclasses.replace(parts[place], **fields)
    return with_canal(plan, name, **{part: tuple(parts)})


def says(before: Plan, after: Plan) -> list[str]:
    return [change.says for change in changes(before, after)]


def test_a_plan_that_did_not_change_says_nothing(demo):
    again = read_plan(plan_json(demo))
    assert changes(demo, again) == ()
    assert out_of_date(demo, again) == ()


def chosen(plan: Plan, name: str, role: str) -> int:
    return next(i for i, p in enumerate(canal(plan, name).pluggers) if p.role == role)


def test_every_thing_the_hand_sets_is_one_line_when_it_changes(demo):
    apical = chosen(demo, "DB", "apical")
    # DB of the demonstration: apical 50 at 15.5, steps at 12.0 and 15.5, increments 2.0 and 3.5 by needle 25 G
    expected = {
        "reference": (with_canal(demo, "DB", reference="DB cusp"), "DB: reference DB cusp, was DB cusp tip"),
        "end": (with_canal(demo, "DB", working_length_mm=20.5), "DB: end, set by you 20.5, was 21.0"),
        "cone": (with_cone(demo, "DB", name="35/.02"), "DB: cone 35/.02, was 30/.02"),
        "trim": (
            with_cone(demo, "DB", trim_to=30),
            "DB: cone's tip 30, not trimmed, was trimmed to 35, by gauge",
        ),
        "mark": (with_cone(demo, "DB", cone_set_mm=20.5), "DB: cone, set to 20.5, was 21.0"),
        "stop": (
            with_one_of(demo, "DB", "pluggers", apical, set_stop_mm=15.0),
            "DB: plugger 50, stop 15.0, was 15.5",
        ),
        "other plugger": (
            with_one_of(demo, "DB", "pluggers", apical, name="45"),
            "DB: apical plugger 45, stop 15.5, was 50, stop 15.5",
        ),
        "no plugger": (
            with_one_of(demo, "DB", "pluggers", apical, role=None),
            "DB: apical plugger 50, stop 15.5, no longer",
        ),
        "heat": (
            with_one_of(demo, "DB", "downpack", 1, heat_set_stop_mm=15.0),
            "DB: fine tip, step 2, stop 15.0, was 15.5",
        ),
        "other tip": (
            with_one_of(demo, "DB", "downpack", 1, heated_tip="wide"),
            "DB: step 2 with heated tip wide, stop 15.5, was fine tip, stop 15.5",
        ),
        "no step": (
            with_canal(demo, "DB", downpack=canal(demo, "DB").downpack[:1]),
            "DB: step 2 with fine tip, stop 15.5, no longer",
        ),
        "increment": (
            with_one_of(demo, "DB", "increments", 0, length_mm=2.5),
            "DB: increment 1, length 2.5, was 2.0",
        ),
        "needle": (
            with_one_of(demo, "DB", "increments", 0, needle_set_stop_mm=14.5),
            "DB: increment 1, needle 25 G, stop 14.5, was 15.0",
        ),
        "other needle": (
            with_one_of(demo, "DB", "increments", 0, needle="23 G"),
            "DB: increment 1 with needle 23 G, stop 15.0, was needle 25 G, stop 15.0",
        ),
        "level": (with_canal(demo, "DB", fill_level_mm=10.5), "DB: fill to 10.5, was 10.0"),
    }
    assert {what: says(demo, after) for what, (after, _) in expected.items()} == {
        what: [line] for what, (_, line) in expected.items()
    }
    assert {what: out_of_date(demo, after) for what, (after, _) in expected.items()} == dict.fromkeys(expected, ("DB",))


def test_what_comes_new_says_so_and_takes_its_own_numbers_with_it(demo):
    less = with_canal(demo, "DB", cone=None, increments=canal(demo, "DB").increments[:1])
    assert says(less, demo) == ["DB: cone 30/.02, new", "DB: increment 2, length 3.5, new"]
    assert says(demo, less) == ["DB: cone 30/.02, no longer", "DB: increment 2, length 3.5, no longer"]


def test_a_canal_more_or_less_is_one_line(demo):
    less = dataclasses.replace(demo, canals=demo.canals[:3])
    assert changes(demo, less) == (Change("DL", "canal removed", None, None),)
    assert says(less, demo) == ["DL: new canal"]
    assert out_of_date(demo, less) == out_of_date(less, demo) == ("DL",)


def test_an_exit_that_comes_or_goes_is_one_line_and_stands_for_all_numbers(demo):
    left = with_canal(
        demo, "DB", exit=Exit("not_dry", "the canal bleeds", "Not today."), cone=None, pluggers=(), downpack=(),
        increments=(), fill_level_mm=None, cautions=(),
    )  # fmt: skip
    assert says(demo, left) == ["DB: not for this method: the canal bleeds, new"]
    assert says(left, demo) == ["DB: not for this method: the canal bleeds, no longer"]
    damp = with_canal(left, "DB", exit=Exit("not_dry", "the canal stays damp", "Not today."), reference="x")
    assert says(left, damp) == [
        "DB: not for this method: the canal stays damp, was the canal bleeds",
        "DB: reference x, was DB cusp tip",
    ]
    assert out_of_date(demo, left) == ("DB",)


def test_a_caution_that_is_new_or_gone_is_a_line_each(demo):
    other = with_canal(demo, "DB", cautions=("Beware.",))
    gone = [f"DB: no longer said: {text}" for text in canal(demo, "DB").cautions]
    assert says(demo, other) == [*gone, "DB: new caution: Beware."]
    assert out_of_date(demo, other) == ("DB",)
    tooth = dataclasses.replace(demo, cautions=(*demo.cautions, "Beware of the nerve."))
    assert says(demo, tooth) == ["New caution: Beware of the nerve."]
    assert says(tooth, demo) == ["No longer said: Beware of the nerve."]
    assert out_of_date(demo, tooth) == ("the cautions",)


def test_cautions_that_the_card_says_elsewhere_do_not_make_it_old(demo):
    assert any("keep a cone or point in the join" in text for text in canal(demo, "ML").cautions)
    without = with_canal(demo, "ML", cautions=canal(demo, "ML").cautions[1:])
    assert len(changes(demo, without)) == 1
    assert out_of_date(demo, without) == ()


def test_the_order_of_work_is_a_line_of_its_own(demo):
    turned = dataclasses.replace(demo, order=(*demo.order[2:], *demo.order[:2]))
    pair = "MB with the cone of ML in the join, ML"
    assert says(demo, turned) == [f"Order of work: DB, DL, {pair}, was {pair}, DB, DL"]
    assert out_of_date(demo, turned) == ("the order of work",)
    alone = dataclasses.replace(demo, order=(OrderStep("MB", "packed on its own"), *demo.order[1:]))
    assert says(demo, alone) == ["Order of work: MB, ML, DB, DL, was MB with the cone of ML in the join, ML, DB, DL"]


def test_an_order_that_only_lacks_a_removed_canal_is_not_called_changed(demo):
    less = dataclasses.replace(demo, canals=demo.canals[:3], order=demo.order[:3])
    assert says(demo, less) == ["DL: canal removed"]
    assert out_of_date(demo, less) == ("DL",)


def test_the_sealer_is_a_line_of_its_own(demo):
    assert demo.sealer is not None
    other = dataclasses.replace(demo, sealer=dataclasses.replace(demo.sealer, name="silicone"))
    assert says(demo, other) == ["Sealer silicone, was epoxy sealer"]
    assert out_of_date(demo, other) == ("the sealer",)


def test_an_answer_and_a_note_make_a_card_old_and_are_nothing_to_set(demo):
    asked = dataclasses.replace(demo, ready=(Question("Isolated", "no"), *demo.ready))
    assert out_of_date(demo, asked) == ("the open questions",)
    answered = dataclasses.replace(demo, ready=(Question("Isolated", "yes"), *demo.ready))
    assert out_of_date(demo, answered) == ()
    noted = dataclasses.replace(demo, note="Another tooth.")
    assert out_of_date(demo, noted) == ("the heading",)
    assert changes(demo, asked) == changes(demo, noted) == ()


@pytest.mark.parametrize(("by", "old"), [(0.004, ()), (0.2, ("DB",))])
def test_an_interval_makes_a_card_old_only_where_it_is_printed_otherwise(demo, by, old):
    top = canal(demo, "DB").packed_top_mm
    assert top is not None
    wider = Estimate(top.value, top.low - by, top.high + by, top.unit, top.because, top.source)
    assert round(top.low, 1) == round(top.low - 0.004, 1)
    assert out_of_date(demo, with_canal(demo, "DB", packed_top_mm=wider)) == old


def test_a_number_no_card_prints_makes_none_old(demo):
    unchosen = next(i for i, p in enumerate(canal(demo, "DB").pluggers) if p.role is None)
    assert out_of_date(demo, with_one_of(demo, "DB", "pluggers", unchosen, set_stop_mm=9.0)) == ()


def alone(plan: Plan) -> list[CanalPlan]:
    """Canals that join no other and that no other joins."""
    joined = {c.ends_in for c in plan.canals} | {c.name for c in plan.canals if c.ends_in is not None}
    return [c for c in plan.canals if c.name not in joined]


@settings(max_examples=20, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_one_changed_number_of_an_unjoined_canal_never_names_another_canal(data):
    before = data.draw(cases())
    old = planned(before)
    if old is None or not alone(old):
        return
    name = data.draw(st.sampled_from(alone(old))).name
    start = before.index(f'[[canals]]\nname = "{name}"')
    end = re.compile(r"^\[", re.MULTILINE).search(before, start + 3)
    assert end is not None
    new = planned(number_changed(data.draw, before, (start, end.start())))
    if new is None:
        return
    others = {c.name for c in old.canals} - {name}
    assert not others & set(out_of_date(old, new))
    assert not others & {change.canal for change in changes(old, new)}


@settings(max_examples=12, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_what_makes_a_card_old_is_turned_round_the_same_and_every_line_is_a_plain_one(data):
    before = data.draw(cases_with_findings())
    old, new = planned(before), planned(data.draw(changed_once(before)))
    if old is None or new is None:
        return
    assert set(out_of_date(old, new)) == set(out_of_date(new, old))
    lines, back = says(old, new), says(new, old)
    assert len(lines) == len(back)
    assert len(set(lines)) == len(lines)
    assert not any("None" in line or "  " in line for line in lines)
    stale = set(out_of_date(old, new))
    set_otherwise = {c.canal for c in changes(old, new) if c.canal is not None and c.what != "caution"}
    assert set_otherwise <= stale
    assert {*CANAL.findall(before)} >= set_otherwise

"""A plan goes to plan.json and comes back the same."""

from __future__ import annotations

import json

import pytest
from hypothesis import HealthCheck, given, settings

from rootfill import clinic
from rootfill.clinic.result import plan_data, plan_json, read_plan
from rootfill.errors import RootfillError
from rootfill.plan import Plan
from tests.plan.cases import NoTrays
from tests.plan.random_changes import cases_with_findings
from tests.plan.test_unaffected import planned


@pytest.fixture(scope="module")
def demo() -> Plan:
    return clinic.plan_case(clinic.demo_case(), NoTrays())


@settings(max_examples=12, suppress_health_check=[HealthCheck.too_slow])
@given(cases_with_findings())
def test_what_was_read_back_has_the_same_text(text):
    plan = planned(text)
    if plan is not None:
        assert plan_json(read_plan(plan_json(plan))) == plan_json(plan)


def test_what_was_read_back_is_a_plan_of_the_same_parts(demo):
    again = read_plan(plan_json(demo))
    assert [type(part) for part in vars(again).values()] == [type(part) for part in vars(demo).values()]
    assert again.canals[0].pluggers[0].binds_at_mm.value == pytest.approx(demo.canals[0].pluggers[0].binds_at_mm.value)
    assert (again.has_exit, again.order, again.ready) == (demo.has_exit, demo.order, demo.ready)


@pytest.mark.parametrize("form", [0, 2, "1a"])
def test_a_plan_of_another_form_is_refused_and_says_which(demo, form):
    with pytest.raises(RootfillError, match=f"form {form}, and this version reads form 1: make the plan again"):
        read_plan(json.dumps(plan_data(demo) | {"schema": form}))


def test_a_plan_of_another_form_is_refused_though_its_parts_are_unknown():
    with pytest.raises(RootfillError, match="form 7"):
        read_plan('{"schema": 7, "roots": []}')


@pytest.mark.parametrize("text", ["", "[]", "{}", "null", '{"schema": 1}'])
def test_what_is_no_plan_is_refused_in_a_sentence(text):
    with pytest.raises(RootfillError, match=r"make the plan again from its case\.$"):
        read_plan(text)


def test_a_plan_from_before_there_were_first_looks_is_a_full_one(demo):
    data = plan_data(demo)
    older = {k: v for k, v in data.items() if k not in ("seen", "effort")}
    older["canals"] = [{k: v for k, v in c.items() if k != "effort"} for c in data["canals"]]
    assert read_plan(json.dumps(older)).effort == "full"

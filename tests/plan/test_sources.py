"""Every number says where it comes from."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from rootfill import clinic, tables
from rootfill.errors import TableError
from rootfill.plan import estimates
from tests.plan.cases import NoTrays
from tests.plan.random_cases import cases, planned


@settings(max_examples=12)
@given(cases())
def test_each_source_of_an_estimate_is_a_row_of_the_table_and_is_listed_once(text):
    plan = planned(text)
    if plan is None:
        return
    used = {e.source for e in estimates(plan)}
    assert used
    for one in used:
        assert tables.source(one).mark in tables.MARKS
    assert sorted(s.id for s in plan.sources) == sorted(used)


def test_the_demonstration_names_its_sources_with_their_marks():
    plan = clinic.plan_case(clinic.demo_case(), NoTrays())
    assert {s.id for s in plan.sources} == {e.source for e in estimates(plan)}
    assert all(s.text and s.mark in tables.MARKS for s in plan.sources)
    # DB's plugger was tried in at the chair
    assert "seen" in {s.id for s in plan.sources}


def test_a_source_that_is_not_in_the_table_is_our_own_fault():
    with pytest.raises(TableError, match=r"fit\.guess"):
        tables.source("fit.guess")

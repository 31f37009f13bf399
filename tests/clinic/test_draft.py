"""What of a case can be planned while it is still being entered."""

from __future__ import annotations

import copy
import tomllib

import pytest

from rootfill import clinic
from rootfill.clinic.draft import draft_of
from rootfill.errors import InputRefused


@pytest.fixture
def demo():
    data = copy.deepcopy(tomllib.loads(clinic.demo_case()))
    return {**data, "canals": [dict(c) for c in data["canals"]]}


def test_a_whole_case_is_planned_whole(demo) -> None:
    draft = draft_of(demo)
    assert draft.case is not None
    assert [c.name for c in draft.case.canals] == ["MB", "ML", "DB", "DL"]
    assert draft.left_out == {}


def test_a_canal_that_is_only_begun_says_what_it_needs_and_the_others_are_planned(demo) -> None:
    demo["canals"][2] = {"name": "DB", "reference": "DB cusp tip"}
    draft = draft_of(demo)
    assert draft.case is not None
    assert [c.name for c in draft.case.canals] == ["MB", "ML", "DL"]
    assert draft.left_out == {"DB": "needs length, last file, orifice"}
    assert all(f.canal != "DB" for f in draft.case.findings)


def test_a_canal_that_ends_in_one_that_is_not_planned_waits_for_it(demo) -> None:
    del demo["canals"][0]["working_length_mm"]
    draft = draft_of(demo)
    assert draft.left_out == {"MB": "needs length", "ML": "joins MB, which is not planned"}


def test_numbers_of_one_canal_that_do_not_go_together_leave_the_others_their_plan(demo) -> None:
    demo["canals"][3]["orifice_at_mm"] = 12.0
    draft = draft_of(demo)
    assert draft.case is not None
    assert [c.name for c in draft.case.canals] == ["MB", "ML", "DB"]
    assert draft.left_out["DL"].startswith("last file is 12.0; its last station is the orifice, 8.5 mm")


def test_nothing_entered_is_no_plan_and_no_refusal() -> None:
    draft = draft_of({"case": {"id": "a", "tooth": 36, "notation": "iso3950"}, "canals": [{"name": "MB"}]})
    assert draft.case is None
    assert draft.left_out == {"MB": "needs reference, length, last file, orifice"}


def test_what_no_canal_is_to_blame_for_is_refused(demo) -> None:
    demo["findings"].append({"kind": "locator", "canal": "MB", "visit": 9, "value_mm": 20})
    draft = draft_of(demo)
    assert draft.case is not None  # an unknown visit is the plan's to refuse, with its field
    demo["findings"].append({"kind": "nonsense"})
    with pytest.raises(InputRefused, match="kind"):
        draft_of(demo)

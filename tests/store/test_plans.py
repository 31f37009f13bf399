"""Plans and documents, every version."""

from __future__ import annotations

import json
import threading

import pytest
from sqlalchemy import text

from rootfill.clinic.kept import DocumentLine, KeptPlan
from rootfill.errors import NotFound
from tests.store.invented import AT, LATER, begin
from tests.store.many import demo

INPUTS = {"case": {"id": "A-1", "canals": [{"name": "MB"}]}, "tray": {"name": "t"}}


def test_a_plan_is_read_back_with_everything_it_was_made_from(store) -> None:
    case = begin(store).key
    kept = store.records.keep_plan(case, INPUTS, '{"id": "Ä"}', "rootfill 1", AT)
    assert kept == KeptPlan(case, 1, AT, "rootfill 1", INPUTS, '{"id": "Ä"}')
    assert store.records.newest_plan(case) == store.records.plan(case, 1) == kept


def test_a_case_without_a_plan_has_no_newest_one(store) -> None:
    assert store.records.newest_plan(begin(store).key) is None


def test_plans_are_numbered_within_their_case(store) -> None:
    one, two = begin(store, "A").key, begin(store, "B").key
    numbers = [store.records.keep_plan(case, {"n": n}, "", "p", AT).number for n in range(3) for case in (one, two)]
    assert numbers == [1, 1, 2, 2, 3, 3]
    assert store.records.newest_plan(one).inputs == {"n": 2}
    assert store.records.plan(two, 2).inputs == {"n": 1}


def test_the_same_inputs_by_the_same_program_are_the_newest_plan_again(store) -> None:
    case = begin(store).key
    first = store.records.keep_plan(case, INPUTS, "one", "p 1", AT)
    otherwise_ordered = json.loads(json.dumps(INPUTS, sort_keys=True))
    assert store.records.keep_plan(case, dict(reversed(otherwise_ordered.items())), "two", "p 1", LATER) == first
    assert store.records.keep_plan(case, INPUTS, "two", "p 2", LATER).number == 2
    assert store.records.keep_plan(case, INPUTS, "three", "p 1", LATER).number == 3, "not the newest any more"
    assert store.records.keep_plan(case, {**INPUTS, "tray": {}}, "four", "p 1", LATER).number == 4


def test_two_who_plan_the_same_case_at_once_keep_one_plan(store) -> None:
    case = begin(store).key
    kept = []
    threads = [
        threading.Thread(target=lambda n=n: kept.append(store.records.keep_plan(case, {"n": n % 2}, "", "p", AT)))
        for n in (0, 0, 0, 0)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [plan.number for plan in kept] == [1, 1, 1, 1]


def test_a_plan_takes_a_tenth_of_its_room(store) -> None:
    plan = demo().plan
    store.records.keep_plan(begin(store).key, INPUTS, plan, "p", AT)
    with store.engine.connect() as connection:
        packed = connection.scalar(text("SELECT length(plan) FROM plans"))
    assert len(plan) > 100_000
    assert packed < 0.11 * len(plan)
    assert store.records.newest_plan(1).plan == plan


def test_documents_are_listed_newest_first_and_read_one_by_one(store) -> None:
    case = begin(store).key
    store.records.keep_plan(case, INPUTS, "", "p", AT)
    made = store.records.keep_documents(case, 1, {"card.pdf": b"%PDF\x00card", "report.html": b"<html>"}, AT)
    again = store.records.keep_documents(case, 1, {"card.pdf": b"%PDF again"}, LATER)
    assert made[0] == DocumentLine(made[0].key, case, 1, "card.pdf", AT)
    assert store.records.documents(case) == (again[0], made[1], made[0])
    assert store.records.document(case, made[0].key) == (made[0], b"%PDF\x00card")
    assert store.records.document(case, again[0].key) == (again[0], b"%PDF again")


def test_a_document_or_plan_of_another_case_is_not_found(store) -> None:
    one, two = begin(store, "A").key, begin(store, "B").key
    store.records.keep_plan(one, INPUTS, "", "p", AT)
    (made,) = store.records.keep_documents(one, 1, {"card.pdf": b"1"}, AT)
    with pytest.raises(NotFound, match="There is no document"):
        store.records.document(two, made.key)
    with pytest.raises(NotFound, match="There is no plan 1 of this case"):
        store.records.keep_documents(two, 1, {"card.pdf": b"1"}, AT)
    assert store.records.documents(two) == ()

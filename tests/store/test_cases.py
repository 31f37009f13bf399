"""Cases: begun, read, removed."""

from __future__ import annotations

import datetime as dt
import math

import pytest

from rootfill.clinic.kept import Edit, Row
from rootfill.errors import InputRefused, NotFound
from tests.store.invented import AT, BY, begin, everything, length, mark

EST = dt.timezone(dt.timedelta(hours=-5))
NOWHERE = (
    lambda records: records.case(7),
    lambda records: records.remove_case(7),
    lambda records: records.mark(7, [], "typed", BY, AT),
    lambda records: records.undo(7, BY, AT),
    lambda records: records.marks(7, 5),
    lambda records: records.newest_plan(7),
    lambda records: records.plan(7, 1),
    lambda records: records.keep_plan(7, {}, "", "p", AT),
    lambda records: records.keep_documents(7, 1, {}, AT),
    lambda records: records.documents(7),
    lambda records: records.document(7, 1),
    lambda records: records.tray(7),
    lambda records: records.change_tray(7, {}, {}, AT),
    lambda records: records.remove_tray(7),
)


def test_a_case_is_read_back_as_it_was_entered(store) -> None:
    kept = begin(store, patient={"allergies": ["latex"], "pacemaker": False})
    assert store.records.case(kept.key) == kept
    assert kept.revision == 1
    assert kept.sections["case"] == {"id": "A-1", "tooth": 36, "notation": "iso3950"}
    assert kept.sections["patient"] == {"allergies": ["latex"], "pacemaker": False}
    assert kept.visits == (Row(kept.visits[0].key, {"id": 1}),)
    assert [row.entered for row in kept.canals] == [{"name": "MB", "working_length_mm": 20.5}, {"name": "D"}]
    assert kept.findings == ()


def test_the_first_mark_is_number_one_and_names_every_row(store) -> None:
    kept = begin(store)
    (first,) = store.records.marks(kept.key, 5)
    assert (first.number, first.at, first.by, first.says, first.undone, first.undoes) == (
        1, AT, BY, "case begun", False, None
    )  # fmt: skip
    assert first.edits == (
        Edit("case", 0, None, kept.sections["case"]),
        Edit("visit", kept.visits[0].key, None, {"id": 1}),
        Edit("canal", kept.canals[0].key, None, kept.canals[0].entered),
        Edit("canal", kept.canals[1].key, None, {"name": "D"}),
    )


def test_times_go_in_with_any_zone_and_come_out_in_utc(store) -> None:
    at = dt.datetime(2026, 11, 24, 23, 30, 15, 123456, tzinfo=EST)
    key = store.records.add_case({}, [], [], "begun", BY, at).key
    kept = store.records.case(key)
    assert kept.made_at == kept.changed_at == at
    assert kept.made_at.utcoffset() == dt.timedelta(0)
    assert store.records.marks(key, 1)[0].at.utcoffset() == dt.timedelta(0)


def test_dates_and_pairs_are_kept_as_a_case_file_would_have_them(store) -> None:
    visit = {"date": dt.date(2026, 10, 6), "teeth": (11, 12), "note": "Müller – 3°"}
    kept = store.records.add_case({}, [visit], [], "begun", BY, AT)
    assert kept.visits[0].entered == {"date": "2026-10-06", "teeth": [11, 12], "note": "Müller – 3°"}
    changed = Edit("visit", kept.visits[0].key, visit, {**visit, "date": dt.date(2026, 10, 7)})
    mark(store, kept, changed)
    assert store.records.case(kept.key).visits[0].entered["date"] == "2026-10-07"


def test_an_id_that_another_case_has_is_refused_and_nothing_is_kept(store) -> None:
    begin(store, "A-1")
    before = everything(store)
    with pytest.raises(InputRefused, match="another case has this id") as refused:
        begin(store, "A-1")
    assert (refused.value.field, refused.value.value) == ("case.id", "A-1")
    assert everything(store) == before


def test_any_number_of_cases_may_still_be_without_an_id(store) -> None:
    first, second = begin(store, None), begin(store, None)
    assert first.key != second.key
    assert [line.id for line in store.records.cases("", 10, 0).lines] == ["", ""]


def test_a_removed_case_takes_everything_of_its_own_along_and_nothing_else(store) -> None:
    other = begin(store, "B-1")
    before = everything(store)
    kept = begin(store, "A-1")
    mark(store, kept, length(kept, 20.5, 21), Edit("finding", None, None, {"canal": "MB", "kind": "locator"}))
    store.records.keep_plan(kept.key, {"case": 1}, "{}", "p", AT)
    store.records.keep_documents(kept.key, 1, {"card.pdf": b"%PDF"}, AT)
    assert all(everything(store)[name] for name in ("findings", "plans", "documents"))
    store.records.remove_case(kept.key)
    assert everything(store) == before
    assert store.records.case(other.key) == other


def test_the_numbers_of_a_removed_case_and_its_rows_are_not_given_again(store) -> None:
    gone = begin(store)
    store.records.remove_case(gone.key)
    new = begin(store)
    assert new.key > gone.key
    assert new.canals[0].key > gone.canals[-1].key
    assert new.visits[0].key > gone.visits[-1].key


@pytest.mark.parametrize("asked", NOWHERE)
def test_what_is_not_kept_is_not_found_and_the_sentence_says_what_to_do(store, asked) -> None:
    with pytest.raises(NotFound, match=r"^There is no (case|plan|document|tray) .*go back to the"):
        asked(store.records)


def test_a_number_too_large_to_be_one_of_ours_is_not_found(store) -> None:
    with pytest.raises(NotFound):
        store.records.case(2**64)


@pytest.mark.parametrize(
    ("fields", "field"),
    [({"name": "MB", "wall_mm": math.nan}, "a number"), ({"name": "M\ud800"}, "a sign in the text")],
)
def test_what_no_file_could_hold_is_refused(store, fields, field) -> None:
    before = everything(store)
    with pytest.raises(InputRefused) as refused:
        store.records.add_case({}, [], [fields], "begun", BY, AT)
    assert refused.value.field == field
    assert everything(store) == before


def test_a_part_that_no_case_has_is_refused(store) -> None:
    kept = begin(store)
    with pytest.raises(InputRefused, match=r"part is 'crown'; allowed: case, .*finding"):
        mark(store, kept, Edit("crown", None, None, {"material": "gold"}))


def test_a_moment_without_a_zone_is_our_own_fault(store) -> None:
    with pytest.raises(Exception, match="a moment without a time zone"):
        store.accounts.add_user("Ann", "owner", "hash", AT.replace(tzinfo=None))

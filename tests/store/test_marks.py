"""Marks: kept whole or not at all, against what their writer saw, and taken back whole."""

from __future__ import annotations

import pytest

from rootfill.clinic.kept import LISTS, SECTIONS, Edit
from rootfill.errors import ChangedMeanwhile, InputRefused, NotFound
from tests.store.invented import AT, BY, LATER, begin, everything, length, mark

MB = {"name": "MB", "working_length_mm": 20.5}


def parts_of(case):
    return dict(case.sections), case.visits, case.canals, case.findings


def test_a_mark_changes_the_fields_that_differ_and_leaves_the_others(store) -> None:
    case = begin(store)
    made = mark(store, case, length(case, 20.5, 21.0), says="MB is 21")
    now = store.records.case(case.key)
    assert now.canals[0].entered == {"name": "MB", "working_length_mm": 21.0}
    assert now.canals[1] == case.canals[1]
    assert (now.revision, now.changed_at, now.made_at) == (2, LATER, AT)
    assert (made.number, made.says, made.by, made.at) == (2, "MB is 21", BY, LATER)
    assert store.records.marks(case.key, 1) == (made,)


def test_a_field_that_is_left_out_or_nothing_is_taken_away(store) -> None:
    case = begin(store)
    mark(store, case, Edit("canal", case.canals[0].key, MB, {"name": "MB"}))
    assert store.records.case(case.key).canals[0].entered == {"name": "MB"}
    mark(store, case, length(case, None, 21))
    mark(store, case, length(case, 21, None))
    assert store.records.case(case.key).canals[0].entered == {"name": "MB"}


def test_two_people_who_change_different_fields_of_a_row_both_succeed(store) -> None:
    case = begin(store)
    mark(store, case, Edit("canal", case.canals[0].key, MB, {**MB, "working_length_mm": 21}), by="Ann")
    mark(store, case, Edit("canal", case.canals[0].key, MB, {**MB, "drying": "dry"}), by="Bob")
    now = store.records.case(case.key)
    assert now.canals[0].entered == {"name": "MB", "working_length_mm": 21, "drying": "dry"}


def test_of_two_people_who_change_the_same_field_the_second_is_told_what_stands_there(store) -> None:
    case = begin(store)
    mark(store, case, length(case, 20.5, 21))
    before = everything(store)
    with pytest.raises(ChangedMeanwhile) as told:
        mark(store, case, Edit("patient", 0, None, {"pacemaker": True}), length(case, 20.5, 22))
    assert (told.value.field, told.value.seen, told.value.theirs) == ("MB: working_length_mm", 20.5, 21)
    assert everything(store) == before, "nothing of the whole mark"


@pytest.mark.parametrize(
    ("part", "old", "field"),
    [
        ("canal", {"name": "DB", "drying": "damp"}, "DB: drying"),
        ("visit", {"id": 2, "drying": "damp"}, "visit 2: drying"),
        ("finding", {"canal": "MB", "kind": "paper_point", "drying": "damp"}, "MB paper_point: drying"),
        ("baseline", {"drying": "damp"}, "baseline: drying"),
    ],
)
def test_a_field_that_changed_is_named_as_the_clinician_knows_its_row(store, part, old, field) -> None:
    case = begin(store)
    key = mark(store, case, Edit(part, None, None, old)).edits[0].key
    with pytest.raises(ChangedMeanwhile) as told:
        mark(store, case, Edit(part, key, {**old, "drying": "dry"}, {**old, "drying": "blood"}))
    assert told.value.field == field
    assert f"{field} was changed meanwhile and is now 'damp'" in told.value.sentence


def test_a_row_that_is_gone_cannot_be_changed(store) -> None:
    case = begin(store)
    mark(store, case, Edit("canal", case.canals[0].key, MB, None))
    with pytest.raises(ChangedMeanwhile, match="MB was changed meanwhile and is gone"):
        mark(store, case, Edit("canal", case.canals[0].key, MB, {**MB, "drying": "dry"}))


def test_a_row_of_another_case_cannot_be_changed(store) -> None:
    case, other = begin(store, "A-1"), begin(store, "B-1")
    with pytest.raises(ChangedMeanwhile):
        mark(store, case, length(other, 20.5, 21))
    assert store.records.case(other.key) == other


def test_a_row_is_removed_only_as_it_was_seen(store) -> None:
    case = begin(store)
    mark(store, case, Edit("canal", case.canals[0].key, {}, {"drying": "dry"}))
    with pytest.raises(ChangedMeanwhile, match="MB: drying was changed meanwhile and is now 'dry'"):
        mark(store, case, Edit("canal", case.canals[0].key, MB, None))
    mark(store, case, Edit("canal", case.canals[0].key, {**MB, "drying": "dry"}, None))
    assert [row.entered["name"] for row in store.records.case(case.key).canals] == ["D"]


def test_an_added_row_gets_a_number_that_the_mark_names(store) -> None:
    case = begin(store)
    made = mark(store, case, Edit("finding", None, None, {"canal": "MB", "kind": "locator", "value_mm": 21}))
    now = store.records.case(case.key)
    assert made.edits == (Edit("finding", now.findings[0].key, None, now.findings[0].entered),)
    assert store.records.marks(case.key, 1)[0].edits == made.edits


def test_two_edits_of_one_row_in_one_mark_follow_each_other(store) -> None:
    case = begin(store)
    mark(store, case, length(case, 20.5, 21), length(case, 21, 22))
    assert store.records.case(case.key).canals[0].entered["working_length_mm"] == 22
    store.records.undo(case.key, BY, LATER)
    assert store.records.case(case.key).canals == case.canals


def test_the_newest_marks_come_first_and_no_more_than_asked_for(store) -> None:
    case = begin(store)
    for value in range(4):
        mark(store, case, length(case, value - 1 if value else 20.5, value), says=f"now {value}")
    assert [m.says for m in store.records.marks(case.key, 3)] == ["now 3", "now 2", "now 1"]
    assert [m.number for m in store.records.marks(case.key, 9)] == [5, 4, 3, 2, 1]


def test_a_mark_that_gives_a_case_the_id_of_another_is_refused(store) -> None:
    begin(store, "A-1")
    case = begin(store, "B-1")
    before = everything(store)
    with pytest.raises(InputRefused) as refused:
        mark(store, case, length(case, 20.5, 21), Edit("case", 0, {"id": "B-1"}, {"id": "A-1"}))
    assert (refused.value.field, refused.value.value) == ("case.id", "A-1")
    assert everything(store) == before


def test_a_tray_that_is_not_kept_cannot_be_chosen(store) -> None:
    case = begin(store)
    with pytest.raises(InputRefused, match=r"tray\.key is 5; there is no such tray here"):
        mark(store, case, Edit("tray", 0, None, {"key": 5}))
    assert store.records.case(case.key) == case


# Taking back, and entering again what was taken back.


def edit_of(store, case, part, kind):
    """An edit of one kind, and whatever must stand there before it."""
    one, two = ({"key": store.records.add_tray({"name": name}, AT).key} for name in ("one", "two"))
    if part != "tray":
        one, two = {"id": "A-1", "name": "MB", "note": "one"}, {"id": "A-2", "name": "MB2", "drying": "dry"}
    if kind == "add":
        return Edit(part, None, None, one)
    standing = case.sections.get(part) if part in SECTIONS else None
    key = mark(store, case, Edit(part, None, standing, one), says="before").edits[0].key
    return Edit(part, key, one, two if kind == "change" else None)


@pytest.mark.parametrize("kind", ["add", "change", "remove"])
@pytest.mark.parametrize("part", [*SECTIONS, *LISTS])
def test_whatever_was_entered_is_taken_back_and_entered_again(store, part, kind) -> None:
    case = begin(store, None)
    edit = edit_of(store, case, part, kind)
    before = parts_of(store.records.case(case.key))
    listed = store.records.cases("", 5, 0).lines[0]
    made = mark(store, case, edit, Edit("canal", case.canals[1].key, {}, {"drying": "damp"}), says="both")
    after = parts_of(store.records.case(case.key))
    assert before != after

    undone = store.records.undo(case.key, "Bob", LATER)
    assert parts_of(store.records.case(case.key)) == before
    assert store.records.cases("", 5, 0).lines[0].id == listed.id
    assert (undone.undoes, undone.by, undone.number) == (made.number, "Bob", made.number + 1)
    assert "both" in undone.says

    mark(store, case, *(e.reverse for e in reversed(undone.edits)), says="again")
    assert parts_of(store.records.case(case.key)) == after, "with the same numbers"


def test_marks_are_taken_back_one_after_the_other_but_never_the_first(store) -> None:
    case = begin(store)
    mark(store, case, length(case, 20.5, 21), says="one")
    mark(store, case, length(case, 21, 22), says="two")
    undone = [store.records.undo(case.key, BY, LATER) for _ in range(4)]
    assert [made and made.undoes for made in undone] == [3, 2, None, None]
    assert parts_of(store.records.case(case.key)) == parts_of(case)
    marks = {made.number: made for made in store.records.marks(case.key, 9)}
    assert {number for number, made in marks.items() if made.undone} == {2, 3}
    assert set(marks) == {1, 2, 3, 4, 5}


def test_after_a_new_mark_the_newest_one_is_taken_back_not_what_was_already(store) -> None:
    case = begin(store)
    mark(store, case, length(case, 20.5, 21))
    store.records.undo(case.key, BY, LATER)
    mark(store, case, length(case, 20.5, 23))
    undone = store.records.undo(case.key, BY, LATER)
    assert undone is not None
    assert undone.undoes == 4
    assert store.records.undo(case.key, BY, LATER) is None


def test_a_removed_row_that_comes_back_stands_in_its_old_place(store) -> None:
    case = begin(store)
    mark(store, case, Edit("canal", case.canals[0].key, MB, None))
    mark(store, case, Edit("finding", None, None, {"canal": "D", "kind": "locator"}))
    store.records.undo(case.key, BY, LATER)
    store.records.undo(case.key, BY, LATER)
    assert store.records.case(case.key).canals == case.canals


def test_the_number_of_a_row_that_was_taken_back_is_not_given_again(store) -> None:
    case = begin(store)
    added = Edit("finding", None, None, {"canal": "MB", "kind": "locator"})
    mark(store, case, added)
    (first,) = store.records.case(case.key).findings
    store.records.undo(case.key, BY, LATER)
    mark(store, case, added)
    (second,) = store.records.case(case.key).findings
    assert second.key > first.key


def test_a_row_may_come_back_only_under_a_number_that_it_had_in_this_case(store) -> None:
    case, other = begin(store, "A-1"), begin(store, "B-1")
    theirs = other.canals[0]
    with pytest.raises(ChangedMeanwhile):
        mark(store, case, Edit("canal", theirs.key, None, {"name": "MB"}))
    mark(store, other, Edit("canal", theirs.key, theirs.entered, None))
    with pytest.raises(NotFound, match="There never was a canal"):
        mark(store, case, Edit("canal", theirs.key, None, {"name": "MB"}))
    mark(store, other, Edit("canal", theirs.key, None, theirs.entered))
    assert store.records.case(other.key).canals == other.canals


def test_a_choice_of_a_tray_that_was_removed_since_cannot_come_back(store) -> None:
    case = begin(store)
    old = store.records.add_tray({"name": "old"}, AT).key
    mark(store, case, Edit("tray", 0, None, {"key": old}))
    mark(store, case, Edit("tray", 0, {"key": old}, None))
    store.records.remove_tray(old)
    with pytest.raises(InputRefused, match="there is no such tray here"):
        store.records.undo(case.key, BY, LATER)

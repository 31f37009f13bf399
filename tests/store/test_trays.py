"""Trays and settings of the clinic."""

from __future__ import annotations

import pytest

from rootfill.clinic.kept import Edit
from rootfill.errors import ChangedMeanwhile, InputRefused, NotFound
from tests.store.invented import AT, LATER, begin, everything, mark


def test_trays_are_listed_by_name_with_the_number_of_cases_that_use_them(store) -> None:
    big, able = (store.records.add_tray({"name": name, "cones": []}, AT) for name in ("Big", "able"))
    for name in ("A", "B"):
        begin(store, name, tray={"key": big.key})
    assert [(tray.name, tray.cases) for tray in store.records.trays()] == [("able", 0), ("Big", 2)]
    assert store.records.tray(big.key) == big
    assert (store.records.tray(big.key).cases, store.records.tray(able.key).cases) == (2, 0)


def test_a_tray_is_changed_as_a_whole_and_only_as_it_was_seen(store) -> None:
    seen = store.records.add_tray({"name": "t", "cones": [25]}, AT)
    changed = store.records.change_tray(seen.key, seen.entered, {"name": "u", "pluggers": [1]}, LATER)
    assert (changed.entered, changed.changed_at) == ({"name": "u", "pluggers": [1]}, LATER)
    assert store.records.tray(seen.key) == changed
    with pytest.raises(ChangedMeanwhile) as told:
        store.records.change_tray(seen.key, seen.entered, {"name": "v"}, LATER)
    assert (told.value.field, told.value.seen, told.value.theirs) == ("u: name", "t", "u")
    assert store.records.tray(seen.key) == changed


def test_something_added_meanwhile_to_a_tray_is_not_overwritten(store) -> None:
    seen = store.records.add_tray({"name": "t"}, AT)
    store.records.change_tray(seen.key, seen.entered, {"name": "t", "cones": [30]}, LATER)
    with pytest.raises(ChangedMeanwhile, match="t: cones"):
        store.records.change_tray(seen.key, seen.entered, {"name": "t", "cones": [25]}, LATER)


def test_a_name_that_another_tray_has_is_refused(store) -> None:
    first = store.records.add_tray({"name": "t"}, AT)
    second = store.records.add_tray({"name": "u"}, AT)
    before = everything(store)
    for refuse in (
        lambda: store.records.add_tray({"name": "t"}, AT),
        lambda: store.records.change_tray(second.key, second.entered, {"name": "t"}, LATER),
    ):
        with pytest.raises(InputRefused, match=r"tray\.name is 't'; another tray has this name"):
            refuse()
    assert everything(store) == before
    assert store.records.change_tray(first.key, {"name": "t"}, {"name": "t", "cones": []}, LATER).name == "t"


def test_a_tray_in_use_is_not_removed_until_its_case_has_another(store) -> None:
    tray = store.records.add_tray({"name": "t"}, AT)
    case = begin(store, tray={"key": tray.key})
    with pytest.raises(InputRefused, match="tray t is used by 1 case; choose another tray there first"):
        store.records.remove_tray(tray.key)
    mark(store, case, Edit("tray", 0, {"key": tray.key}, None))
    store.records.remove_tray(tray.key)
    with pytest.raises(NotFound):
        store.records.tray(tray.key)
    assert store.records.add_tray({"name": "t"}, AT).key > tray.key


@pytest.mark.parametrize("value", ["iso3950", 12, False, None, {"cone_short_mm": 0.5}, ["a", "b"]])
def test_a_setting_is_read_back_and_set_again(store, value) -> None:
    assert store.records.setting("notation") is None
    store.records.set("notation", "before")
    store.records.set("notation", value)
    assert store.records.setting("notation") == value
    assert store.records.setting("other") is None

"""Trays of a clinic: copied, typed over, kept whole or not at all."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any, cast

import pytest

from rootfill.clinic import keep_tray as use
from rootfill.clinic.draft import read_tray_data
from rootfill.clinic.kept import Fields, KeptTray
from rootfill.clinic.ports import Clinic, PictureFiles, Work
from rootfill.errors import ChangedMeanwhile, InputRefused, NotFound
from rootfill.store import open_store
from tests.clinic.accounts import NOON

LATER = NOON + dt.timedelta(hours=1)
SMALL: dict[str, Any] = {
    "name": "room 2",
    "assumed": True,
    "cones": [{"name": "30/.04", "size": 30, "taper": 0.04}],
    "pluggers": [
        {"name": "50", "tip_mm": 0.5, "taper": 0.02, "tol_mm": 0.01},
        {"name": "60", "tip_mm": 0.6, "taper": 0.02, "assumed": False},
    ],
    "heated_tips": [{"name": "fine tip", "tip_mm": 0.4, "taper": 0.04, "measured": [[200, 1, 95], [200, 2, 130]]}],
    "needles": [{"name": "23 G", "gauge": 23, "use": "deliver"}],
}


@pytest.fixture
def clinic(tmp_path: Path) -> Iterator[Clinic]:
    store = open_store(tmp_path / "clinic.sqlite3")
    yield Clinic(store.records, store.accounts, cast(Work, None), cast(PictureFiles, None), lambda: LATER)
    store.close()


@pytest.fixture
def small(clinic: Clinic) -> KeptTray:
    return clinic.records.add_tray(SMALL, NOON)


def typed_over(entered: Fields, key: str, index: int, **texts: str) -> use.TypedTray:
    """The form of a tray after some cells of one line were typed over."""
    typed = use.show(entered)
    lines = list(typed.lines[key])
    lines[index] = replace(lines[index], texts={**lines[index].texts, **texts})
    return replace(typed, lines={**typed.lines, key: tuple(lines)})


def test_a_copy_of_the_generic_tray_holds_all_but_its_invented_heat(clinic: Clinic) -> None:
    kept = use.copy_tray(clinic, None, "  room   1 ")
    assert kept.name == "room 1"
    assert use.counted(kept.entered) == "36 cones, 8 pluggers, 2 heated tips, 4 needles, 1 sealer, 1 compound"
    assert use.measured(kept.entered) == "all assumed"
    assert [tip.measured for tip in read_tray_data(kept.entered).heated_tips] == [(), ()]


def test_a_copy_of_a_tray_of_ones_own_holds_everything_it_holds(clinic: Clinic, small: KeptTray) -> None:
    copy = use.copy_tray(clinic, small.key, "room 3")
    assert copy.entered == {**SMALL, "name": "room 3"}
    assert copy.changed_at == LATER
    assert clinic.records.tray(small.key).entered == SMALL


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("", "name of the tray is missing; give it a name of its own."),
        ("room 2", "name of the tray is 'room 2'; another tray has this name"),
        ("Generic tray", "name of the tray is 'Generic tray'; that is the tray nobody measured"),
        ("x" * 61, "name of the tray is 'xxx"),
    ],
)
def test_a_copy_without_a_name_of_its_own_is_refused(clinic: Clinic, small: KeptTray, name: str, says: str) -> None:
    with pytest.raises(InputRefused) as refused:
        use.copy_tray(clinic, None, name)
    assert refused.value.sentence.startswith(says)
    assert clinic.records.trays() == (small,)


def test_a_tray_saved_as_it_was_shown_is_not_even_touched(clinic: Clinic, small: KeptTray) -> None:
    assert use.read(use.show(SMALL)) == SMALL
    assert use.keep_tray(clinic, small.key, use.show(small.entered)).changed_at == NOON


def test_everything_typed_is_kept_at_once_and_what_is_not_shown_stays(clinic: Clinic, small: KeptTray) -> None:
    typed = replace(typed_over(small.entered, "pluggers", 0, tip_mm="0,55", working_mm="18"), name="room 4")
    kept = use.keep_tray(clinic, small.key, typed)
    first, second = SMALL["pluggers"]
    changed = {**first, "tip_mm": 0.55, "working_mm": 18.0}
    assert kept.entered == {**SMALL, "name": "room 4", "pluggers": [changed, second]}
    assert clinic.records.tray(small.key) == kept


def test_a_line_more_is_blank_and_left_out_until_it_is_filled_in() -> None:
    more = use.with_line(use.show(SMALL), "needles")
    assert len(more.lines["needles"]) == 2
    assert use.read(more) == SMALL
    lines = [replace(more.lines["needles"][1], texts={"name": "25 G", "gauge": "25", "use": "deliver", "vent": ""})]
    filled = replace(more, lines={**more.lines, "needles": (more.lines["needles"][0], *lines)})
    assert use.read(filled)["needles"] == [*SMALL["needles"], {"name": "25 G", "gauge": 25, "use": "deliver"}]


def test_a_line_taken_out_leaves_the_others_with_all_they_hold() -> None:
    less = use.without_line(use.show(SMALL), "pluggers", 0)
    assert use.read(less)["pluggers"] == SMALL["pluggers"][1:]
    assert use.read(use.without_line(less, "pluggers", 7)) == use.read(less)
    assert use.read(use.without_line(less, "pluggers", 0))["pluggers"] == []


def test_a_group_is_ticked_and_unticked_as_a_whole() -> None:
    all_of_them = use.with_measured(use.show(SMALL), "pluggers")
    assert [row.get("assumed") for row in use.read(all_of_them)["pluggers"]] == [False, False]
    none = use.with_measured(all_of_them, "pluggers")
    assert [row.get("assumed") for row in use.read(none)["pluggers"]] == [None, True]


@pytest.mark.parametrize(
    ("entered", "says"),
    [
        (SMALL, "1 of 5 measured"),
        ({**SMALL, "pluggers": []}, "all assumed"),
        ({"pluggers": [{"name": "50"}]}, "all measured"),
        ({"sealers": [{"name": "a"}]}, ""),
    ],
)
def test_how_much_of_a_tray_was_measured_is_said_in_words(entered: Fields, says: str) -> None:
    assert use.measured(entered) == says


def test_an_empty_tray_holds_nothing_in_words_too() -> None:
    assert use.counted({"name": "bare", "cones": []}) == "nothing"


@pytest.mark.parametrize(
    ("key", "name", "says"),
    [
        ("pluggers", "60", "plugger 60: nickname is '60'; a plugger has it already"),
        ("heated_tips", "60", "heated tip 60: nickname is '60'; a plugger has it already"),
        ("needles", "Fine Tip", "needle Fine Tip: nickname is 'Fine Tip'; a heated tip has it already"),
    ],
)
def test_what_may_bind_has_a_nickname_of_its_own(key: str, name: str, says: str) -> None:
    with pytest.raises(InputRefused) as refused:
        use.read(typed_over(SMALL, key, 0, name=name))
    assert refused.value.sentence.startswith(says)


def test_a_cone_may_be_called_like_a_plugger() -> None:
    assert use.read(typed_over(SMALL, "cones", 0, name="50"))["cones"][0]["name"] == "50"


def test_a_shaft_needs_the_length_of_the_part_below_it() -> None:
    with pytest.raises(InputRefused, match="plugger 60: working part is missing; a shaft needs the length"):
        use.read(typed_over(SMALL, "pluggers", 1, shaft_mm="1.2"))
    assert use.read(typed_over(SMALL, "pluggers", 1, shaft_mm="1.2", working_mm="18"))["pluggers"][1]["shaft_mm"] == 1.2


def test_a_tray_has_an_end() -> None:
    typed = use.show({"name": "long", "cones": [{"name": str(i), "size": 30, "taper": 0.04} for i in range(200)]})
    assert len(use.read(typed)["cones"]) == 200
    with pytest.raises(InputRefused, match="the tray is 201 lines long; at most 200"):
        use.with_line(typed, "cones")


def test_nothing_is_kept_where_somebody_else_was_quicker(clinic: Clinic, small: KeptTray) -> None:
    theirs = use.keep_tray(clinic, small.key, typed_over(SMALL, "needles", 0, gauge="25"))
    with pytest.raises(ChangedMeanwhile):
        use.keep_tray(clinic, small.key, typed_over(SMALL, "pluggers", 0, tip_mm="0.55"))
    assert clinic.records.tray(small.key) == theirs


def test_a_name_taken_is_refused_as_the_name_of_the_tray(clinic: Clinic, small: KeptTray) -> None:
    use.copy_tray(clinic, None, "room 1")
    with pytest.raises(InputRefused, match="name of the tray is 'room 1'; another tray has this name"):
        use.keep_tray(clinic, small.key, replace(use.show(SMALL), name="room 1"))


def test_what_somebody_else_changed_is_told_in_the_words_of_the_page() -> None:
    first, second = SMALL["pluggers"]
    now = {
        **SMALL,
        "name": "room 9",
        "cones": [],
        "pluggers": [{**first, "tip_mm": 0.55, "assumed": False}, {**second, "material": "niti"}],
        "needles": [*SMALL["needles"], {"name": "25 G", "gauge": 25, "use": "deliver"}],
    }
    assert use.differences(SMALL, now) == [
        "the tray is now called room 9",
        "cone 30/.04 is taken out",
        "plugger 50: tip is now 0.55",
        "plugger 50 is now measured",
        "plugger 60: material is now nickel-titanium",
        "needle 25 G is new",
    ]
    assert use.differences(SMALL, SMALL) == []


@pytest.mark.parametrize("plugger", [{"tol_mm": 0.02}, {"tol_mm": None}])
def test_a_difference_that_is_not_shown_is_still_told(plugger: Fields) -> None:
    first, second = SMALL["pluggers"]
    now = {**SMALL, "pluggers": [{**first, **plugger}, second]}
    assert use.differences(SMALL, now) == ["the order of its lines, or something that this page does not show"]


def test_a_removed_tray_is_gone(clinic: Clinic, small: KeptTray) -> None:
    use.remove_tray(clinic, small.key)
    with pytest.raises(NotFound):
        clinic.records.tray(small.key)

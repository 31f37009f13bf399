"""The fields of the page: what is shown can be typed back, and what cannot be read is refused in words."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootfill import clinic
from rootfill.clinic.cells import CELLS, Cell, cell, cell_text, with_cell
from rootfill.clinic.check_row import check_row
from rootfill.errors import InputRefused

DEMO = tomllib.loads(clinic.demo_case())


@pytest.mark.parametrize("canal", DEMO["canals"], ids=lambda c: c["name"])
def test_what_a_cell_shows_is_read_back_as_what_was_kept(canal) -> None:
    for one in CELLS["canal"]:
        text = cell_text(one, canal)
        if text:
            back = with_cell("canal", one, {k: v for k, v in canal.items() if k not in one.keys}, text)
            assert {k: back.get(k) for k in one.keys} == {k: canal.get(k) for k in one.keys}


@pytest.mark.parametrize(
    ("field", "typed", "kept"),
    [
        ("length", "20,5", {"working_length_mm": 20.5}),
        ("length", "20.5 mm", {"working_length_mm": 20.5}),
        ("shape", "#25 .06", {"made": {"size": 25, "taper": 0.06}}),
        ("shape", "30/6 %", {"made": {"size": 30, "taper": 0.06}}),
        ("shape", "30/.04 to 20,5, 25/.06 to 18", {"files": [
            {"size": 30, "taper": 0.04, "to_mm": 20.5}, {"size": 25, "taper": 0.06, "to_mm": 18.0}]}),
        ("shape", "widths 0 .35 .40; 12 .9 1.6", {"profile": [[0, 0.35, 0.4], [12, 0.9, 1.6]]}),
        ("curve", "Straight", {"curvature": []}),
        ("curve", "28° r 11 from 1.5", {"curvature": [{"angle_deg": 28, "radius_mm": 11, "from_mm": 1.5}]}),
        ("curve", "schneider 20 r 9", {"curvature": [{"schneider_deg": 20, "radius_mm": 9}]}),
        ("joins", "MB at 3.5 above the end", {"joins": {"canal": "MB", "at_mm": 3.5}}),
        ("wall", "0 1.0; 8 0.85", {"wall_mm": [[0, 1.0], [8, 0.85]]}),
        ("features", "ledge 2 to 3; old filling", {"features": [
            {"kind": "ledge", "from_mm": 2, "to_mm": 3}, {"kind": "old_filling"}]}),
        ("splits", "at 4", {"splits": {"at_mm": 4}}),
        ("patent", "no", {"patent": False}),
    ],
)  # fmt: skip
def test_a_cell_takes_the_words_of_the_trade(field: str, typed: str, kept) -> None:
    row = with_cell("canal", cell("canal", field), {"name": "MB"}, typed)
    assert row == {"name": "MB", **kept}
    check_row("canal", row)


def test_an_emptied_cell_is_not_known_again() -> None:
    assert with_cell("canal", cell("canal", "shape"), {"name": "MB", "made": {"size": 30, "taper": 0.04}}, "  ") == {
        "name": "MB"
    }


def test_one_shape_replaces_the_other() -> None:
    row = with_cell("canal", cell("canal", "shape"), {"files": [{"size": 30, "taper": 0.04, "to_mm": 20}]}, "30/.04")
    assert set(row) == {"made"}


@pytest.mark.parametrize(
    ("field", "typed"), [("length", "twenty"), ("shape", "big"), ("curve", "28"), ("drying", "moist")]
)
def test_what_cannot_be_read_is_refused_with_an_example(field: str, typed: str) -> None:
    with pytest.raises(InputRefused) as refused:
        with_cell("canal", cell("canal", field), {}, typed)
    assert typed in refused.value.sentence
    assert "type it like this" in refused.value.sentence or "allowed" in refused.value.sentence


def test_allergies_are_none_or_a_list() -> None:
    allergies = cell("patient", "allergies")
    assert with_cell("patient", allergies, {}, "none") == {"allergies": []}
    assert cell_text(allergies, {"allergies": []}) == "none"
    assert with_cell("patient", allergies, {}, "latex, iodine") == {"allergies": ["latex", "iodine"]}


def test_a_field_the_page_does_not_have_is_refused() -> None:
    with pytest.raises(InputRefused, match=r"visit\.colour"):
        cell("visit", "colour")


EVERY = [(part, one) for part, cells in CELLS.items() for one in cells]


@given(st.sampled_from(EVERY), st.text(max_size=60))
def test_any_text_is_read_or_refused_and_what_is_read_is_shown_again(place: tuple[str, Cell], typed: str) -> None:
    part, one = place
    try:
        row = with_cell(part, one, {}, typed)
        check_row(part, row)
    except InputRefused:
        return
    shown = cell_text(one, row)
    assert with_cell(part, one, {}, shown) == row or part == "canal"
    assert cell_text(one, with_cell(part, one, {}, shown)) == shown

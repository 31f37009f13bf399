"""The lines of a tray: what is shown can be typed back, and what cannot be right is refused by name."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootfill.clinic.draft import read_tray_data
from rootfill.clinic.keep_tray import generic_fields
from rootfill.clinic.tray_cells import (
    GROUPS,
    Group,
    Line,
    group_of,
    is_blank,
    new_line,
    read_line,
    show_cell,
    show_line,
)
from rootfill.errors import InputRefused

NEEDED = {
    "cones": {"name": "30", "size": "30", "taper": ".04"},
    "pluggers": {"name": "50", "tip_mm": "0.5", "taper": ".02"},
    "heated_tips": {"name": "fine", "tip_mm": "0.5", "taper": ".02"},
    "needles": {"name": "23 G", "gauge": "23", "use": "deliver"},
    "sealers": {"name": "a"},
    "compounds": {"name": "b"},
}


def typed(key: str, **texts: str) -> Line:
    """A new line of a group, its needed cells filled."""
    line = new_line(group_of(key))
    return replace(line, texts={**line.texts, **NEEDED[key], **texts})


def retyped(key: str, row: dict[str, object], **texts: str) -> dict[str, object]:
    """A row of a tray that measured everything, after some of its cells were typed over."""
    line = show_line(group_of(key), row, tray_assumed=False)
    return read_line(group_of(key), 0, replace(line, texts={**line.texts, **texts}), tray_assumed=False)


EVERY_ROW = [(group, row) for group in GROUPS for row in generic_fields()[group.key]]


@pytest.mark.parametrize(("group", "row"), EVERY_ROW, ids=lambda x: x.key if isinstance(x, Group) else x["name"])
def test_a_line_that_nobody_touched_is_read_as_the_row_that_was_shown(group, row) -> None:
    assert read_line(group, 0, show_line(group, row, tray_assumed=True), tray_assumed=True) == row


@pytest.mark.parametrize(
    ("key", "field", "text", "kept"),
    [
        ("cones", "size", "#25", 25),
        ("cones", "size", "025", 25),
        ("cones", "taper", "6 %", 0.06),
        ("cones", "taper", "0,06", 0.06),
        ("cones", "length_mm", "28 mm", 28.0),
        ("pluggers", "tip_mm", "0,45", 0.45),
        ("pluggers", "material", "niti", "niti"),
        ("pluggers", "prebend", "yes", True),
        ("pluggers", "working_mm", " 20 ", 20.0),
        ("heated_tips", "measured", "200 1 95; 200 2,5 130", [[200.0, 1.0, 95.0], [200.0, 2.5, 130.0]]),
        ("needles", "gauge", "27 G", 27),
        ("needles", "use", "irrigate", "irrigate"),
        ("needles", "vent", "side", "side"),
        ("sealers", "type", "calcium_silicate", "calcium_silicate"),
        ("sealers", "heat_allowed", "no", False),
        ("sealers", "canal", "moist", "moist"),
        ("sealers", "working_min", "240", 240.0),
        ("compounds", "injected_c", "200 °C", 200.0),
    ],
)
def test_a_cell_takes_what_the_trade_writes_and_keeps_it_as_a_value(key, field, text, kept) -> None:
    row = read_line(group_of(key), 0, typed(key, **{field: text}), tray_assumed=False)
    assert row[field] == kept
    assert type(row[field]) is type(kept)
    read_tray_data({key: [row]})


@pytest.mark.parametrize(
    ("field", "value", "shown"),
    [("tip_mm", 1, "1.0"), ("tip_mm", 0.45, "0.45"), ("taper", 0.02, ".02"), ("taper", 0, "0"),
     ("working_mm", 20.0, "20"), ("prebend", False, ""), ("material", None, "steel"), ("shaft_mm", None, "")],
)  # fmt: skip
def test_a_plugger_is_shown_as_the_trade_writes_it(field, value, shown) -> None:
    cell = next(c for c in group_of("pluggers").cells if c.field == field)
    assert show_cell(cell, {field: value}) == shown


@pytest.mark.parametrize(
    ("key", "texts", "says"),
    [
        ("pluggers", {"tip_mm": "5"}, "plugger 50: tip is 5; allowed: above 0 to 2 mm."),
        ("pluggers", {"tip_mm": "wide"}, "plugger 50: tip is 'wide'; allowed: above 0 to 2 mm."),
        ("pluggers", {"tip_mm": ""}, "plugger 50: tip is missing; give above 0 to 2 mm."),
        ("pluggers", {"name": " "}, "plugger in line 3: nickname is missing; "),
        ("pluggers", {"material": "gold"}, "plugger 50: material is 'gold'; allowed: steel, niti."),
        ("cones", {"taper": ".3"}, "cone 30: taper is 0.3; allowed: 0.005 to 0.2 (mm per mm)"),
        ("heated_tips", {"measured": "200 1"}, "heated tip fine: heat at the tip is '200 1'; type it like this: 200 "),
        ("needles", {"use": ""}, "needle 23 G: use is missing; give irrigate, deliver."),
        ("needles", {"gauge": "17"}, "needle 23 G: gauge is 17; allowed: 18 to 34."),
        ("sealers", {"working_min": "0"}, "sealer a: working time is 0; allowed: above 0 to 1440 min."),
        ("compounds", {"injected_c": "9"}, "compound b: injected at is 9; allowed: 40 to 250 °C"),
    ],
)  # fmt: skip
def test_what_cannot_be_right_is_refused_with_line_cell_and_range(key, texts, says) -> None:
    with pytest.raises(InputRefused) as refused:
        read_line(group_of(key), 2, typed(key, **texts), tray_assumed=False)
    assert refused.value.sentence.startswith(says)


def test_keys_that_the_page_does_not_show_stay_and_untouched_values_stay_as_typed() -> None:
    row = {"name": "50", "tip_mm": "0,5", "taper": 0.02, "tol_mm": 0.01}
    assert retyped("pluggers", row, taper="4 %") == {**row, "taper": 0.04}


def test_measured_heat_stays_to_the_letter_while_another_cell_is_typed_over() -> None:
    row = {"name": "fine", "tip_mm": 0.4, "taper": 0.04, "measured": [[200, 1, 95.25], [200, 2, 130]]}
    assert retyped("heated_tips", row, tip_mm="0.5") == {**row, "tip_mm": 0.5}


def test_an_emptied_cell_is_not_known_again() -> None:
    row = {"name": "50", "tip_mm": 0.5, "taper": 0.02, "shaft_mm": 1.0, "working_mm": 20, "prebend": True}
    assert retyped("pluggers", row, shaft_mm="", prebend="") == {
        "name": "50", "tip_mm": 0.5, "taper": 0.02, "working_mm": 20,
    }  # fmt: skip


@pytest.mark.parametrize(
    ("own", "tray_assumed", "ticked", "kept"),
    [(None, True, False, None), (None, True, True, False), (None, False, True, None), (None, False, False, True),
     (True, False, False, True), (True, False, True, False), (False, True, True, False), (False, True, False, True)],
)  # fmt: skip
def test_a_tick_says_measured_only_where_the_tray_says_otherwise(own, tray_assumed, ticked, kept) -> None:
    row = {"name": "50", "tip_mm": 0.5, "taper": 0.02, **({} if own is None else {"assumed": own})}
    shown = show_line(group_of("pluggers"), row, tray_assumed)
    read = read_line(group_of("pluggers"), 0, replace(shown, measured=ticked), tray_assumed)
    assert read.get("assumed") is kept
    assert show_line(group_of("pluggers"), read, tray_assumed).measured is ticked


def test_a_material_is_neither_measured_nor_assumed() -> None:
    assert "assumed" not in read_line(group_of("sealers"), 0, replace(typed("sealers"), measured=True), True)


def test_a_cone_without_a_nickname_is_called_by_its_size() -> None:
    row = read_line(group_of("cones"), 0, typed("cones", name="", size="#30", taper="4 %"), tray_assumed=True)
    assert row == {"name": "30/.04", "size": 30, "taper": 0.04}


def test_a_new_line_is_blank_until_something_is_typed_and_a_kept_one_never_is() -> None:
    for group in GROUPS:
        assert is_blank(group, new_line(group))
        assert not is_blank(group, typed(group.key))
        assert not is_blank(group, Line({"name": "50"}, {}, measured=False))


@given(st.data())
def test_any_text_is_read_or_refused_and_what_is_read_is_shown_and_read_the_same(data: st.DataObject) -> None:
    group = data.draw(st.sampled_from(GROUPS))
    cell = data.draw(st.sampled_from(group.cells))
    try:
        row = read_line(group, 0, typed(group.key, **{cell.field: data.draw(st.text(max_size=40))}), False)
    except InputRefused:
        return
    read_tray_data({group.key: [row]})
    assert read_line(group, 0, show_line(group, row, False), False) == row
    fresh = replace(show_line(group, row, False), was={})
    assert show_line(group, read_line(group, 0, fresh, False), False).texts == fresh.texts

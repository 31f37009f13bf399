"""What was measured at the chair, as it is typed, becomes the finding that the case file knows."""

from __future__ import annotations

from itertools import permutations
from typing import Any

import pytest

from rootfill.clinic.draft import read_tray_data
from rootfill.plan.settings import same_name
from tests.clinic.callouts import MOLAR, TRAY, applied, canal, doubt, findings, kept, sure


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("mb locator 19.5", {"kind": "locator", "value_mm": 19.5, "mark": "0"}),
        ("mb 19.5 loc at 0.5", {"kind": "locator", "value_mm": 19.5, "mark": "0.5"}),
        ("mb loc at 19.5", {"kind": "locator", "value_mm": 19.5, "mark": "0"}),
        ("mb apex locator at 19.5 mark 1", {"kind": "locator", "value_mm": 19.5, "mark": "1"}),
        ("mb paper point 19.5 dry", {"kind": "paper_point", "value_mm": 19.5, "tip": "dry"}),
        ("mb pp 20", {"kind": "paper_point", "value_mm": 20.0}),
        ("mb point 20.0 bleeding", {"kind": "paper_point", "value_mm": 20.0, "tip": "blood"}),
        ("mb x-ray 20", {"kind": "film_length", "value_mm": 20.0}),
        ("mb rubbed all along", {"kind": "rubbed", "where": "whole"}),
        ("mb cone rubbed at the top", {"kind": "rubbed", "where": "top"}),
        ("mb file 30 to length", {"kind": "file_to_length", "instrument": "30", "value_mm": 20.5}),
        ("mb 30 to 19", {"kind": "file_to_length", "instrument": "30", "value_mm": 19.0}),
        ("mb file 25 short 1", {"kind": "file_to_length", "instrument": "25", "value_mm": 19.5}),
        ("mb file 30/06 to 19", {"kind": "file_to_length", "instrument": "30/.06", "value_mm": 19.0}),
        ("mb gauge 30 goes 35 stops", {"kind": "gauging", "goes": 30, "stops": 35}),
        ("mb goes 30 stops 35 1 short", {"kind": "gauging", "goes": 30, "stops": 35, "short_mm": 1.0}),
        ("mb 100 goes 110 stops", {"kind": "gauging", "goes": 100, "stops": 110}),
        ("mb gauge 35 stops short 1.5", {"kind": "gauging", "stops": 35, "short_mm": 1.5}),
        ("mb join 16", {"kind": "join", "value_mm": 16.0}),
    ],
)
def test_each_kind_of_measurement_is_kept_with_its_own_fields(line: str, found: dict[str, Any]) -> None:
    assert findings(line) == [{"canal": "MB", **found}]


@pytest.mark.parametrize(
    ("line", "fields"),
    [
        ("ml cone short 1.5", {"value_mm": 18.5}),
        ("ml cone 1.5 mm short of length", {"value_mm": 18.5}),
        ("ml cone 1.5 short", {"value_mm": 18.5}),
        ("ml cone stops at 18.5", {"value_mm": 18.5}),
        ("ml cone 18.5", {"value_mm": 18.5}),
        ("ml cone to length", {"value_mm": 20.0}),
        ("ml cone fits", {"value_mm": 20.0}),
        ("ml cone 30/.04 at 18.5", {"cone": "30/.04", "value_mm": 18.5}),
        ("ml cone 18.5 30 .04", {"cone": "30/.04", "value_mm": 18.5}),
        ("ml cone fits trimmed to 40", {"trimmed_to": 40, "value_mm": 20.0}),
        ("ml cone short 2 with mb in", {"other_cone_in": "MB", "value_mm": 18.0}),
        ("ml cone short 2 alone", {"other_cone_in": False, "value_mm": 18.0}),
        ("ml cone short 2 other cone in", {"other_cone_in": True, "value_mm": 18.0}),
    ],
)
def test_a_cone_ends_where_it_was_said_from_the_reference(line: str, fields: dict[str, Any]) -> None:
    assert findings(line) == [{"kind": "cone_seat", "canal": "ML", **fields}]


def test_short_of_a_length_that_nobody_entered_is_asked_back_and_its_length_may_stand_in_the_same_line() -> None:
    assert doubt("dl cone short 1.5").startswith("DL has no length yet: type 'DL length 20' first")
    assert "DL has no length yet" in doubt("dl 30 to length")
    (edit, seat) = sure("dl length 19, cone short 1.5").edits
    assert (edit.part, seat.after) == ("canal", {"kind": "cone_seat", "canal": "DL", "visit": 1, "value_mm": 17.5})


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("ml cone", "Where does the cone end?"),
        ("ml cone 30 18.5", "'30' and '18.5' could both be the depth"),
        ("ml cone 30", "Is 30 the cone or its depth?"),
        ("ml cone fits 20", "Is 20 the cone or its depth?"),
        ("dl cone 25", "Is 25 the cone or its depth?"),
        ("ml cone 30 at 18.5", "Which cone 30? Type 30/.02, 30/.04 or 30/.06."),
        ("ml cone 33/.04 fits", "Cone 33/.04 is not on the tray"),
        ("ml cone at 18.5 short 1.5", "The depth is said twice"),
        ("ml cone fits with mb alone", "'alone' and the other cone cannot both be true"),
        ("ml cone short 15", "15.0 mm short of 20.0 is 5.0 mm, out of range, 8 to 40 mm"),
        ("ml cone at 29.5", "9.5 mm past the length of ML, 20.0 mm"),
        ("mb locator at 0.5", "The length is missing: type 'locator 19.5 at 0.5'."),
        ("mb locator 19.5 mark 5", "The mark 5 is out of range, 0 to 3."),
        ("mb point 19 dry blood", "cannot be both dry and blood"),
        ("mb gauge 35 goes 30 stops", "The size that stops, 30, must be larger than the one that goes, 35."),
        ("mb gauge 9 goes 100 stops 30", "left"),
        ("mb gauge", "Which size goes, and which stops?"),
        ("mb gauge goes", "Which size goes?"),
        ("mb rubbed tip top", "'top' is left over"),
        ("mb rubbed", "Where is the cone rubbed?"),
        ("mb join 3.5", "Is 3.5 the distance from the end? Then type 'ml joins mb at 3.5'."),
        ("mb ml join 16", "Which canal ends in the other?"),
        ("mb file to 19", "The size of the file is missing"),
        ("mb file 30 19 20", "'19' and '20' could both be the depth: leave one."),
        ("mb 19 20 locator", "'19' and '20' could both be the length: leave one."),
        ("mb apex 19.5", "say which: 'locator 19.5' or 'film 20'"),
    ],
)
def test_what_could_be_meant_in_two_ways_or_is_missing_is_asked_back(line: str, asked: str) -> None:
    assert asked in doubt(line)


def test_a_cone_size_that_only_one_cone_of_the_tray_has_names_that_cone() -> None:
    (only,) = (c for c in TRAY.cones if c.name == "30/.04")
    tray = type(TRAY)(cones=(only,))
    assert findings("ml cone 30 at 18.5", tray=tray) == [
        {"kind": "cone_seat", "canal": "ML", "cone": "30/.04", "value_mm": 18.5}
    ]


def test_a_cone_with_a_nickname_of_words_is_found_by_it() -> None:
    tray = read_tray_data({"cones": [{"name": "fine medium", "size": 30, "taper": 0.05}]})
    assert findings("ml fine medium cone short 1", tray=tray)[0]["cone"] == "fine medium"
    assert doubt("ml fine cone short 1", tray=tray).startswith("'fine' is not known here")


@pytest.mark.parametrize(
    "line",
    [
        "db 50 binds 16",
        "db plugger 50 binds at 16",
        "50 binds 16 db",
        "DB, PLUGGER 50 BINDS AT 16,0 mm",
        "db binds 16 50",
        "db binds at 16 50",
        "db 16 binds 50",
        "db #50 catches 16",
    ],
)
def test_an_instrument_and_its_depth_are_told_apart_in_any_unambiguous_order(line: str) -> None:
    assert findings(line) == [{"kind": "binds", "canal": "DB", "instrument": "50", "value_mm": 16.0}]


@pytest.mark.parametrize(
    ("typed", "nickname"),
    [("fine tip", "fine tip"), ("fine", "fine tip"), ("heated tip fine", "fine tip"), ("23g", "23 G"),
     ("needle 23 G", "23 G"), ("27 g rinse", "27 G rinse"), ("plugger 120", "120")],
)  # fmt: skip
def test_a_nickname_is_kept_as_the_tray_and_the_plan_know_it(typed: str, nickname: str) -> None:
    (found,) = findings(f"db {typed} binds 14")
    names = [p.name for p in TRAY.pluggers] + [t.name for t in TRAY.heated_tips] + [n.name for n in TRAY.needles]
    assert (found["instrument"], found["value_mm"]) == (nickname, 14.0)
    assert [name for name in names if same_name(found["instrument"], name)] == [nickname]


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("db 55 binds 16", "Instrument 55 is not on the tray: 40, 50, 60, 70, …."),
        ("db plugger 55 binds at 16", "Plugger 55 is not on the tray"),
        ("db needle 50 binds 16", "Needle 50 is not on the tray"),
        ("db plugger fine binds 16", "'fine' is not on the tray"),
        ("db binds 16 25", "not on the tray"),
        ("db red binds 12", "'red' is not on the tray"),
        ("db 50 binds", "How deep does 50 bind?"),
        ("db binds 16", "Which instrument binds at 16? Type its nickname"),
        ("db binds", "Which instrument, and at what depth?"),
        ("db 50 binds 160", "The depth 160 is out of range, 0 to 40 mm; did you mean 16?"),
        ("db 50 binds 16 14", "'14' is one number too many"),
        ("db 50 binds 28", "7.0 mm past the length of DB, 21.0 mm"),
        ("db 50 16", "alone does not say what it is"),
        ("dx 50 binds 16", "'dx' is not known here"),
        ("db2 50 binds 16 14", "There is no canal db2 in this case"),
    ],
)
def test_an_instrument_that_is_not_sure_is_never_guessed(line: str, asked: str) -> None:
    assert asked in doubt(line)


def tray_with(*names: str, tips: tuple[str, ...] = ()) -> Any:
    stiff = [{"name": name, "tip_mm": 0.5, "taper": 0.02} for name in names]
    heated = [{**s, "name": n} for s, n in zip(stiff, tips, strict=False)]
    return read_tray_data({"pluggers": stiff, "heated_tips": heated})


def test_two_nicknames_that_could_both_be_depths_are_asked_back_unless_binds_stands_between() -> None:
    tray = tray_with("16", "25")
    assert doubt("db binds 16 25", tray=tray).endswith("type '16 binds 25' or '25 binds 16'.")
    assert findings("db 25 binds 16", tray=tray)[0]["instrument"] == "25"
    assert findings("db binds at 16 25", tray=tray)[0]["value_mm"] == 16.0


def test_a_number_above_forty_is_never_a_depth() -> None:
    assert findings("db binds 16 50", tray=tray_with("16", "50"))[0]["instrument"] == "50"
    assert "The depth 50 is out of range" in doubt("db 20 binds 50", tray=tray_with("20", "50"))


def test_the_number_behind_binds_is_the_depth_even_where_only_it_is_a_nickname() -> None:
    assert doubt("db 16 binds 25", tray=tray_with("25")).startswith("Instrument 16 is not on the tray")


def test_one_nickname_of_two_instruments_is_asked_back() -> None:
    tray = tray_with("fine", "fine one", tips=("fine", "slim tip"))
    assert doubt("db fine binds 14", tray=tray).startswith("More than one instrument on the tray may be meant")
    assert findings("db slim binds 14", tray=tray)[0]["instrument"] == "slim tip"


def test_a_nickname_too_long_for_a_finding_is_not_taken() -> None:
    assert "not on the tray" in doubt(f"db {'x' * 41} binds 14", tray=tray_with("x" * 41))


def test_a_finding_belongs_to_the_newest_visit_and_to_none_where_there_is_none() -> None:
    twice = kept(canal("MB", 20.5), visits=({"id": 1}, {"id": "second"}))
    assert (sure("locator 20", twice).edits[0].after or {})["visit"] == "second"
    assert "visit" not in (sure("locator 20", kept(canal("MB"), visits=())).edits[0].after or {})


def test_the_same_reading_again_is_another_finding() -> None:
    case = applied(MOLAR, sure("mb locator 20.5").edits)
    assert len(applied(case, sure("mb locator 20.5", case).edits).findings) == 2


@pytest.mark.parametrize("words", list(permutations(["mb", "19.5", "locator"])))
def test_the_order_of_canal_word_and_number_does_not_matter(words: tuple[str, ...]) -> None:
    assert findings(" ".join(words)) == findings("mb locator 19.5")

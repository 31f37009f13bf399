"""A statement is kept for the canals it was said of, and for no other."""

from __future__ import annotations

import pytest

from tests.clinic.callouts import INCISOR, MOLAR, canal, doubt, findings, hear, kept, set_fields, sure


def canals_of(line: str, case=MOLAR) -> list[str | None]:
    return [one.canal for one in sure(line, case).heard]


@pytest.mark.parametrize(
    ("line", "canals"),
    [
        ("mb dry", ["MB"]),
        ("Ml DrY", ["ML"]),
        ("mb ml dry", ["MB", "ML"]),
        ("mb, ml and db dry", ["MB", "ML", "DB"]),
        ("mb, dry", ["MB"]),
        ("mb, ml, dry", ["MB", "ML"]),
        ("all dry", ["MB", "ML", "DB", "DL"]),
        ("dry all", ["MB", "ML", "DB", "DL"]),
        ("mb mb dry", ["MB"]),
        ("mb dry, patent, oval", ["MB", "MB", "MB"]),
        ("mb dry; ml patent; oval", ["MB", "ML", "ML"]),
        ("mb dry, isolated, patent", ["MB", None, "MB"]),
        ("mb ml 30/.04, straight", ["MB", "ML", "MB", "ML"]),
    ],
)
def test_the_canals_are_those_named_last_in_the_line(line: str, canals: list[str | None]) -> None:
    assert canals_of(line) == canals


@pytest.mark.parametrize("line", ["dry", "19.5 locator", "cone fits", "isolated, dry", "30/.04", "from mb cusp tip"])
def test_without_a_name_a_tooth_with_several_canals_is_asked_back(line: str) -> None:
    assert doubt(line) == "Which canal? MB, ML, DB or DL."


def test_a_line_stops_at_the_first_doubt_and_shows_what_came_before() -> None:
    heard = hear("mb dry, mv patent, oval")
    assert heard.says == "MB is dry"
    assert heard.doubt is not None
    assert "mv" in heard.doubt


def test_a_name_is_never_taken_for_a_similar_one() -> None:
    assert doubt("mb2 dry") == "There is no canal mb2 in this case: MB, ML, DB or DL."
    upper = kept(canal("MB1"), canal("MB2"), canal("D"), canal("P"))
    assert doubt("mb dry", upper) == "There is no canal mb in this case: MB1, MB2, D or P."
    assert canals_of("mb2 p dry", upper) == ["MB2", "P"]
    assert "'2'" in doubt("mb 2 dry", kept(canal("MB"), canal("MB2")))


def test_a_canal_with_nothing_said_of_it_is_asked_back() -> None:
    assert doubt("mb") == "What of MB? Type for example 'MB dry'."
    assert doubt("mb dry, ml") == "What of ML? Type for example 'ML dry'."


def test_all_and_a_name_together_are_asked_back() -> None:
    assert doubt("all mb dry") == "All canals, or only MB? Leave out one of them."
    assert doubt("mb, all dry") == "All canals, or only MB? Leave out one of them."


def test_in_a_tooth_with_one_canal_its_name_may_be_left_out_and_is_shown() -> None:
    assert sure("length 22", INCISOR).says == "single: working length 22.0 mm"
    assert sure("single length 22", INCISOR).edits == sure("length 22", INCISOR).edits


def test_a_case_without_canals_says_so() -> None:
    empty = kept()
    assert doubt("dry", empty) == "The case has no canal yet: add the first one."
    assert doubt("all dry", empty) == "The case has no canal yet: add the first one."
    assert doubt("mb dry", kept({"reference": "a row without a name"})).startswith("There is no canal mb")


def test_two_canals_of_one_name_are_asked_back() -> None:
    assert doubt("mb dry", kept(canal("MB"), canal("mb"))).startswith("Two canals are called")


@pytest.mark.parametrize(
    "name", ["L", "B", "one", "R", "single", "dry", "at", "cone", "all", "mid mesial", "3", "MB (2)"]
)
@pytest.mark.parametrize("said", ["{} dry", "{} locator 19.5 at 0.5", "{} curve 30 r 8", "{} length 20, cone short 1"])
def test_a_canal_may_be_called_like_a_word_or_a_number_of_the_grammar(name: str, said: str) -> None:
    case = kept(canal(name, 20.5), canal("ZZ", 20.5))
    other = hear(said.format(f"canal {name.lower()}"), case)
    assert other.doubt is None, other.doubt
    assert {one.canal for one in other.heard} == {name}
    plain = hear(said.format(name), case)
    if plain.doubt is None:
        assert plain.edits == other.edits
    else:
        assert "two ways" in plain.doubt


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("R curve 30 r 8", "R: curve 30 r 8"),
        ("L R dry", "L is dry; R is dry"),
        ("r straight; l curve 20 r 12 from 2", "R is straight; L: curve 20 r 12 from 2"),
    ],
)
def test_right_and_left_are_names_beside_the_r_of_a_radius(line: str, told: str) -> None:
    assert sure(line, kept(canal("R"), canal("L"))).says == told


def test_single_wave_is_a_technique_also_in_a_canal_called_single() -> None:
    assert set_fields("single wave", INCISOR) == {"single": {"technique": "single_wave"}}
    assert set_fields("single single wave", INCISOR) == {"single": {"technique": "single_wave"}}


def test_a_line_with_two_meanings_is_asked_back() -> None:
    case = kept(canal("all"), canal("MB"))
    assert doubt("all dry", case) == ("'all dry' can be read in two ways: type 'canal' before the name of the canal.")
    assert canals_of("canal all dry", case) == ["all"]


def test_the_next_canal_goes_on_as_the_one_before() -> None:
    lengths = set_fields("length mb 20, ml 19.5, db 20, dl 20.5")
    assert {name: fields["working_length_mm"] for name, fields in lengths.items()} == {
        "MB": 20.0, "ML": 19.5, "DB": 20.0, "DL": 20.5,
    }  # fmt: skip
    pluggers = findings("db 50 binds 16, 60 14, ml 50 15.5")
    assert [(f["canal"], f["instrument"], f["value_mm"]) for f in pluggers] == [
        ("DB", "50", 16.0), ("DB", "60", 14.0), ("ML", "50", 15.5),
    ]  # fmt: skip


@pytest.mark.parametrize("line", ["mb length 20, 21", "mb dry, ml 20", "mb 50 binds 16, 14", "mb cone fits, ml 35/.04"])
def test_a_bare_number_goes_on_only_for_another_canal_and_a_word_that_takes_one(line: str) -> None:
    assert "alone does not say what it is" in doubt(line)


def test_a_file_after_an_instrument_that_binds_is_asked_back() -> None:
    assert doubt("mb 50 binds 16, 40 to 19").startswith("Is that a file or an instrument that binds?")

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootfill.errors import InputRefused
from rootfill.tables import table
from rootfill.tooth.notation import tooth_number

PERMANENT = [10 * quadrant + place for quadrant in (1, 2, 3, 4) for place in range(1, 9)]
ARCHES = {1: "upper right", 2: "upper left", 3: "lower left", 4: "lower right"}
KINDS = [
    "central_incisor",
    "lateral_incisor",
    "canine",
    "first_premolar",
    "second_premolar",
    "first_molar",
    "second_molar",
    "third_molar",
]


def refused(number: object, notation: str | None) -> InputRefused:
    with pytest.raises(InputRefused) as caught:
        tooth_number(number, notation)
    return caught.value


def universal_of(iso: int) -> int:
    quadrant, place = divmod(iso, 10)
    return {1: 9 - place, 2: 8 + place, 3: 25 - place, 4: 24 + place}[quadrant]


@pytest.mark.parametrize("iso", PERMANENT)
def test_each_tooth_has_the_universal_number_of_its_quadrant_formula(iso: int) -> None:
    tooth = tooth_number(iso, "iso3950")
    assert (tooth.iso3950, tooth.universal) == (iso, universal_of(iso))
    assert tooth_number(universal_of(iso), "universal") == tooth


@pytest.mark.parametrize("iso", PERMANENT)
def test_each_tooth_is_called_by_its_quadrant_and_its_place_from_the_midline(iso: int) -> None:
    tooth = tooth_number(iso, "iso3950")
    quadrant, place = divmod(iso, 10)
    assert f"{tooth.arch} {tooth.side}" == ARCHES[quadrant]
    assert tooth.kind == KINDS[place - 1]
    assert tooth.words == f"{tooth.arch} {tooth.side} {tooth.kind.replace('_', ' ')}"


def test_the_table_holds_32_permanent_and_20_primary_teeth() -> None:
    assert sorted(int(row["iso3950"]) for row in table("tooth_numbers")) == sorted(PERMANENT)
    primary = [10 * quadrant + place for quadrant in (5, 6, 7, 8) for place in range(1, 6)]
    assert sorted(int(row["iso3950"]) for row in table("primary_teeth")) == primary


@pytest.mark.parametrize("typed", ["36", 36, " 36 ", "#36", "# 36", 36.0])
def test_a_number_may_be_typed_in_any_usual_way(typed: object) -> None:
    assert tooth_number(typed, "iso3950").words == "lower left first molar"


@pytest.mark.parametrize("typed", ["#19", 19, "19", " #19 ", "019"])
def test_universal_19_is_the_lower_left_first_molar(typed: object) -> None:
    assert tooth_number(typed, "universal").iso3950 == 36


@pytest.mark.parametrize("notation", ["universal", " Universal ", "UNIVERSAL"])
def test_the_system_may_be_typed_in_any_case(notation: str) -> None:
    assert tooth_number(1, notation).words == "upper right third molar"


def test_the_same_number_is_two_teeth_in_two_systems() -> None:
    assert tooth_number(18, "iso3950").words == "upper right third molar"
    assert tooth_number(18, "universal").words == "lower left second molar"


def test_without_a_system_the_sentence_names_both_teeth_and_both_ways_out() -> None:
    assert refused("18", None).sentence == (
        "case.notation is missing; 18 is the upper right third molar in iso3950 "
        "and the lower left second molar in universal: "
        'write notation = "iso3950" or notation = "universal".'
    )


def test_without_a_system_a_number_of_one_system_is_still_not_guessed() -> None:
    assert refused(36, None).sentence == (
        'case.notation is missing; 36 is the lower left first molar in iso3950: write notation = "iso3950".'
    )
    assert 'write notation = "universal".' in refused("#7", None).sentence


def test_without_a_system_a_number_that_is_no_tooth_is_refused_as_a_tooth() -> None:
    error = refused("99", None)
    assert error.field == "case.tooth"
    assert error.sentence.startswith("case.tooth is '99'; the permanent teeth are 11 to 18")


@pytest.mark.parametrize("notation", ["palmer", "", "fdi", "iso", 3950])
def test_an_unknown_system_is_refused_with_what_is_allowed(notation: str) -> None:
    error = refused("36", notation)
    assert error.field == "case.notation"
    assert error.allowed == "it must be iso3950 or universal"


@pytest.mark.parametrize("number", ["99", 19, "0", "", "36.5", "-36", "lower left six", True, "３６", 1e30])
def test_what_is_no_tooth_in_iso3950_is_refused_with_what_is_allowed(number: object) -> None:
    error = refused(number, "iso3950")
    assert (error.field, error.value) == ("case.tooth", number)
    assert error.allowed.endswith("11 to 18, 21 to 28, 31 to 38 and 41 to 48")


@pytest.mark.parametrize("number", [0, 33, "48"])
def test_what_is_no_tooth_in_universal_is_refused_with_what_is_allowed(number: object) -> None:
    assert refused(number, "universal").allowed == "the permanent teeth in universal are 1 to 32"


def test_a_missing_number_is_said_to_be_missing() -> None:
    assert refused(None, "universal").sentence == (
        "case.tooth is missing; the permanent teeth in universal are 1 to 32."
    )


@pytest.mark.parametrize("notation", ["iso3950", "universal", None])
@pytest.mark.parametrize("row", table("primary_teeth"), ids=lambda row: row["letter"])
def test_a_primary_tooth_is_refused_by_name_in_either_system(row: dict[str, str], notation: str) -> None:
    for typed in (row["iso3950"], row["letter"], row["letter"].lower(), int(row["iso3950"])):
        error = refused(typed, notation)
        assert error.field == "case.tooth"
        assert row["words"] in error.sentence
        assert "resorbing root, not for this method" in error.sentence


@pytest.mark.parametrize(
    ("letter", "iso"),
    [("A", 55), ("E", 51), ("F", 61), ("J", 65), ("K", 75), ("O", 71), ("P", 81), ("T", 85)],
)
def test_primary_letters_run_from_upper_right_to_lower_right(letter: str, iso: int) -> None:
    by_letter = {row["letter"]: int(row["iso3950"]) for row in table("primary_teeth")}
    assert by_letter[letter] == iso


def test_a_primary_tooth_is_refused_by_the_whole_sentence() -> None:
    assert refused("55", "iso3950").sentence == (
        "case.tooth is '55'; in iso3950 the upper right primary second molar: a resorbing root, not for this method."
    )


@given(st.one_of(st.text(), st.integers(), st.floats(), st.none(), st.booleans(), st.binary()))
def test_anything_typed_is_a_tooth_or_refused_as_a_tooth(typed: object) -> None:
    for notation in ("iso3950", "universal"):
        assert _named(typed, notation) in {*(row["words"] for row in table("tooth_numbers")), "case.tooth"}


def _named(typed: object, notation: str) -> str:
    try:
        return tooth_number(typed, notation).words
    except InputRefused as error:
        return error.field

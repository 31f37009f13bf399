"""What is set down of a canal or answered for the visit, and what a line may not overwrite."""

from __future__ import annotations

from typing import Any

import pytest

from rootfill.clinic.kept import Edit
from tests.clinic.callouts import MOLAR, applied, canal, doubt, findings, kept, set_fields, sure


@pytest.mark.parametrize(
    ("line", "field", "value"),
    [
        ("dl length 20.5", "working_length_mm", 20.5),
        ("dl wl 20,5", "working_length_mm", 20.5),
        ("dl end 20", "working_length_mm", 20.0),
        ("dl 30/.04", "made", {"size": 30, "taper": 0.04}),
        ("dl last file 30 .04", "made", {"size": 30, "taper": 0.04}),
        ("dl made 30/04", "made", {"size": 30, "taper": 0.04}),
        ("dl #30/6 %", "made", {"size": 30, "taper": 0.06}),
        ("dl 30/0,05", "made", {"size": 30, "taper": 0.05}),
        ("dl last file 35/.06 to length", "made", {"size": 35, "taper": 0.06}),
        ("dl orifice 8", "orifice_at_mm", 8.0),
        ("dl from mb cusp tip", "reference", "MB cusp tip"),
        ("dl ref the DB cusp tip reduced", "reference", "DB cusp tip reduced"),
        ("dl straight", "curvature", []),
        ("dl curve 30 r 8", "curvature", [{"angle_deg": 30.0, "radius_mm": 8.0}]),
        ("dl curve 30° radius 8 from 2", "curvature", [{"angle_deg": 30.0, "radius_mm": 8.0, "from_mm": 2.0}]),
        ("dl r8 curve -30", "curvature", [{"angle_deg": -30.0, "radius_mm": 8.0}]),
        ("dl wall 0,95", "wall_mm", 0.95),
        ("dl dry", "drying", "dry"),
        ("dl is damp", "drying", "damp"),
        ("dl wet", "drying", "damp"),
        ("dl bleeding", "drying", "blood"),
        ("dl patent", "patent", True),
        ("dl not patent", "patent", False),
        ("dl blocked", "patent", False),
        ("dl oval", "shape", "oval"),
        ("dl c-shaped", "shape", "c_shape"),
        ("dl stepwise", "technique", "stepwise"),
        ("dl single wave", "technique", "single_wave"),
        ("dl injected only", "technique", "injected_only"),
        ("dl post", "post_planned", True),
        ("dl pack to 15", "pack_to_mm", 15.0),
        ("dl joins mb at 3.5", "joins", {"canal": "MB", "at_mm": 3.5}),
        ("dl joins mb 3.5 mm from the end", "joins", {"canal": "MB", "at_mm": 3.5}),
    ],
)
def test_each_entry_of_a_canal_is_one_field_of_its_row(line: str, field: str, value: Any) -> None:
    fields = set_fields(line)["DL"]
    if field == "working_length_mm":
        assert fields.pop("visit") == 1
    assert fields == {field: value}


def test_an_entry_that_stands_already_changes_nothing_however_it_was_typed_before() -> None:
    text = kept(canal("MB", made={"size": "#30", "taper": "4 %"}, orifice_at_mm="8,0", curvature=[], patent=True))
    heard = sure("mb 30/.04, orifice 8, straight, patent, from mb CUSP tip", text)
    assert heard.edits == ()
    assert [one.says.endswith(", already so") for one in heard.heard] == [True] * 5


def test_no_post_is_news_only_where_one_was_planned() -> None:
    assert sure("mb no post").says == "MB will hold no post, already so"
    assert set_fields("no post", kept(canal("MB", post_planned=True))) == {"MB": {"post_planned": False}}


def test_a_value_that_is_replaced_is_shown_beside_the_new_one() -> None:
    assert sure("mb length 21, 30/.04").says == "MB: working length 21.0 mm, was 20.5 mm; MB: last file 30/.04"
    curved = kept(canal("MB", curvature=[{"angle_deg": 28, "radius_mm": 11, "from_mm": 1.5}], pack_to_mm="?"))
    told = sure("mb straight, pack to 15", curved).says
    assert told == "MB is straight, was 28 r 11 from 1.5; MB: pack to 15.0 mm, was ?"


def test_several_entries_of_one_canal_are_one_edit_from_what_stood_before() -> None:
    heard = sure("dl wl 20, dry, ml damp, dl patent")
    dl, ml = heard.edits
    before = MOLAR.canals[3].entered
    assert dl == Edit(
        "canal", 14, before, {**before, "working_length_mm": 20.0, "visit": 1, "drying": "dry", "patent": True}
    )  # fmt: skip
    assert ml.after == {**MOLAR.canals[1].entered, "drying": "damp"}
    case = MOLAR
    for one in heard.heard:
        case = applied(case, one.edits)
    assert case == applied(MOLAR, heard.edits)


@pytest.mark.parametrize("shape", [{"files": [{"size": 30, "taper": 0.04, "to_mm": 20}]}, {"profile": [[0, 0.3, 0.4]]}])
def test_a_last_file_never_replaces_a_shape_that_says_more(shape: dict[str, Any]) -> None:
    assert doubt("mb 30/.04", kept(canal("MB", 20.5, **shape))).startswith("The shape of MB is entered already")


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("mb wl 20, wl 21", "The line says both 'MB: working length 20.0 mm' and 'MB: working length 21.0 mm'"),
        ("mb wl 20.5, wl 21", "The line says both"),
        ("mb dry, ml patent, mb damp", "The line says both 'MB is dry' and 'MB is damp'"),
        ("isolated, not isolated", "The line says both 'tooth isolated' and 'tooth not isolated'"),
        ("mb orifice 19", "MB: 19.0 mm for the orifice and 20.5 mm for the end do not leave 3 mm"),
        ("mb orifice 8, ml joins mb at 3, mb joins ml at 3", "MB and ML cannot end in each other"),
        ("ml orifice 13, joins mb at 7.5", "7.5 mm from the end lies above its orifice"),
        ("ml joins ml at 3", "cannot end in each other"),
        ("ml joins mb", "Its distance from the end is missing"),
        ("ml joins mx at 3", "'mx' is not known here"),
        ("mb dry blood", "'blood' is left over"),
        ("mb straight oval", "'oval' is left over"),
        ("isolated consent", "'consent' is left over"),
        ("lengths shorter 1 longer", "'longer' is left over"),
        ("mb cone fits, length 20", "The line speaks of the length of MB before it changes it: type the length first."),
        ("mb curve 30", "The radius of the curve is missing: type 'curve 30 r 8'."),
        ("mb curve 0 r 8", "A curve of 0° is none: type 'straight'."),
        ("mb last file 30", "The taper of the last file is missing: type 'last file 30/.04'."),
        ("mb not dry", "'not dry' does not say what it is: type 'damp' or 'blood'."),
        ("mb no blood", "'not blood' does not say what it is"),
        ("mb not straight", "type 'curve 30 r 8'"),
        ("mb dry not locator 20", "'dry' is left over"),
        ("mb from", "Which point is the length read from?"),
        ("mb from mb cusp tip length 20.5", "'length' is no part of a point on the tooth"),
        ("mb from mb cusp 20.5", "'20.5' is no part of a point on the tooth"),
    ],
)
def test_what_does_not_fit_together_is_asked_back(line: str, asked: str) -> None:
    assert asked in doubt(line)


def test_levels_that_were_wrong_before_can_be_put_right_in_one_line_in_any_order() -> None:
    wrong = kept(canal("MB", 14.0, orifice_at_mm=12.5))
    assert sure("mb dry", wrong).edits
    assert set_fields("mb orifice 8", wrong) == {"MB": {"orifice_at_mm": 8.0}}
    assert sure("mb orifice 13, length 21", wrong).edits


def test_a_length_taken_again_belongs_to_the_visit_in_which_it_was_taken() -> None:
    case = kept(canal("MB", 20.5), visits=({"id": 1}, {"id": 2}))
    assert set_fields("length 20.5", case) == {"MB": {"visit": 2}}
    again = applied(case, sure("length 20.5", case).edits)
    assert sure("length 20.5", again).edits == ()
    assert set_fields("length 20", again) == {"MB": {"working_length_mm": 20.0}}


@pytest.mark.parametrize(
    ("line", "field", "value"),
    [
        ("isolated", "isolated", True),
        ("dam on", "isolated", True),
        ("dam off", "isolated", False),
        ("no dam", "isolated", False),
        ("consent", "consent", True),
        ("no consent", "consent", False),
        ("numb", "anaesthetised", True),
        ("not anaesthetised", "anaesthetised", False),
        ("rinsed", "rinsed", True),
        ("film seen", "cone_film_seen", True),
        ("cone film not seen", "cone_film_seen", False),
        ("identity checked", "identity", True),
        ("dry a minute", "dry_for_a_minute", True),
        ("not dry for a minute", "dry_for_a_minute", False),
        ("length retaken", "length_retaken", True),
        ("all isolated", "isolated", True),
    ],
)
def test_an_answer_for_the_tooth_is_kept_in_the_newest_visit(line: str, field: str, value: bool) -> None:
    case = kept(canal("MB"), canal("ML"), visits=({"id": 1, field: not value}, {"id": 2, "date": "2026-10-20"}))
    (edit,) = sure(line, case).edits
    assert edit == Edit("visit", 2, {"id": 2, "date": "2026-10-20"}, {"id": 2, "date": "2026-10-20", field: value})
    assert sure(line, applied(case, [edit])).edits == ()


def test_the_first_answer_makes_the_first_visit_and_the_line_goes_on_in_it() -> None:
    heard = sure("isolated, mb locator 20, consent", kept(canal("MB"), visits=()))
    visit, finding = heard.edits
    assert visit == Edit("visit", None, None, {"id": 1, "isolated": True, "consent": True})
    assert (finding.after or {})["visit"] == 1


def test_an_answer_for_the_tooth_names_no_canal() -> None:
    assert doubt("mb isolated") == "This is said of the whole tooth: leave out MB."
    assert doubt("mb, isolated") == "This is said of the whole tooth: leave out MB."
    assert doubt("seen") == "What was seen? Type 'cone film seen'."


@pytest.mark.parametrize(
    ("line", "found"),
    [
        ("reference moved 1", {"by_mm": 1.0}),
        ("reference moved -1", {"by_mm": -1.0}),
        ("reference moved", {}),
        ("all lengths shorter 1", {"by_mm": 1.0}),
        ("all lengths read 0.5 mm longer", {"by_mm": -0.5}),
        ("mb reference moved by 1", {"canal": "MB", "by_mm": 1.0}),
        ("mb dry, all reference moved 1", {"by_mm": 1.0}),
    ],
)
def test_a_moved_reference_is_of_the_tooth_unless_a_canal_is_named(line: str, found: dict[str, Any]) -> None:
    (moved,) = findings(line.removeprefix("mb dry, "))
    assert moved == {"kind": "reference_moved", **found}
    assert sure(line).edits[-1].after == {"visit": 1, **moved}


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("mb dry, reference moved 1", "Of the whole tooth, or of MB?"),
        ("reference moved 10", "The distance 10 is out of range, -5 to 5 mm; did you mean 1?"),
        ("lengths shorter", "The distance is missing"),
        ("lengths shorter -1", "'shorter' and -1 say it twice"),
    ],
)
def test_a_moved_reference_that_is_not_clear_is_asked_back(line: str, asked: str) -> None:
    assert asked in doubt(line)

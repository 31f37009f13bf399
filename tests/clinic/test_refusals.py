"""Wrong input ends in one sentence that names field, value and what is allowed."""

from __future__ import annotations

import pytest

from rootfill import clinic
from rootfill.errors import InputRefused
from tests.plan.cases import NoTrays, canal, case_text, plan_text

GOOD = case_text(14, [canal("B", 20.5, "orifice_at_mm = 9", "30", ".04", "# more")])
TWO = case_text(
    14,
    [
        canal("B", 20.5, "orifice_at_mm = 9", "30", ".04", "# b"),
        canal("P", 20.0, "orifice_at_mm = 9", "30", ".04", "# p"),
    ],
)


def sentence(text: str) -> str:
    with pytest.raises(InputRefused) as refused:
        plan_text(text)
    assert "\n" not in refused.value.sentence
    assert len(refused.value.sentence) < 400
    return refused.value.sentence


def test_the_unspoiled_case_is_planned():
    assert plan_text(GOOD).canals[0].cone is not None


@pytest.mark.parametrize(
    ("typed", "instead", "words"),
    [
        ("size = 30", "size = 300", ["canals[0].made.size (B)", "300", "6 to 140", "did you mean 30?"]),
        ("size = 30", "size = 0.3", ["canals[0].made.size (B)", "0.3", "6 to 140"]),
        ('".04"', "-0.04", ["canals[0].made.taper (B)", "-0.04", "0.005 to 0.2"]),
        ('".04"', '"nan"', ["canals[0].made.taper (B)", "'nan'", "0.005 to 0.2"]),
        ('".04"', "true", ["canals[0].made.taper (B)", "True"]),
        ("working_length_mm", "working_lenght_mm", ["working_lenght_mm (B)", "did you mean working_length_mm?"]),
        ("working_length_mm = 20.5", 'working_length_mm = "20.5 inch"', ["'20.5 inch'", "8 to 40 mm"]),
        ("working_length_mm = 20.5", "working_length_mm = inf", ["inf", "8 to 40 mm"]),
        ("working_length_mm = 20.5", f"working_length_mm = 1{'0' * 400}", ["8 to 40 mm"]),
        ('reference = "B cusp tip"', "", ["canals[0].reference (B) is missing", "a text"]),
        ("orifice_at_mm = 9", "", ["canals[0].orifice_at_mm (B) is missing", "canal_length_mm"]),
        (
            "orifice_at_mm = 9",
            "orifice_at_mm = 19",
            ["canals[0].orifice_at_mm (B)", "3 to 30 mm above the made end at 20.5"],
        ),
        (
            "orifice_at_mm = 9",
            "orifice_at_mm = 9\ncanal_length_mm = 13",
            ["canal_length_mm (B)", "11.5 mm", "correct one"],
        ),
        ("# more", "technique = 'magic'", ["'magic'", "stepwise, single_wave, injected_only"]),
        ("# more", "curvature = [{ angle_deg = 90, radius_mm = 15 }]", ["an arc of 23.6 mm", "orifice, 11.5 mm"]),
        ("# more", "curvature = [{ angle_deg = 30, schneider_deg = 15, radius_mm = 5 }]", ["angle_deg", "one of them"]),
        (
            "# more",
            "curvature = [{ schneider_deg = 15, radius_mm = 5, from_mm = 2 }]",
            ["schneider_deg", "from_mm = 0"],
        ),
        ("# more", "curvature = [{ angle_deg = 0, radius_mm = 5 }]", ["curvature = []"]),
        ("# more", "profile = [[0, 0.3, 0.3], [11.5, 0.8, 0.8]]", ["made and profile", "give one of"]),
        ("# more", "joins = { canal = 'X', at_mm = 3 }", ["canals[0].joins.canal", "'X'"]),
        ("# more", "joins = { canal = 'B', at_mm = 3 }", ["canals[0].joins.canal", "another canal"]),
        ("# more", "splits = { at_mm = 12 }", ["splits.at_mm", "below the orifice"]),
        ("# more", "wall_mm = -1", ["wall_mm (B)", "above 0 to 6 mm"]),
        ("# more", "pack_to_mm = 5", ["pack_to_mm (B)", "9 to 20.5 mm"]),
        ("# more", "zzz = 1", ["zzz (B)", "known here"]),
        ('notation = "iso3950"', 'notation = "palmer"', ["case.notation", "'palmer'", "iso3950"]),
        ("tooth = 14", "tooth = 99", ["case.tooth", "99"]),
        ("[case]", "[kase]", ["kase", "did you mean case?"]),
        ('[case]\nid = "invented"\ntooth = 14\nnotation = "iso3950"', "", ["case is missing", "id, tooth"]),
        ("# more", "[[findings]]\nkind = 'binds'\ncanal = 'Q'", ["findings[0].canal", "'Q'"]),
        ("# more", "[[findings]]\nkind = 'smell'", ["findings[0].kind", "'smell'", "locator"]),
        ("# more", "[tray]\ncones = []", ["tray.cones", "at least one cone"]),
        ("# more", "[tray]\ncones = [{ name = 'a', size = 140, taper = .04 }]", ["tray.cones", "orifice of B"]),
        ("# more", "[tray]\ncones = [{ name = 'a', size = 30, taper = 0.04, x = 1 }]", ["tray.cones[0].x (a)"]),
        (
            "# more",
            "[tray]\nfile = 'mine'\ncones = [{ name = 'a', size = 30, taper = 0.04 }]",
            ["tray.file", "not both"],
        ),
        (
            "# more",
            "[tray]\nneedles = [{ name = 'n', gauge = 12, use = 'deliver' }]",
            ["needles[0].gauge (n)", "18 to 34"],
        ),
        ("# more", "[preferences]\ncone_short_mm = 5", ["preferences.cone_short_mm", "0 to 1 mm"]),
    ],
)
def test_a_wrong_value_is_refused_by_name(typed, instead, words):
    assert typed in GOOD
    said = sentence(GOOD.replace(typed, instead).replace("taper = .04", "taper = 0.04"))
    assert [w for w in words if w not in said] == [], said


def test_joins_in_a_circle_and_two_joins_at_one_station_are_refused():
    circle = TWO.replace("# b", "joins = { canal = 'P', at_mm = 3 }").replace(
        "# p", "joins = { canal = 'B', at_mm = 3 }"
    )
    assert "in a circle" in sentence(circle)
    third = canal("X", 20.0, "orifice_at_mm = 9", "30", ".04", "joins = { canal = 'B', at_mm = 3 }")
    assert "one join per station" in sentence(TWO.replace("# p", "joins = { canal = 'B', at_mm = 3 }") + third)


def test_two_canals_of_one_name_are_refused():
    assert "'B'; every canal has a name of its own" in sentence(TWO.replace('name = "P"', 'name = "B"'))


@pytest.mark.parametrize(
    "profile",
    ["[[0, 0.3, 0.2], [11.5, 0.8, 0.8]]", "[[1, 0.3, 0.3], [11.5, 0.8, 0.8]]", "[[0, 0.3, 0.3], [9, 0.8, 0.8]]"],
)
def test_a_profile_that_cannot_be_is_refused(profile):
    said = sentence(GOOD.replace('made = { size = 30, taper = ".04" }', f"profile = {profile}"))
    assert "canals[0].profile (B)" in said


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"\xff\xfe\x00", "UTF-8"),
        ("größe = 1".encode("latin-1"), "UTF-8"),
        (b"x" * 2_000_000, "at most"),
    ],
)
def test_bytes_that_are_no_text_are_refused(content, words):
    with pytest.raises(InputRefused, match=words):
        clinic.text_of(content, "case.toml")


@pytest.mark.parametrize("text", ["[case", "a = " + "[" * 5000, "\x00", "id = 1\nid = 2"])
def test_text_that_is_no_toml_is_refused_with_what_would_be(text):
    assert "rootfill new 36" in sentence(text)


def test_numbers_may_be_typed_as_people_type_them():
    plain = plan_text(GOOD)
    text = GOOD.replace("size = 30", 'size = "#030"').replace('".04"', '"4 %"').replace("20.5", '"20,5"')
    assert clinic.plan_json(plan_text(text)) == clinic.plan_json(plain)


def test_a_tray_file_is_looked_for_on_the_shelf():
    text = GOOD + "\n[tray]\nfile = 'mine'\n"
    with pytest.raises(InputRefused, match="no tray files here"):
        clinic.plan_case(text, NoTrays())

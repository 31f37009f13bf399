import pytest

from rootfill.tables import rule, source, table
from rootfill.tooth import anatomy
from rootfill.tooth.notation import ToothNumber, tooth_number

PERMANENT = [10 * quadrant + place for quadrant in (1, 2, 3, 4) for place in range(1, 9)]


def tooth(iso: int) -> ToothNumber:
    return tooth_number(iso, "iso3950")


def sentences(iso: int, *names: str) -> list[str]:
    return [found.sentence for found in anatomy.look_for(tooth(iso), names)]


def canals(iso: int) -> list[str]:
    return [canal.name for canal in anatomy.usual_canals(tooth(iso))]


@pytest.mark.parametrize("iso", PERMANENT)
def test_every_tooth_has_canals_to_start_with_and_each_has_a_reference(iso: int) -> None:
    usual = anatomy.usual_canals(tooth(iso))
    assert usual
    assert len({canal.name for canal in usual}) == len(usual)
    assert all(canal.reference.endswith((" tip", " edge")) for canal in usual)


def test_the_usual_canals_stand_in_order_with_their_reference() -> None:
    assert canals(36) == ["MB", "ML", "D"]
    assert canals(16) == ["MB", "DB", "P"]
    references = [canal.reference for canal in anatomy.usual_canals(tooth(14))]
    assert references == ["buccal cusp tip", "palatal cusp tip"]


@pytest.mark.parametrize("place", range(1, 9))
def test_left_and_right_teeth_are_alike(place: int) -> None:
    for right, left in ((10 + place, 20 + place), (40 + place, 30 + place)):
        assert anatomy.usual_canals(tooth(right)) == anatomy.usual_canals(tooth(left))
        assert anatomy.length_range(tooth(right)) == anatomy.length_range(tooth(left))
        assert anatomy.look_for(tooth(right), ()) == anatomy.look_for(tooth(left), ())


def test_a_second_mesiobuccal_canal_is_looked_for_until_it_is_entered() -> None:
    says = "Look for a second canal in the mesiobuccal root: 70 % (65 to 75) of these teeth have one."
    assert sentences(16, "MB", "DB", "P") == [says]
    assert sentences(16, "MB", "DB", "DB2", "P") == [says]
    assert sentences(16, "MB", "MB2", "DB", "P") == []
    assert sentences(16, "MB", " mb2 ", "DB", "P") == []


def test_lower_first_molars_name_three_things_to_look_for() -> None:
    assert sentences(36, "MB", "ML", "D") == [
        "Look for a second distal canal: 37 % (16 to 60) of these teeth have one.",
        "Look for a middle mesial canal: 3.1 to 14 % of these teeth have one.",
        "Look for an extra distolingual root: 5.6 % (0.9 to 22) of these teeth have one.",
    ]
    assert sentences(36, "MB", "MM", "ML", "DB", "DL") == []
    assert len(sentences(36, "MB", "ML", "DB")) == 3


def test_a_count_of_canals_ends_the_search_where_names_do_not_decide() -> None:
    assert sentences(41, "single") == ["Look for a second canal: 20 % (15 to 26) of these teeth have one."]
    assert sentences(41, "B", "L") == []
    assert sentences(14, "single")[0] == "Look for a second canal: 87 % (66 to 95) of these teeth have one."
    assert sentences(14, "B", "P") == ["Look for a third root: 7.0 % of these teeth have one."]
    assert sentences(14, "MB", "DB", "P") == []


def test_a_range_known_at_one_end_only_says_up_to() -> None:
    c_shape = "Look for a C-shaped canal: 14 % (up to 44) of these teeth have one."
    assert sentences(47, "MB", "ML", "D") == [c_shape]
    assert sentences(47, "C") == []


def test_a_third_molar_has_no_figure_and_says_so() -> None:
    assert sentences(48, "MB") == ["Look for canals beyond the usual ones: no figure is held for these teeth."]


def test_upper_front_teeth_have_nothing_further_to_look_for() -> None:
    assert sentences(11) == sentences(12) == sentences(13) == []


def test_shares_are_those_of_the_table_of_counts() -> None:
    counted = {
        (row["arch"], row["kind"], row["source"], row["percent"], row["low"], row["high"])
        for row in table("canal_counts")
    }
    own_arithmetic = {"vertucci1984", "karobari2023.rest", "premolar_forms", "practice"}
    for row in table("look_for"):
        if row["source"] not in own_arithmetic:
            keys = ("arch", "kind", "source", "percent", "low", "high")
            assert tuple(row[key] for key in keys) in counted, dict(row)


def test_shares_of_our_own_arithmetic_are_worked_out_from_the_table_of_counts() -> None:
    held = {(row["kind"], row["source"], row["finding"]): row["percent"] for row in table("canal_counts")}
    shown = {(row["kind"], row["source"]): row for row in table("look_for")}
    upper = 100 - float(held["second_premolar", "vertucci1984", "one canal"])
    assert float(shown["second_premolar", "vertucci1984"]["percent"]) == upper
    lower = 100 - float(held["second_premolar", "karobari2023", "one canal"])
    assert float(shown["second_premolar", "karobari2023.rest"]["percent"]) == round(lower, 1)
    forms = shown["first_premolar", "premolar_forms"]
    assert forms["low"] == held["first_premolar", "egypt_clearing", "one canal dividing into two"]
    assert forms["high"] == held["first_premolar", "saudi2022", "one canal dividing into two"]


@pytest.mark.parametrize("iso", PERMANENT)
def test_what_is_looked_for_carries_the_source_and_its_mark(iso: int) -> None:
    for found in anatomy.look_for(tooth(iso), ()):
        assert found.mark == source(found.source).mark


@pytest.mark.parametrize("iso", PERMANENT)
def test_every_length_table_lies_inside_the_range_by_at_least_the_band(iso: int) -> None:
    low, high, sources = anatomy.length_range(tooth(iso))
    asked = tooth(iso)
    rows = [r for r in table("tooth_lengths") if (r["arch"], r["kind"]) == (asked.arch, asked.kind)]
    means = [float(row["length_mm"]) for row in rows]
    band = rule("tooth_length_band_mm").value
    assert band == 3.0
    assert min(mean - low for mean in means) == pytest.approx(band)
    assert min(high - mean for mean in means) == pytest.approx(band)
    assert set(sources) == {row["source"] for row in rows}
    assert len(sources) >= 3


def test_the_length_of_a_lower_lateral_incisor_is_17_7_to_26_5() -> None:
    low, high, sources = anatomy.length_range(tooth(32))
    assert [low, high] == pytest.approx([17.7, 26.5])
    assert sources == ("burns", "woelfel", "wheeler")


def test_the_nerve_is_named_for_lower_back_teeth_only() -> None:
    near = [iso for iso in PERMANENT if anatomy.nerve_near(tooth(iso))]
    assert near == [34, 35, 36, 37, 38, 44, 45, 46, 47, 48]
    assert near == [iso for iso in PERMANENT if anatomy.nerve_source(tooth(iso))]


def test_a_lower_second_molar_is_said_to_touch_the_nerve_canal_in_up_to_21_percent() -> None:
    assert anatomy.nerve_near(tooth(47)) == (
        "The root ends mostly lie 1 to 3 mm from the nerve canal and in up to 21 % they touch it: "
        "keep everything inside the root."
    )
    assert anatomy.nerve_source(tooth(47)) == "nerve375"


def test_the_mesial_canals_of_a_lower_first_molar_have_a_measured_thin_wall() -> None:
    root = anatomy.thin_roots(tooth(36), "mb")
    assert root is not None
    assert (root.mean_mm, root.sd_mm, root.low_mm, root.high_mm) == (1.13, 0.21, 0.67, 1.93)
    assert "1.1 mm on average" in root.words
    assert anatomy.thin_roots(tooth(36), "D") is None


def test_a_weak_root_without_a_measured_wall_has_words_and_no_number() -> None:
    for iso, name in ((31, "single"), (42, "B"), (47, "ML"), (36, "MM")):
        root = anatomy.thin_roots(tooth(iso), name)
        assert root is not None
        assert root.words
        assert (root.mean_mm, root.sd_mm, root.low_mm, root.high_mm) == (None,) * 4


def test_teeth_without_a_thin_root_in_the_tables_have_none() -> None:
    assert anatomy.thin_roots(tooth(11), "single") is None
    assert anatomy.thin_roots(tooth(16), "MB") is None


def test_natural_widths_stand_deepest_first_for_the_canal_named() -> None:
    assert anatomy.diameters(tooth(46), "D") == ((1, 0.46, 0.35), (2, 0.50, 0.34), (5, 1.07, 0.59))
    assert anatomy.diameters(tooth(47), "D") == anatomy.diameters(tooth(46), "D")
    assert anatomy.diameters(tooth(16), "mb2") == ((1, 0.19, 0.16), (2, 0.31, 0.16), (5, 0.38, 0.16))


def test_a_canal_the_table_does_not_hold_has_no_widths() -> None:
    assert anatomy.diameters(tooth(46), "DL") == ()
    assert anatomy.diameters(tooth(48), "D") == ()


@pytest.mark.parametrize("iso", [iso for iso in PERMANENT if iso % 10 != 8])
def test_every_usual_canal_but_those_of_third_molars_has_widths_at_three_levels(iso: int) -> None:
    for name in canals(iso):
        levels = [level for level, _, _ in anatomy.diameters(tooth(iso), name)]
        assert levels == [1, 2, 5]

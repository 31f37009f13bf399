"""A case file to start from."""

from __future__ import annotations

import pytest

from rootfill import clinic
from rootfill.errors import InputRefused
from tests.plan.cases import plan_text


def filled(text: str) -> str:
    """The template as an assistant would type it: five values a canal."""
    for value in ("20.5", "9.0", "30", '".04"', "20.0", "9.0", "30", '".04"'):
        text = text.replace('"?"', value, 1)
    return text


def test_a_two_canal_premolar_is_planned_from_its_template_and_four_values_a_canal():
    plan = plan_text(filled(clinic.new_case("14", "iso3950")))
    assert [c.name for c in plan.canals] == ["B", "P"]
    assert all(c.cone is not None and c.increments for c in plan.canals)


def test_no_caution_of_that_premolar_speaks_of_something_else():
    plan = plan_text(filled(clinic.new_case("14", "iso3950")))
    said = " ".join([*plan.cautions, *(c for p in plan.canals for c in p.cautions)])
    for untrue in (
        "nerve",
        "join",
        "post",
        "Oval",
        "tight curve",
        "Wide end",
        "ledge",
        "second canal",
        "reference moved",
    ):
        assert untrue not in said


def test_an_unfilled_template_asks_for_the_first_missing_value():
    with pytest.raises(
        InputRefused, match=r"canals\[0\].working_length_mm \(B\) is '\?'; fill it in, allowed: 8 to 40 mm"
    ):
        plan_text(clinic.new_case("14", "iso3950"))


def test_the_template_repeats_the_tooth_in_words_and_says_what_to_look_for():
    text = clinic.new_case("3", "universal")
    assert text.startswith("# Upper right first molar.")
    assert "Look for a second canal in the mesiobuccal root" in text


def test_a_primary_tooth_gets_no_template():
    with pytest.raises(InputRefused, match="not for this method"):
        clinic.new_case("55", "iso3950")

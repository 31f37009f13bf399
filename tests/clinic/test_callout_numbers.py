"""Numbers: commas, ranges, slips, and what is cut into statements."""

from __future__ import annotations

import pytest
from pydantic import TypeAdapter, ValidationError

from rootfill.plan.case import CanalEntry
from tests.clinic.callouts import doubt, findings, set_fields, sure


@pytest.mark.parametrize(
    "line", ["mb 19,5 locator", "mb locator 19.5mm", "mb locator = 19.5 mm.", "MB: locator (19,5)"]
)
def test_a_comma_between_digits_is_a_decimal_point_and_other_marks_are_passed_over(line: str) -> None:
    assert findings(line)[0]["value_mm"] == 19.5


@pytest.mark.parametrize(
    "line", ["mb locator 20, length 19.5", "mb locator 20,length 19,5", "mb locator 20;length 19.5"]
)
def test_any_other_comma_and_a_semicolon_part_two_statements(line: str) -> None:
    assert sure(line).says == "MB: apex locator at 0, 20.0 mm; MB: working length 19.5 mm, was 20.5 mm"


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("mb loc 20,21", "'20,21' may be one number or two: type '20.21' or '20, 21'."),
        ("length mb 20,21 ml", "'20,21' may be one number or two"),
        ("mb wl 20,30/.04", "'20,30/.04' is not known here"),
        ("mb loc 20.5.1", "'20.5.1' is not known here"),
        ("mb loc 19-20", "could both be the length"),
        ("mb loc 19½", "'19½' is not known here"),
        ("mb loc ١٩", "is not known here"),
        ("mb loc 20 wl 19.5", "'wl' is left over: leave it out, or put a comma before another statement."),
        ("mb dry?", "'?' is not known here"),
        ("mb lokator 19.5", "'lokator' is not known here: did you mean locator?"),
        ("mb single", "'single' is not known here: did you mean single wave?"),
        ("mb 20.5", "'20.5' alone does not say what it is: type for example 'length 20.5'."),
        ("mb short 1", "'short' alone does not say what it is"),
        (" ".join(["mb dry"] * 20), "This is too long for one statement"),
        ("mb dry, " * 60, "The line is longer than 400 characters"),
    ],
)
def test_what_cannot_be_read_surely_is_asked_back(line: str, asked: str) -> None:
    assert asked in doubt(line)


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("mb length 195", "The length 195 is out of range, 8 to 40 mm; did you mean 19.5?"),
        ("mb length 1.95", "The length 1.95 is out of range, 8 to 40 mm; did you mean 19.5?"),
        ("mb length -20", "The length -20 is out of range, 8 to 40 mm."),
        ("mb locator 205", "did you mean 20.5?"),
        ("mb point 4", "The length 4 is out of range, 8 to 40 mm; did you mean 40?"),
        ("mb orifice 80", "The depth of the orifice 80 is out of range, 0 to 40 mm; did you mean 8?"),
        ("mb wall 9", "The wall 9 is out of range, above 0 to 6 mm; did you mean 0.9?"),
        ("mb wall 0", "The wall 0 is out of range, above 0 to 6 mm."),
        ("mb 300/.04", "The size 300 is out of range, 6 to 140; did you mean 30?"),
        ("mb 30/.4", "The taper .4 is out of range, 0.005 to 0.2; did you mean 0.04?"),
        ("mb curve 130 r 8", "The angle 130 is out of range, -120 to 120°; did you mean 13?"),
        ("mb curve 30 r 0.8", "The radius 0.8 is out of range, 1 to 100 mm; did you mean 8?"),
        ("ml joins mb at 35", "Its distance from the end 35 is out of range, 0 to 30 mm; did you mean 3.5?"),
        ("mb file 30.5 to 19", "The size 30.5 is no size: type a whole number such as 30."),
        ("mb cone short 41", "The distance short 41 is out of range, 0 to 40 mm; did you mean 4.1?"),
    ],
)
def test_a_number_outside_of_its_range_names_the_range_and_the_likely_slip(line: str, asked: str) -> None:
    assert asked in doubt(line)


@pytest.mark.parametrize("length", ["7.9", "8", "40", "40.1"])
def test_the_ends_of_a_range_are_those_of_the_case_file(length: str) -> None:
    try:
        row = {"name": "DL", "reference": "x", "working_length_mm": length}
        allowed = TypeAdapter(CanalEntry).validate_python(row).working_length_mm
    except ValidationError:
        assert "out of range" in doubt(f"dl length {length}")
    else:
        assert set_fields(f"dl length {length}")["DL"]["working_length_mm"] == allowed

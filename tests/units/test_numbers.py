"""Numbers as people type them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from rootfill.units import CutTaper, Size, Taper, parse_number, parse_size, parse_taper, size_name

SIZE, TAPER, CUT_TAPER = TypeAdapter(Size), TypeAdapter(Taper), TypeAdapter(CutTaper)


@pytest.mark.parametrize("typed", ["19.5", "19,5", " 19,5 ", 19.5, "+19.5", "1.95e1"])
def test_a_length_may_be_typed_with_comma_or_point(typed):
    assert parse_number(typed) == 19.5


@pytest.mark.parametrize(
    "typed", ["", "?", "nan", "inf", "-inf", math.nan, math.inf, True, False, None, "1.2.3", "19 5"]
)
def test_what_is_no_finite_number_is_no_number(typed):
    with pytest.raises(ValueError, match=r"number|size|convert"):
        parse_number(typed)


@pytest.mark.parametrize("typed", [10**400, -(10**400), "1" + 400 * "0"])
def test_a_number_too_long_for_a_float_is_refused_like_any_other(typed):
    with pytest.raises(ValueError, match=r"number|size|convert"):
        parse_number(typed)


@given(st.floats(-1e6, 1e6), st.sampled_from([".", ","]))
def test_a_number_is_the_same_typed_with_either_mark(number, mark):
    assert parse_number(repr(number).replace(".", mark)) == number


@pytest.mark.parametrize("typed", [25, "25", "#25", "025", " #025 ", 25.0])
def test_a_size_may_be_typed_bare_with_a_hash_or_with_a_nought(typed):
    assert parse_size(typed) == 25


@pytest.mark.parametrize("typed", ["25.5", "##25", "25/.04", "twenty", True, ".25"])
def test_a_size_is_a_whole_number(typed):
    with pytest.raises(ValueError, match=r"number|size|convert"):
        parse_size(typed)


@pytest.mark.parametrize("typed", [".06", "0.06", "0,06", ",06", "6 %", "6%", "6", "06", 6, 0.06, " 06 % "])
def test_a_taper_may_be_typed_as_a_ratio_or_in_percent(typed):
    assert parse_taper(typed) == pytest.approx(0.06, rel=1e-12)


@pytest.mark.parametrize(
    ("typed", "taper"), [("2.5", 0.025), ("12", 0.12), ("0.5 %", 0.005), ("0", 0.0), ("1", 0.01), ("002", 0.02)]
)
def test_a_percent_sign_a_leading_nought_or_one_and_more_mean_percent(typed, taper):
    assert parse_taper(typed) == pytest.approx(taper, rel=1e-12)


@given(st.integers(1, 20))
def test_every_way_of_typing_a_taper_means_the_same(percent):
    ways = [f".{percent:02d}", f"0,{percent:02d}", f"{percent} %", f"{percent:02d}", str(percent), percent / 100]
    assert {round(parse_taper(w), 12) for w in ways} == {percent / 100}


@pytest.mark.parametrize(
    ("kind", "inside", "outside"),
    [
        (SIZE, [6, 140], [5, 141, 0, -25]),
        (TAPER, [0, 0.2, "20 %"], [-0.01, "21 %", 0.21]),
        (CUT_TAPER, [0.2], [0, "0 %"]),
    ],
)
def test_both_ends_of_a_range_are_allowed_and_nothing_beyond_them(kind, inside, outside):
    for typed in inside:
        kind.validate_python(typed)
    for typed in outside:
        with pytest.raises(ValidationError):
            kind.validate_python(typed)


@pytest.mark.parametrize(
    ("size", "taper", "name"), [(25, 0.06, "25/.06"), (8, 0.02, "8/.02"), (40, 0.1, "40/.10"), (30, 0.045, "30/.045")]
)
def test_a_size_and_taper_are_written_as_the_trade_writes_them(size, taper, name):
    assert size_name(size, taper) == name

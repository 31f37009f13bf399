"""Values with their doubt, and how they are shown."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootfill.units import Estimate, decimals, shown

LENGTHS = st.floats(-50, 50)


def an(value: float, low: float, high: float, unit: str = "mm") -> Estimate:
    return Estimate(value, low, high, unit, "", "geometry")


@pytest.mark.parametrize(("low", "high"), [(1.1, 2.0), (0.0, 0.9), (float("nan"), 2.0)])
def test_a_value_outside_its_interval_cannot_be_made(low, high):
    with pytest.raises(ValueError, match="outside its interval"):
        an(1.0, low, high)


@given(st.lists(LENGTHS, min_size=3, max_size=3), LENGTHS, st.sampled_from([-1, 1]))
def test_shifting_or_turning_an_estimate_keeps_its_width_and_moves_its_value(ends, offset, sign):
    low, value, high = sorted(ends)
    moved = an(value, low, high).shifted(sign, offset)
    assert moved.value == pytest.approx(offset + sign * value, abs=1e-9)
    assert moved.high - moved.low == pytest.approx(high - low, abs=1e-9)
    assert moved.low <= moved.value <= moved.high


def test_a_depth_from_a_station_turns_the_interval_round():
    # binding depth = made end 20 - reach 5.0 (4.0 to 7.0)
    depth = an(5.0, 4.0, 7.0).shifted(-1, 20.0)
    assert (depth.low, depth.value, depth.high) == (13.0, 15.0, 16.0)


@pytest.mark.parametrize(
    ("width", "places"), [(0.0, 2), (0.19, 2), (0.2, 1), (1.6, 1), (9.99, 1), (10.0, 0), (300.0, 0)]
)
def test_an_interval_justifies_only_so_many_decimals(width, places):
    assert decimals(0.0, width) == places


def test_an_estimate_is_shown_with_its_interval_and_unit():
    assert shown(an(15.667, 14.93, 16.44)) == "15.7 mm (14.9 to 16.4)"
    assert shown(an(0.912, 0.901, 0.923, "")) == "0.91 (0.90 to 0.92)"

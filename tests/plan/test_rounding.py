"""The one rounding table: never past the cautious side."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootfill.units import ROUNDING, down_to_half, up_to_half

DEPTHS = st.floats(0, 40)
DUST_MM = 1e-6
"""Floating-point dust that may not move a stop; far below anything that can be set."""

# contract, "Rounding": stops and cone shallower, fill level deeper, seconds down
SHALLOWER = ["plugger_set_stop_mm", "heat_set_stop_mm", "needle_set_stop_mm", "cone_set_mm", "heat_s"]


@pytest.mark.parametrize("decision", SHALLOWER)
@given(value=DEPTHS)
def test_a_stop_a_cone_and_seconds_are_never_rounded_up(decision, value):
    rounded = ROUNDING[decision](value)
    assert value - 0.5 < rounded <= value + DUST_MM
    assert (2 * rounded).is_integer()


@given(DEPTHS)
def test_a_fill_level_is_never_rounded_to_a_shallower_depth(value):
    rounded = ROUNDING["fill_level_mm"](value)
    assert value - DUST_MM <= rounded < value + 0.5
    assert (2 * rounded).is_integer()


def test_the_table_names_every_decision_that_is_rounded():
    assert set(ROUNDING) == {*SHALLOWER, "fill_level_mm"}


@given(st.integers(0, 80), st.floats(-1e-9, 1e-9))
def test_dust_does_not_move_a_depth_that_is_already_a_half(halves, dust):
    assert down_to_half(halves / 2 + dust) == halves / 2
    assert up_to_half(halves / 2 + dust) == halves / 2


@pytest.mark.parametrize(
    ("value", "down", "up"),
    [(12.98, 12.5, 13.0), (15.667, 15.5, 16.0), (0.3 / 0.1 / 2, 1.5, 1.5), (11.499, 11.0, 11.5)],
)
def test_a_depth_goes_to_the_half_on_its_own_side(value, down, up):
    assert (down_to_half(value), up_to_half(value)) == (down, up)

"""Dentine left around the canal."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootfill.tooth import Wall, remaining_wall_mm


def test_a_wall_loses_half_of_what_the_canal_gains_in_that_direction():
    # 1.2 mm towards the furcation, canal 0.4 -> 0.9 there: 1.2 - 0.25; 0.8 elsewhere, 0.4 -> 0.6: 0.8 - 0.1
    left = remaining_wall_mm(np.array([1.2, 0.8]), np.array([0.4, 0.4]), np.array([0.9, 0.6]))
    assert left == pytest.approx([0.95, 0.70])


def test_a_direction_no_file_touched_keeps_its_wall():
    assert remaining_wall_mm(np.array([1.0]), np.array([1.5]), np.array([0.6])) == pytest.approx([1.0])


WIDTHS = st.floats(0.1, 2.0)


@given(WIDTHS, WIDTHS, WIDTHS, WIDTHS)
def test_cutting_wider_never_leaves_more_wall(wall, natural, one, other):
    least, most = sorted((one, other))
    args = np.array([wall]), np.array([natural])
    assert remaining_wall_mm(*args, np.array([most])) <= remaining_wall_mm(*args, np.array([least])) <= wall


def test_the_thinnest_place_is_found_and_walls_between_rows_are_linear():
    wall = Wall(np.array([0.0, 4.0, 8.0]), np.array([0.95, 0.75, 1.15]))
    assert wall.thinnest() == (4.0, 0.75)
    assert wall.at(np.array([2.0, 6.0, 20.0])) == pytest.approx([0.85, 0.95, 1.15])

"""Angles, radius and length taken back from the centreline."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootfill.tooth import Arc, Centreline, Curve, arc_from_schneider, of_curve


def test_schneider_30_radius_6_comes_back_from_the_line():
    # one arc ending at s = 0, 6.28 mm long, then straight to 13 mm
    line = of_curve(Curve((arc_from_schneider(30, 6.0),)), 13.0)
    assert line.schneider_deg() == pytest.approx(30, abs=0.5)
    assert line.central_deg() == pytest.approx(60, abs=0.1)
    assert line.tightest_mm() == pytest.approx(6.0, rel=2e-3)
    assert line.length_mm == pytest.approx(13.0, abs=1e-3)


@settings(max_examples=25)
@given(st.floats(10, 40), st.floats(5, 8))
def test_schneiders_angle_is_half_the_central_angle_of_an_arc_that_ends_at_the_made_end(schneider, radius):
    arc = arc_from_schneider(schneider, radius)
    line = of_curve(Curve((arc,)), arc.length_mm + 4.0)
    assert line.schneider_deg() == pytest.approx(schneider, abs=0.5)
    assert line.central_deg() == pytest.approx(2 * schneider, abs=0.5)
    assert line.tightest_mm() == pytest.approx(radius, rel=0.02)


def test_an_s_curve_turns_by_both_arcs():
    line = of_curve(Curve((Arc(20, 8, 1.0), Arc(-25, 10, 5.0))), 13.0)
    assert line.central_deg() == pytest.approx(45, abs=0.2)
    assert line.tightest_mm() == pytest.approx(8, rel=5e-3)


def test_an_arc_that_begins_above_the_end_shows_more_than_half_its_angle_to_schneider():
    # arc 40 deg, radius 8, from 3 mm: the chord from the end to the departure is
    # atan2(3 sin 40 + 8 (1 - cos 40), 3 cos 40 + 8 sin 40) = 27.3 deg
    a = math.radians(40)
    expected = math.degrees(math.atan2(3 * math.sin(a) + 8 * (1 - math.cos(a)), 3 * math.cos(a) + 8 * math.sin(a)))
    assert of_curve(Curve((Arc(40, 8, 3.0),)), 14.0).schneider_deg() == pytest.approx(expected, abs=0.5)
    assert expected > 20


def test_a_straight_canal_has_no_angle_and_no_radius():
    line = of_curve(Curve(), 12.0)
    assert line.schneider_deg() == 0
    assert line.central_deg() == pytest.approx(0, abs=1e-3)
    assert line.tightest_mm() > 1e6
    assert line.length_mm == pytest.approx(12.0)


def test_a_canal_in_space_is_measured_as_well_as_one_in_a_plane():
    flat = of_curve(Curve((Arc(40, 8, 2.0),)), 12.0)
    turn = np.array([[1.0, 0, 0], [0, 0.6, 0.8]])
    space = Centreline(flat.points_mm @ turn)
    assert space.central_deg() == pytest.approx(flat.central_deg(), abs=1e-3)
    # rounding may move the place where it leaves by one station of 0.01 mm
    assert space.schneider_deg() == pytest.approx(flat.schneider_deg(), abs=0.1)
    assert space.tightest_mm() == pytest.approx(flat.tightest_mm(), rel=1e-6)

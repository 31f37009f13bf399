"""Arcs and the angles worked out from them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootfill.tooth import Arc, Curve, arc_from_schneider
from tests.tooth.shapes import curves


def test_schneider_30_and_a_chord_of_6_mm_give_radius_6_central_60_arc_6_28():
    # chord = 2 R sin(central/2), central = 2 x Schneider: 6 = 2 R sin 30 deg
    radius = 6.0 / (2 * math.sin(math.radians(30)))
    arc = arc_from_schneider(30.0, radius)
    assert (arc.radius_mm, arc.angle_deg) == pytest.approx((6.00, 60.0))
    assert arc.length_mm == pytest.approx(6.28, abs=5e-3)
    ends = Curve((arc,)).points(np.array([0.0, arc.length_mm]))
    assert np.linalg.norm(ends[1] - ends[0]) == pytest.approx(6.0, rel=1e-9)


def test_curvature_is_one_over_the_radius_inside_the_arc_and_nothing_outside():
    curve = Curve((Arc(25, 8, 3.0),))
    end = 3.0 + 8 * math.radians(25)
    assert curve.curvature(np.array([2.99, 3.0, end - 0.01, end + 0.01])) == pytest.approx([0, 0.125, 0.125, 0])


def test_deflection_of_one_arc_is_a_parabola_that_leaves_on_its_tangent():
    # K = s²/2R on the arc of length a, then a²/2R + a (s - a)/R
    arc = Arc(math.degrees(0.5), 10.0)
    got = Curve((arc,)).deflection(np.array([0.0, 3.0, 5.0, 9.0]))
    assert got == pytest.approx([0, 0.45, 1.25, 1.25 + 0.5 * 4])


@given(curves(12.0), st.floats(0.5, 11.5))
def test_deflection_bends_as_the_curvature_says(curve, s):
    arc = curve.arcs[0]
    h = 1e-3
    if min(abs(s - arc.from_mm), abs(s - arc.to_mm)) < 2 * h:
        return
    k = curve.deflection(np.array([s - h, s, s + h]))
    assert (k[0] - 2 * k[1] + k[2]) / h**2 == pytest.approx(float(curve.curvature(np.array([s]))[0]), abs=1e-6)


@given(curves(12.0))
def test_a_mirrored_curve_deflects_to_the_other_side(curve):
    s = np.linspace(0, 12, 25)
    mirrored = Curve(tuple(Arc(-a.angle_deg, a.radius_mm, a.from_mm) for a in curve.arcs))
    assert mirrored.deflection(s) == pytest.approx(-curve.deflection(s))
    assert mirrored.points(s) * [-1, 1] == pytest.approx(curve.points(s))


@given(curves(12.0))
def test_the_points_of_an_arc_lie_on_its_circle(curve):
    arc = curve.arcs[0]
    p = curve.points(np.concatenate(([0.0], np.linspace(arc.from_mm + 1e-6, arc.to_mm, 9))))[1:]
    a, b, c = p[0], p[4], p[8]
    sides = [np.linalg.norm(a - b), np.linalg.norm(b - c), np.linalg.norm(c - a)]
    area = abs((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])) / 2
    assert math.prod(sides) / (4 * area) == pytest.approx(arc.radius_mm, rel=1e-4)


def test_an_s_curve_of_two_equal_arcs_heads_straight_on_again():
    s_curve = Curve((Arc(20, 8, 1.0), Arc(-20, 8, 6.0)))
    assert s_curve.heading(np.array([12.0])) == pytest.approx([0.0], abs=1e-12)
    assert s_curve.heading(np.array([5.0])) == pytest.approx([math.radians(20)])
    # two arcs offset the axis: arc angle a at radius R twice and the straight stretch between
    arc = 8 * math.radians(20)
    between = 6.0 - 1.0 - arc
    sideways = 2 * 8 * (1 - math.cos(math.radians(20))) + between * math.sin(math.radians(20))
    stations = np.array([0.0, 1.0, 1.0 + arc, 6.0, 6.0 + arc, 12.0])
    assert s_curve.points(stations)[-1, 0] == pytest.approx(sideways, rel=1e-12)


def test_a_straight_canal_has_no_radius_and_no_deflection():
    s = np.linspace(0, 12, 7)
    assert Curve().is_straight
    assert Curve().tightest_mm() == math.inf
    assert not np.any(Curve().deflection(s))
    assert Curve().points(s) == pytest.approx(np.column_stack((np.zeros(7), s)))


def test_the_tightest_radius_is_that_of_the_sharpest_arc():
    assert Curve((Arc(10, 15), Arc(-20, 6, 5.0))).tightest_mm() == 6

"""Bends read back from traces whose bends are known."""

from __future__ import annotations

import math

import numpy as np
import pytest

from rootfill.fit import rigid_reach_mm
from rootfill.tooth import Arc, Canal, Curve, curve_from, from_two_films, in_its_plane, of_curve, tapered
from rootfill.tray import Rod


def traced(*arcs: Arc, length: float = 12.0) -> np.ndarray:
    return of_curve(Curve(arcs), length).points_mm


def test_the_arcs_of_a_trace_turn_by_what_the_trace_turns():
    curve = curve_from(traced(Arc(40, 8, 2)))
    assert sum(a.angle_deg for a in curve.arcs) == pytest.approx(40, abs=0.5)
    inner = [a.radius_mm for a in curve.arcs if 3 < a.from_mm < 6]
    assert inner == pytest.approx([8] * len(inner), rel=0.02)


def test_an_s_curve_bends_both_ways():
    curve = curve_from(traced(Arc(25, 8, 1), Arc(-20, 10, 6)))
    assert sum(a.angle_deg for a in curve.arcs if a.angle_deg > 0) == pytest.approx(25, abs=1)
    assert sum(a.angle_deg for a in curve.arcs if a.angle_deg < 0) == pytest.approx(-20, abs=1)


def test_a_straight_trace_has_no_arcs():
    assert curve_from(np.column_stack((np.linspace(0, 1, 30), np.linspace(0, 12, 30)))).is_straight


def test_a_traced_canal_holds_a_plugger_where_the_drawn_one_does():
    drawn = Canal(tapered(25, 0.06, 13), Curve((Arc(25, 8, 3),)))
    read = Canal(tapered(25, 0.06, 13), curve_from(traced(Arc(25, 8, 3), length=13), 0.5))
    for tip in (0.45, 0.50, 0.70):
        assert rigid_reach_mm(read, Rod(tip, 0)) == pytest.approx(rigid_reach_mm(drawn, Rod(tip, 0)), abs=0.1)


@pytest.mark.parametrize("between", [20.0, 60.0, 90.0, -40.0])
def test_two_films_give_the_canal_in_space(between):
    height = np.linspace(0, 12, 80)
    x, y = 0.02 * height**2, 0.6 * np.sin(height / 4)
    turn = math.radians(between)
    second = np.column_stack((x * math.cos(turn) + y * math.sin(turn), height))
    space = from_two_films(np.column_stack((x, height)), second, between)
    assert np.interp(space[:, 2], height, x) == pytest.approx(space[:, 0], abs=2e-3)
    assert np.interp(space[:, 2], height, y) == pytest.approx(space[:, 1], abs=5e-3)


def test_a_plane_canal_seen_on_two_films_keeps_its_turning():
    plane = traced(Arc(35, 9, 2))
    tilt = math.radians(30)
    x, y = plane[:, 0] * math.cos(tilt), plane[:, 0] * math.sin(tilt)
    second = np.column_stack((x * math.cos(1.0) + y * math.sin(1.0), plane[:, 1]))
    space = from_two_films(np.column_stack((x, plane[:, 1])), second, math.degrees(1.0))
    flat, off = in_its_plane(space)
    assert off < 0.01
    assert abs(sum(a.angle_deg for a in curve_from(flat).arcs)) == pytest.approx(35, abs=1.5)


def test_films_from_one_side_or_a_trace_that_turns_back_are_refused():
    rising = np.column_stack((np.zeros(5), np.arange(5.0)))
    with pytest.raises(ValueError, match="5 degrees"):
        from_two_films(rising, rising, 2)
    with pytest.raises(ValueError, match="rises"):
        from_two_films(rising[::-1], rising, 40)

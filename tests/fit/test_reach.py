"""How deep a stiff rod goes before a straight axis no longer fits."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from rootfill.fit import clearance_mm, rigid_reach_mm, width_reach_mm
from rootfill.fit.reach import fits_rigid, grid
from rootfill.tooth import Arc, Canal, Curve, Profile, from_rows, tapered
from rootfill.tray import Rod
from tests.fit.shapes import bent_25_06, parallel_arc
from tests.tooth.shapes import curves, profiles

RESOLUTION_MM = 1e-4
"""A reach is refined to a small part of this."""


def test_a_straight_rod_in_a_circular_arc_goes_as_far_as_its_length_allows():
    # l = sqrt(8 rho (D - d)) = sqrt(8 * 8 * 0.2) = 3.578
    inside = 12.0 - rigid_reach_mm(parallel_arc(), Rod(0.5, 0.0))
    assert inside == pytest.approx(math.sqrt(8 * 8 * (0.7 - 0.5)), rel=0.005)
    assert inside == pytest.approx(3.578, rel=0.005)


def test_the_axis_model_stays_below_a_flat_ended_rod_at_its_corners_and_within_2_percent():
    # 2 sqrt((rho + D/2)² - (rho - D/2 + d)²) = 3.633
    corners = 2 * math.sqrt((8 + 0.35) ** 2 - (8 - 0.35 + 0.5) ** 2)
    assert corners == pytest.approx(3.633, abs=5e-4)
    inside = 12.0 - rigid_reach_mm(parallel_arc(), Rod(0.5, 0.0))
    assert 0.98 * corners < inside < corners


@settings(max_examples=30)
@given(st.floats(5, 20), st.floats(0.05, 0.3))
def test_the_rigid_limit_holds_for_any_radius_and_play(radius, play):
    limit = math.sqrt(8 * radius * play)
    canal = parallel_arc(radius_mm=radius, length_mm=max(1.5 * limit, 6.0))
    assert canal.length_mm - rigid_reach_mm(canal, Rod(0.7 - play, 0.0)) == pytest.approx(limit, rel=0.005)


@pytest.mark.parametrize(
    # (d - D0)/taper: 0.25/0.06; 0.15, 0.20, 0.40 over 0.04
    ("size", "taper", "tip", "reach"),
    [(25, 0.06, 0.50, 4.17), (30, 0.04, 0.45, 3.75), (30, 0.04, 0.50, 5.00), (30, 0.04, 0.70, 10.00)],
)
def test_in_a_straight_tapered_canal_a_parallel_rod_goes_to_where_the_diameters_meet(size, taper, tip, reach):
    canal = Canal(tapered(size, taper, 12.0))
    assert rigid_reach_mm(canal, Rod(tip, 0.0)) == pytest.approx((tip - size / 100) / taper, abs=RESOLUTION_MM)
    assert rigid_reach_mm(canal, Rod(tip, 0.0)) == pytest.approx(reach, abs=5e-3)


def test_a_tapered_rod_is_stopped_at_the_orifice_when_its_taper_is_higher():
    # 0.40 + 0.08 (12 - s) = 0.30 + 0.04 * 12 at s = 7.25
    assert rigid_reach_mm(Canal(tapered(30, 0.04, 12.0)), Rod(0.40, 0.08)) == pytest.approx(7.25, abs=RESOLUTION_MM)


def test_a_thick_shaft_is_stopped_by_the_orifice():
    # working part of 6 mm, then a shaft of 1.0 mm: it stands 6 mm inside
    assert rigid_reach_mm(Canal(tapered(30, 0.04, 12.0)), Rod(0.35, 0.0, 6.0, 1.0)) == pytest.approx(6.0, abs=1e-3)
    assert rigid_reach_mm(Canal(tapered(30, 0.04, 12.0)), Rod(0.35, 0.0, 6.0)) == pytest.approx(1.25, abs=1e-3)


def test_a_rod_thinner_than_the_end_goes_no_further_than_the_end():
    assert rigid_reach_mm(Canal(tapered(30, 0.04, 12.0)), Rod(0.20, 0.0)) == 0.0


def test_a_rod_wider_than_the_orifice_does_not_enter():
    assert rigid_reach_mm(Canal(tapered(30, 0.04, 12.0)), Rod(0.80, 0.0)) is None


def test_a_waist_high_up_stops_a_rod_that_would_fit_below_it():
    waisted = Canal(from_rows([(0, 0.6, 0.6), (8, 0.9, 0.9), (9, 0.4, 0.4), (10, 0.9, 0.9), (12, 1.0, 1.0)]))
    # 0.9 - 0.5 (10 - s) = 0.5 at s = 9.2
    assert rigid_reach_mm(waisted, Rod(0.5, 0.0)) == pytest.approx(9.2, abs=RESOLUTION_MM)


def test_an_oval_canal_lets_a_round_rod_down_as_its_narrow_width_does():
    oval = Canal(from_rows([(0, 0.30, 0.90), (12, 0.78, 1.80)]))
    assert rigid_reach_mm(oval, Rod(0.50, 0.0)) == pytest.approx(5.0, abs=RESOLUTION_MM)


def fits_by_linear_program(canal: Canal, rod: Rod, tip_s_mm: float) -> bool:
    """Whether some line a + b·s stays within the gap of K(s), asked of a general solver."""
    s = np.concatenate(([tip_s_mm], grid(canal)[grid(canal) > tip_s_mm]))
    gap = (canal.profile.narrow_at(s) - rod.diameter(s - tip_s_mm)) / 2
    k = canal.curve.deflection(s)
    line = np.column_stack((np.ones_like(s), s))
    # least t with |K - a - b s| <= gap + t
    rows = np.column_stack((np.vstack((line, -line)), -np.ones(2 * s.size)))
    answer = linprog([0, 0, 1], rows, np.concatenate((k + gap, gap - k)), bounds=[(None, None)] * 3)
    assert answer.status == 0
    return bool(answer.x[2] <= 0)


@settings(max_examples=25)
@given(st.data())
def test_whether_a_straight_axis_exists_agrees_with_a_linear_program(data):
    profile = data.draw(profiles(monotone=True))
    canal = Canal(profile, data.draw(curves(profile.length_mm)))
    rod = Rod(data.draw(st.floats(0.1, 0.6)), data.draw(st.sampled_from([0.0, 0.02, 0.04])))
    tips = np.linspace(0.1, profile.length_mm - 0.1, 12)
    found = fits_rigid(canal, rod, tips, grid(canal))
    for shift, agree in ((1e-6, np.all), (0.0, np.size)):
        if shift and agree([fits_by_linear_program(canal, rod, float(t)) for t in tips] == found):
            return
    # a disagreement is allowed only where the answer turns within a nanometre of width
    for tip, says in zip(tips, found, strict=True):
        if fits_by_linear_program(canal, rod, float(tip)) != says:
            looser, tighter = (fits_by_linear_program(canal.widened(by), rod, float(tip)) for by in (2e-6, -2e-6))
            assert looser
            assert not tighter


@settings(max_examples=40)
@given(st.data())
def test_a_wider_rod_of_the_same_shape_never_goes_deeper_and_a_wider_canal_never_stops_it_higher(data):
    profile = data.draw(profiles())
    canal = Canal(profile, data.draw(curves(profile.length_mm)))
    tip, taper = data.draw(st.floats(0.1, 0.6)), data.draw(st.sampled_from([0.0, 0.02, 0.04]))
    by = data.draw(st.floats(0, 0.2))
    reach, thick = rigid_reach_mm(canal, Rod(tip, taper)), rigid_reach_mm(canal, Rod(tip + by, taper))
    wide = rigid_reach_mm(canal.widened(by), Rod(tip, taper))
    if reach is None:
        assert thick is None
        return
    assert thick is None or thick >= reach - RESOLUTION_MM
    assert wide is not None
    assert wide <= reach + RESOLUTION_MM


@settings(max_examples=30)
@given(st.data())
def test_a_mirrored_curve_gives_the_same_reach_and_a_curve_never_a_deeper_one(data):
    profile = data.draw(profiles())
    curve = data.draw(curves(profile.length_mm))
    mirrored = Curve(tuple(Arc(-a.angle_deg, a.radius_mm, a.from_mm) for a in curve.arcs))
    rod = Rod(data.draw(st.floats(0.1, 0.6)), 0.02)
    one, other = rigid_reach_mm(Canal(profile, curve), rod), rigid_reach_mm(Canal(profile, mirrored), rod)
    straight = width_reach_mm(Canal(profile, curve), rod)
    if one is None:
        assert other is None
        assert straight is None
        return
    assert other == pytest.approx(one, abs=1e-6)
    assert straight == rigid_reach_mm(Canal(profile), rod)
    assert straight <= one + RESOLUTION_MM


@settings(max_examples=20)
@given(st.data())
def test_the_reach_is_the_last_free_place_of_a_rod_pushed_down_in_small_steps(data):
    profile: Profile = data.draw(profiles(monotone=True))
    canal = Canal(profile, data.draw(curves(profile.length_mm)))
    rod = Rod(data.draw(st.floats(0.1, 0.6)), 0.02)
    reach = rigid_reach_mm(canal, rod)
    tips = np.linspace(profile.length_mm, 0, 1500)
    free = fits_rigid(canal, rod, tips, grid(canal, 0.03))
    if reach is None:
        assert not free[0]
        return
    blocked = np.flatnonzero(~free)
    pushed = 0.0 if blocked.size == 0 else float(tips[max(blocked[0] - 1, 0)])
    # stations every 0.1 mm against every 0.03 mm on an arc of 5 mm and more: 0.1²/8/5 mm of gap at most
    assert reach == pytest.approx(pushed, abs=0.06)


def test_the_clearance_is_the_least_difference_of_diameters():
    canal = Canal(tapered(30, 0.04, 12.0))
    # parallel 0.50 with its tip at 6: 0.54 - 0.50; tapered .06 with its tip at 8: at the orifice 0.78 - 0.74
    assert clearance_mm(canal, Rod(0.50, 0.0), 6.0) == pytest.approx(0.04)
    assert clearance_mm(canal, Rod(0.50, 0.06), 8.0) == pytest.approx(0.04)
    assert clearance_mm(canal, Rod(0.50, 0.0), 4.0) == pytest.approx(-0.04)


def test_the_bent_25_06_of_the_example_is_entered_less_deep_than_a_straight_one():
    reach = [rigid_reach_mm(bent_25_06(), Rod(tip, 0.0)) for tip in (0.45, 0.50, 0.70)]
    straight = [width_reach_mm(bent_25_06(), Rod(tip, 0.0)) for tip in (0.45, 0.50, 0.70)]
    assert straight == pytest.approx([(0.45 - 0.25) / 0.06, (0.50 - 0.25) / 0.06, 7.5], abs=1e-3)
    assert reach[0] > straight[0] + 0.5
    assert reach[2] == pytest.approx(7.5, abs=1e-3)


def test_the_stations_hold_every_breakpoint_of_shape_and_curve_and_none_lie_further_apart_than_the_step():
    canal = Canal(from_rows([(0, 0.3, 0.3), (4.77, 0.5, 0.6), (12, 0.9, 0.9)]), Curve((Arc(25, 8, 3.03),)))
    stations = grid(canal)
    assert np.isin([0.0, 4.77, 12.0, 3.03, canal.curve.arcs[0].to_mm], stations).all()
    assert np.diff(stations).max() <= 0.1 + 1e-9


@pytest.mark.parametrize(
    ("canal", "rod", "expected"),
    [
        # the shaft, 1.0 wide, stops where the canal is 1.0 wide: 0.30 + 0.06 s = 1.0 at s = 11.667, tip 5.05 below
        (Canal(tapered(30, 0.06, 12)), Rod(0.4, 0.0, 5.05, 1.0), 11.6667 - 5.05),
        # the end of the taper is 0.4 + 0.06·3.95 = 0.637 wide; in .02 that is s = 16.85, above the orifice: the
        # orifice, 0.54, decides by the taper: 0.4 + 0.06 x = 0.54 at x = 2.333
        (Canal(tapered(30, 0.02, 12)), Rod(0.4, 0.06, 3.95), 12 - 2.3333),
    ],
)
def test_the_end_of_the_working_part_is_felt_between_two_stations_of_the_grid(canal, rod, expected):
    assert rigid_reach_mm(canal, rod) == pytest.approx(expected, abs=2e-3)

"""The same rod as an elastic beam: wall forces, and how deep a passive push takes it."""

from __future__ import annotations

import math

import clarabel
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import sparse

from rootfill.errors import SolverError
from rootfill.fit import bend, contacts, reach, rigid_reach_mm, wall_force_n, width_reach_mm
from rootfill.fit.beam import PIECES
from rootfill.fit.reach import SCAN_STEP_MM
from rootfill.tooth import Arc, Canal, Curve, tapered
from rootfill.tray import Rod
from tests.fit.shapes import STEEL_MPA, bent_25_06, parallel_arc
from tests.tooth.shapes import curves

RHO, WIDE, ROD = 8.0, 0.7, Rod(0.5, 0.0)
PLAY = WIDE - ROD.tip_mm
EI = STEEL_MPA * math.pi * ROD.tip_mm**4 / 64
CHARACTER = math.sqrt(RHO * PLAY)
FINEST_MM = SCAN_STEP_MM / 2**5
"""A reach by force is halved five times from steps of 0.1 mm."""


def middle_force_n(inside_mm: float) -> float:
    """48 EI δ/l³ with δ = l²/(8 rho) − (D − d), while sqrt 8 <= l/sqrt(rho (D − d)) <= sqrt 24."""
    return 48 * EI * (inside_mm**2 / (8 * RHO) - PLAY) / inside_mm**3


def split_force_n() -> float:
    """EI/(rho sqrt(6 rho (D − d))), beyond."""
    return EI / (RHO * math.sqrt(6 * RHO * PLAY))


def at(inside_mm: float, pieces: int = PIECES):
    return bend(parallel_arc(RHO, WIDE), ROD, STEEL_MPA, 12.0 - inside_mm, pieces)


@pytest.mark.parametrize("inside", [3.9, 4.5, 5.0, 5.5, 6.0])
def test_up_to_the_split_the_middle_force_is_that_of_a_beam_on_three_points(inside):
    assert math.sqrt(8) <= inside / CHARACTER <= math.sqrt(24)
    got = at(inside)
    assert got.largest_force_n == pytest.approx(middle_force_n(inside), rel=0.01)
    # the two ends carry half of it each, on the other side
    assert sorted(contacts(got.wall_force_n), key=abs)[:2] == pytest.approx(
        [-math.copysign(middle_force_n(inside) / 2, sorted(contacts(got.wall_force_n), key=abs)[-1])] * 2, rel=0.01
    )


@pytest.mark.parametrize("inside", [7.0, 8.0, 9.5, 11.0])
def test_beyond_the_split_each_of_four_contacts_carries_24_75_n(inside):
    assert split_force_n() == pytest.approx(24.75, abs=0.01)
    assert inside / CHARACTER > math.sqrt(24)
    forces = [abs(f) for f in contacts(at(inside).wall_force_n)]
    assert max(forces) == pytest.approx(split_force_n(), rel=0.03)
    assert sum(forces) == pytest.approx(4 * split_force_n(), rel=0.03)


def test_both_branches_meet_where_the_middle_contact_splits_in_two():
    assert middle_force_n(math.sqrt(24) * CHARACTER) == pytest.approx(2 * split_force_n(), rel=1e-9)


def test_the_force_does_not_grow_steadily_with_depth():
    # just before the split one contact carries 49.5 N, a millimetre deeper two carry 24.75 each
    assert at(6.1).largest_force_n > 1.9 * at(7.5).largest_force_n


@pytest.mark.parametrize("inside", [3.9, 5.0, 6.0, 7.5, 9.0, 11.0])
def test_doubling_the_stations_moves_no_force_by_one_percent(inside):
    assert at(inside, 2 * PIECES).largest_force_n == pytest.approx(at(inside).largest_force_n, rel=0.01)


@pytest.mark.parametrize("tip", [3.2, 3.6, 3.8, 4.0, 4.3])
def test_doubling_the_stations_moves_no_force_by_one_percent_in_a_tapered_canal(tip):
    rod = Rod(0.40, 0.0)
    coarse, fine = (bend(bent_25_06(), rod, STEEL_MPA, tip, n).largest_force_n for n in (PIECES, 2 * PIECES))
    assert coarse > 0.2
    assert fine == pytest.approx(coarse, rel=0.01)


def test_the_wall_forces_hold_the_rod_in_balance():
    got = at(5.5)
    size = np.abs(got.wall_force_n).sum()
    assert got.wall_force_n.sum() == pytest.approx(0, abs=1e-3 * size)
    assert got.wall_force_n @ got.s_mm == pytest.approx(0, abs=1e-3 * size * 12)


def test_no_force_acts_where_the_wall_is_not_touched():
    got = bend(bent_25_06(), Rod(0.45, 0.0), STEEL_MPA, 4.0)
    gap = (bent_25_06().profile.narrow_at(got.s_mm) - 0.45) / 2
    pressed = np.abs(got.wall_force_n) > 1e-3 * np.abs(got.wall_force_n).max()
    assert pressed.any()
    assert np.all(np.abs(got.offset_mm) <= gap + 1e-6)
    assert np.abs(got.offset_mm[pressed]) == pytest.approx(gap[pressed], abs=1e-4)


@pytest.mark.parametrize("tip", [3.6, 4.0])
def test_twice_the_modulus_presses_with_twice_the_force(tip):
    rod = Rod(0.40, 0.02)
    one, two = (bend(bent_25_06(), rod, e, tip).largest_force_n for e in (75_000.0, 150_000.0))
    assert one > 0
    assert two == pytest.approx(2 * one, rel=1e-4)


def test_the_force_does_not_ask_which_side_the_canal_bends_to():
    one, other = (bend(bent_25_06(side), Rod(0.45, 0.0), STEEL_MPA, 3.9) for side in (1, -1))
    assert other.largest_force_n == pytest.approx(one.largest_force_n, rel=1e-4)
    assert other.surface_strain == pytest.approx(one.surface_strain, rel=1e-4)


def test_a_straight_canal_presses_on_nothing():
    canal = Canal(tapered(30, 0.04, 12.0))
    assert bend(canal, Rod(0.45, 0.0), STEEL_MPA, 5.0).largest_force_n == pytest.approx(0, abs=1e-6)
    assert wall_force_n(canal, Rod(0.45, 0.0), STEEL_MPA, 5.0) == 0
    got = reach(canal, Rod(0.45, 0.0), STEEL_MPA, 0.2, 0.5, 2.0)
    assert got.s_mm == got.careful_s_mm == got.firm_s_mm == pytest.approx(3.75, abs=1e-3)


def test_a_rod_bent_with_its_canal_is_strained_by_half_its_thickness_over_the_radius():
    # d/(2 rho) = 0.5/16: steel would bend for good (0.8 %) at any radius below d/(2 x 0.008) = 31 mm
    assert at(11.0).surface_strain == pytest.approx(0.5 / (2 * RHO), rel=0.02)


def test_a_wedged_rod_gets_no_number():
    with pytest.raises(SolverError, match="wider than the canal"):
        bend(bent_25_06(), Rod(0.50, 0.0), STEEL_MPA, 3.0)


class Unfinished:
    """A solver that ends in a chosen state, its numbers plausible."""

    def __init__(self, status: object) -> None:
        self.status = status

    def __call__(self, *problem: sparse.csc_array) -> Unfinished:
        size = problem[0].shape[0]
        self.x, self.z = [0.0] * size, [0.1] * 2 * size
        return self

    def solve(self) -> Unfinished:
        return self


@pytest.mark.parametrize(
    "status",
    ["AlmostSolved", "MaxIterations", "NumericalError", "InsufficientProgress", "PrimalInfeasible", "Unsolved"],
)
def test_a_solver_that_ends_in_any_state_but_solved_gives_no_number(monkeypatch, status):
    monkeypatch.setattr(clarabel, "DefaultSolver", Unfinished(getattr(clarabel.SolverStatus, status)))
    with pytest.raises(SolverError, match=status):
        at(5.0)


def test_forces_of_one_sign_side_by_side_are_one_contact():
    assert contacts(np.array([1.0, 2.0, 0.0, 0.0, -3.0, -1.0, 1.0])) == [3.0, -4.0, 1.0]
    assert contacts(np.zeros(5)) == []


def test_each_contact_is_summed_and_the_largest_counts():
    # forces below a thousandth of the largest belong to no contact
    assert contacts(np.array([4.0, 0.001, 4.0])) == [4.0, 4.0]


@pytest.mark.parametrize("tip", [0.35, 0.40, 0.45])
def test_the_reach_is_the_last_place_before_the_force_passes_coming_from_the_orifice(tip):
    canal, rod = bent_25_06(), Rod(tip, 0.0)
    got = reach(canal, rod, STEEL_MPA, 0.2, 0.5, 2.0)
    touch, wedge = rigid_reach_mm(canal, rod), width_reach_mm(canal, rod)
    for limit, found in ((0.2, got.careful_s_mm), (0.5, got.s_mm), (2.0, got.firm_s_mm)):
        pushed = touch
        for place in np.arange(touch, wedge, -FINEST_MM):
            if bend(canal, rod, STEEL_MPA, float(place)).largest_force_n > limit:
                break
            pushed = float(place)
        assert found == pytest.approx(pushed, abs=2 * FINEST_MM)
    assert got.firm_s_mm <= got.s_mm <= got.careful_s_mm <= got.first_touch_s_mm


def test_steel_goes_where_the_example_says():
    # 25/.06, 13 mm, arc of 25 deg and radius 8 from s = 3; parallel steel: 4.70, 5.00, 7.5
    reached = [reach(bent_25_06(), Rod(t, 0.0), STEEL_MPA, 0.2, 0.5, 2.0).s_mm for t in (0.45, 0.50, 0.70)]
    assert reached == pytest.approx([4.70, 5.00, 7.5], abs=0.05)


@settings(max_examples=15)
@given(st.data())
def test_a_wider_plugger_of_the_same_shape_and_material_never_goes_deeper(data):
    size, taper = data.draw(st.sampled_from([(25, 0.06), (30, 0.04), (40, 0.04)]))
    canal = Canal(tapered(size, taper, 13.0), data.draw(curves(13.0)))
    tip, own = data.draw(st.floats(0.3, 0.6)), data.draw(st.sampled_from([0.0, 0.02]))
    by = data.draw(st.floats(0.01, 0.2))
    thin, thick = (reach(canal, Rod(d, own), STEEL_MPA, 0.2, 0.5, 2.0) for d in (tip, tip + by))
    if thick is None:
        return
    assert thin is not None
    for a, b in zip(
        (thin.careful_s_mm, thin.s_mm, thin.firm_s_mm), (thick.careful_s_mm, thick.s_mm, thick.firm_s_mm), strict=True
    ):
        assert b >= a - FINEST_MM


@settings(max_examples=15)
@given(st.data())
def test_a_wider_canal_never_stops_a_plugger_higher(data):
    size, taper = data.draw(st.sampled_from([(25, 0.06), (30, 0.04), (40, 0.04)]))
    canal = Canal(tapered(size, taper, 13.0), data.draw(curves(13.0)))
    rod = Rod(data.draw(st.floats(0.3, 0.6)), data.draw(st.sampled_from([0.0, 0.02])))
    here = reach(canal, rod, STEEL_MPA, 0.2, 0.5, 2.0)
    there = reach(canal.widened(data.draw(st.floats(0.005, 0.1))), rod, STEEL_MPA, 0.2, 0.5, 2.0)
    if here is None:
        return
    assert there.s_mm <= here.s_mm + FINEST_MM
    assert there.firm_s_mm <= here.firm_s_mm + FINEST_MM


@settings(max_examples=10)
@given(st.data())
def test_a_softer_instrument_never_stops_higher_and_a_mirrored_curve_changes_nothing(data):
    curve = data.draw(curves(13.0))
    mirrored = Curve(tuple(Arc(-a.angle_deg, a.radius_mm, a.from_mm) for a in curve.arcs))
    rod, shape = Rod(data.draw(st.floats(0.3, 0.5)), 0.02), tapered(25, 0.06, 13.0)
    steel, soft, other = (
        reach(Canal(shape, c), rod, e, 0.2, 0.5, 2.0)
        for c, e in ((curve, STEEL_MPA), (curve, 75_000.0), (mirrored, STEEL_MPA))
    )
    assert soft.s_mm <= steel.s_mm + FINEST_MM
    assert other.s_mm == pytest.approx(steel.s_mm, abs=FINEST_MM)

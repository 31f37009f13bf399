"""A section warmed: physical sense, the balance of heat, no overshoot, no number that depends on chance."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootfill.errors import SolverError
from rootfill.heat import Effort, Materials, Section, Source, Surroundings, Transition, Warming, warm
from rootfill.heat.body import Bodies
from rootfill.heat.march import march
from rootfill.heat.mesh import fitted
from rootfill.heat.steps import phases
from tests.heat.bars import BODY_C, COMPOUND, DENTINE, MATERIALS, MELTING, order, plunge, section

ROUGH = Effort(refine=1)
THERE = Surroundings(BODY_C)


def run(root: Section | None = None, *sources: Source, seconds: float = 12.0, effort: Effort = ROUGH):
    return warm(root or section(), THERE, sources or (plunge(),), seconds, effort)


def rise(root: Section | None = None, *sources: Source, **more) -> float:
    return float(run(root, *sources, **more).surface_peak().rise_c)


def melting(transition: Transition = MELTING) -> Section:
    return section(materials=replace(MATERIALS, compound=replace(COMPOUND, transition=transition)))


@settings(max_examples=12)
@given(st.floats(0.3, 2.0), st.floats(0.2, 1.5))
def test_a_thicker_wall_stays_cooler_outside(wall, by):
    assert rise(section(wall + by)) < rise(section(wall))


@settings(max_examples=12)
@given(st.floats(0.5, 4.0), st.floats(0.3, 4.0))
def test_a_longer_heating_warms_the_surface_more_and_later(until, by):
    short, long = (run(None, plunge(until_s=x), seconds=20.0).surface_peak() for x in (until, until + by))
    assert long.rise_c > short.rise_c
    assert long.time_s >= short.time_s


@settings(max_examples=12)
@given(st.floats(45.0, 300.0), st.floats(0.1, 5.0))
def test_the_rise_is_in_proportion_to_the_tip_above_the_body(celsius, factor):
    one = rise(None, plunge(celsius=celsius))
    other = rise(None, plunge(celsius=BODY_C + factor * (celsius - BODY_C)))
    assert other == pytest.approx(factor * one, rel=1e-9, abs=1e-9)


@settings(max_examples=8)
@given(st.floats(0.2, 5.0))
def test_conductivity_and_capacity_scaled_together_change_nothing(factor):
    kinds = (
        replace(m, k_w_mk=m.k_w_mk * factor, density_kg_m3=m.density_kg_m3 * factor)
        for m in (MATERIALS.compound, MATERIALS.dentine, MATERIALS.block)
    )
    one, other = run(), run(section(materials=Materials(*kinds)))
    assert other.surface_c == pytest.approx(one.surface_c, abs=1e-8)
    assert other.axis_c == pytest.approx(one.axis_c, abs=1e-8)


@settings(max_examples=12)
@given(st.floats(1.0, 9.0), st.floats(50.0, 250.0), st.floats(0.2, 4.0), st.booleans())
def test_nothing_is_ever_colder_than_the_body_nor_warmer_than_the_tip(tip, celsius, until, melts):
    got = run(melting() if melts else section(), plunge(tip, 0.5, 0.5 + until, celsius))
    for field in (got.axis_c, got.surface_c):
        assert field.min() > BODY_C - 0.01
        assert field.max() < celsius + 0.01


@pytest.mark.parametrize("refine", [1, 2, 4])
@pytest.mark.parametrize("contact", [math.inf, 2000.0])
@pytest.mark.parametrize("melts", [False, True])
def test_half_second_steps_overshoot_by_less_than_a_hundredth_after_the_tip_switches(refine, contact, melts):
    effort = Effort(refine=refine, first_s=0.5 * refine, longest_s=0.5 * refine)
    root = melting() if melts else section()
    sources = [Source.still(5.0, 1.0, 4.0, 200.0, contact), Source.still(5.0, 6.0, 9.0, 25.0, contact)]
    mesh, run_of = fitted(root, [5.0], effort), phases(sources, 12.0)
    nodes = np.arange(mesh.grid.r_m.size)
    got = march(Bodies(mesh, root.materials.layers, THERE), run_of, effort, nodes)
    assert np.diff(got.times_s).max() >= 0.5
    assert got.watched_c.max() < 200.01
    assert got.watched_c.min() > 24.99
    before = got.watched_c[got.times_s <= 6.0]
    assert before.min() > BODY_C - 0.01


@pytest.mark.parametrize("contact", [math.inf, 1500.0])
def test_every_joule_is_accounted_for(contact):
    sources = [Source.still(6.0, 0.5, 2.0, 120.0, contact), Source.still(4.0, 3.0, 4.5, 80.0, contact)]
    assert run(None, *sources).energy_error < 1e-9
    assert run(melting(), *sources).energy_error < 1e-6


def test_the_heat_that_stays_is_what_the_tip_brought_less_what_the_bath_took():
    # counted from the temperatures alone: an insulated block keeps every joule of the core left at 100 °C
    root, effort = section(), Effort()
    mesh = fitted(root, [5.0], effort)
    bodies = Bodies(mesh, root.materials.layers, Surroundings(BODY_C, 0.0, 0.0))
    states = [plunge(until_s=1.0)]
    nodes = np.arange(mesh.grid.r_m.size)
    got = march(bodies, phases(states, 30.0), effort, nodes)
    heat = (got.watched_c - BODY_C) @ bodies.free.capacity
    after = heat[got.times_s > 1.0]
    assert np.ptp(after) < 1e-9 * after.max()
    assert after[-1] == pytest.approx(got.gained_j, rel=1e-9)
    assert got.exchanged_j == pytest.approx(got.gained_j, rel=1e-9)


def axis_at(found: Warming, s_mm: float, time_s: float) -> float:
    column = int(np.argmin(np.abs(found.axis_s_mm - s_mm)))
    return float(np.interp(time_s, found.times_s, found.axis_c[:, column]))


def test_latent_heat_delays_the_place_ahead_of_the_tip_and_gives_its_heat_back_later():
    plain, melts = (run(x, effort=Effort()) for x in (section(), melting()))
    assert axis_at(melts, 4.8, 0.08) < axis_at(plain, 4.8, 0.08) - 1
    assert axis_at(melts, 4.8, 5.0) > axis_at(plain, 4.8, 5.0) + 0.2


def test_what_has_melted_sets_at_its_own_lower_temperatures():
    # cooling curve at 40 to 50 °C in place of 53 to 62 °C: the heat comes back later, so that it is cooler until then
    both = replace(MELTING, cooling_c=MELTING.heating_c)
    late, early = (run(melting(transition=x), effort=Effort()) for x in (MELTING, both))
    assert late.axis_peak_c(4.5) == pytest.approx(early.axis_peak_c(4.5), abs=0.05)
    assert axis_at(late, 5.0, 2.88) < axis_at(early, 5.0, 2.88) - 1
    assert axis_at(late, 5.0, 5.5) > axis_at(early, 5.0, 5.5) + 0.1


def test_a_poor_contact_warms_less_and_a_good_one_as_much_as_a_perfect_one():
    perfect = rise(None, plunge())
    rises = [rise(None, Source.still(5.0, 0.0, 2.0, 100.0, h)) for h in (300.0, 3000.0, 1e8)]
    assert rises == sorted(rises)
    assert rises[0] < 0.7 * perfect
    assert rises[-1] == pytest.approx(perfect, rel=1e-3)


def test_a_cold_plugger_takes_heat_out():
    left = run(None, plunge())
    pushed = run(None, plunge(), Source.still(5.0, 2.0, 8.0, 25.0))
    assert pushed.surface_peak().rise_c < left.surface_peak().rise_c
    assert pushed.axis_c.min() < 26


def test_a_second_heating_adds_to_what_the_first_one_left():
    assert rise(None, plunge(), plunge(from_s=4.0, until_s=6.0)) > 1.1 * rise(None, plunge())


def test_a_ligament_that_conducts_as_the_block_changes_nothing_and_an_insulating_one_warms_the_root():
    as_block = section(materials=replace(MATERIALS, ligament=MATERIALS.block), ligament_mm=0.2)
    wool = section(materials=replace(MATERIALS, ligament=replace(MATERIALS.block, k_w_mk=0.05)), ligament_mm=0.2)
    fine = Effort()
    assert rise(as_block, effort=fine) == pytest.approx(rise(effort=fine), rel=0.01)
    assert rise(wool, effort=fine) > 1.2 * rise(effort=fine)


def test_blood_in_the_block_cools_the_root_a_little():
    # 40 ml/min/100 g: a weak sink, as the facts say
    flow = 40 / 60 / 100 / 1000 * 1050 * 3617 * 1050 / 1.05
    with_blood = section(materials=replace(MATERIALS, block=replace(MATERIALS.block, perfusion_w_m3k=flow)))
    assert 0.8 * rise() < rise(with_blood) < rise()


def test_a_tip_run_down_a_path_warms_as_the_same_stops_one_by_one():
    down = Source(0.0, 2.0, ((0.0, 7.0), (2.0, 6.0)), ((0.0, 100.0),))
    stops = [Source.still(7.0 - 0.25 * (i + 1), 0.5 * i, 0.5 * (i + 1), 100.0) for i in range(4)]
    one, other = run(None, down), run(None, *stops)
    assert one.surface_c == pytest.approx(other.surface_c, abs=1e-9)
    assert one.axis_peak_c(6.0) == 100


def test_a_tip_that_warms_up_slowly_warms_less_than_one_that_is_hot_at_once():
    slow = Source(0.0, 2.0, ((0.0, 5.0),), ((0.0, BODY_C), (1.0, 100.0)))
    got = run(None, slow)
    assert 0.3 * rise() < got.surface_peak().rise_c < 0.9 * rise()
    half = np.interp(0.5, got.times_s, got.axis_c[:, -1])
    assert half == pytest.approx((BODY_C + 100) / 2, abs=1.5)


def test_refining_converges_and_the_difference_to_a_coarser_run_holds_the_rest():
    root, source = section(), plunge()
    keys = [
        np.array([w.surface_peak().rise_c, *(w.axis_peak_c(5.0 - x) for x in (1, 2, 3))])
        for w in (run(root, source, effort=Effort(refine=n)) for n in (1, 2, 4))
    ]
    for coarse, fine, finest in zip(*keys, strict=True):
        assert abs(fine - finest) <= abs(fine - coarse) + 0.02
        assert abs(fine - finest) < 0.2


def test_the_mean_over_the_axis_converges_about_as_the_corner_at_the_rim_allows():
    # the rim of the tip is a corner of 270°: order 4/3 at the rim itself, more away from it
    means = [run(effort=Effort(refine=n)) for n in (1, 2, 4)]
    values = [float(np.trapezoid(w.axis_c.max(axis=0) - BODY_C, w.axis_s_mm)) for w in means]
    finest = values[-1] + (values[-1] - values[-2]) / 3
    assert order([values[0] - finest, values[1] - finest]) > 1.3


def test_the_same_run_gives_the_same_numbers_to_the_last_digit():
    assert np.array_equal(run().surface_c, run().surface_c)


def test_dentine_stands_in_for_the_compound_without_a_seam():
    # one material throughout: the walls of canal and root must leave no trace in what an unfitted mesh would give
    root = section(materials=Materials(DENTINE, DENTINE, DENTINE))
    moved = replace(root, root=root.root + np.array([0.0, 1.0]))
    one, other = run(root, effort=Effort()), run(moved, effort=Effort())
    assert other.axis_peak_c(3.5) == pytest.approx(one.axis_peak_c(3.5), abs=0.05)


@settings(max_examples=6)
@given(st.floats(0.3, 3.0))
def test_a_root_of_another_size_warms_the_same_in_times_that_go_with_its_square(factor):
    # holds only where every length and time is converted alike
    root, usual = section(), ROUGH
    larger = Section(12.0 * factor, root.canal * factor, root.root * factor, 6.0 * factor, 4.0 * factor, root.materials)
    effort = replace(
        usual,
        tip_mm=usual.tip_mm * factor,
        across_mm=usual.across_mm * factor,
        longest_mm=usual.longest_mm * factor,
        first_s=usual.first_s * factor**2,
        longest_s=usual.longest_s * factor**2,
    )
    contact = Source.still(5.0, 0.0, 2.0, 100.0, 2000.0)
    scaled = Source.still(5.0 * factor, 0.0, 2.0 * factor**2, 100.0, 2000.0 / factor)
    one, other = run(root, contact), run(larger, scaled, seconds=12.0 * factor**2, effort=effort)
    assert other.surface_c == pytest.approx(one.surface_c, abs=1e-6)
    assert other.axis_s_mm == pytest.approx(one.axis_s_mm * factor, abs=1e-9)


def test_melting_that_is_not_solved_gives_no_number(monkeypatch):
    monkeypatch.setattr("rootfill.heat.march._NEWTON", 1)
    with pytest.raises(SolverError, match="melting"):
        run(melting())

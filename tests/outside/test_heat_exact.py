"""Heat against answers in closed form: series of Fourier and Bessel, Stefan and Neumann, Pennes; textbook equations.

Values to five digits are those of thermal.md §7, recomputed there to the accuracy of the series.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import erf, erfc, erfcx, j1, jn_zeros

from rootfill.heat.body import Bodies
from rootfill.heat.march import march
from rootfill.heat.model import HELD, INSULATED, Effort, Material, Source, Surroundings, Transition
from rootfill.heat.steps import Phase
from tests.heat.bars import DENTINE, bath, order, plate, rod, slab, warmed

R = 2e-3
DIFFUSIVITY = DENTINE.k_w_mk / DENTINE.capacity_j_m3k
LATE = 0.2 * R**2 / DIFFUSIVITY
"""Fourier number 0.2."""


def centre_of_cylinder() -> float:
    z = jn_zeros(0, 100)
    return float(np.sum(2 / (z * j1(z)) * np.exp(-(z**2) * 0.2)))


def far_side_of_slab() -> float:
    z = (np.arange(100) + 0.5) * math.pi
    return float(np.sum(2 * (-1.0) ** np.arange(100) / z * np.exp(-(z**2) * 0.2)))


def cylinder(cells: int, refine: int) -> float:
    got = warmed(rod(np.linspace(0, R, cells + 1)), DENTINE, bath(100.0), LATE, Effort(refine=refine))
    return float(1 - got.last_c[0] / 100)


def bar(cells: int, refine: int) -> float:
    got = warmed(slab(np.linspace(0, R, cells + 1)), DENTINE, plate(100.0), LATE, Effort(refine=refine))
    return float(1 - got.last_c[-1] / 100)


@pytest.mark.parametrize(("computed", "exact"), [(cylinder, centre_of_cylinder()), (bar, far_side_of_slab())])
def test_a_step_change_follows_its_series_to_a_thousandth_and_with_order_two(computed, exact):
    errors = [computed(8 * n, 2 * n) - exact for n in (1, 2, 4, 8)]
    assert abs(errors[-1]) < 1e-3 * exact
    assert abs(errors[-2]) < 1e-3 * exact
    assert order(errors) >= 1.9


def test_the_series_itself_gives_the_centre_of_the_handbook():
    assert centre_of_cylinder() == pytest.approx(0.50149, abs=5e-6)


def test_the_order_in_time_alone_is_two():
    finest = cylinder(32, 32)
    assert order([cylinder(32, n) - finest for n in (1, 2, 4)]) >= 1.9


def test_the_order_in_space_alone_is_two():
    finest = cylinder(256, 8)
    assert order([cylinder(n, 8) - finest for n in (8, 16, 32)]) >= 1.9


@pytest.mark.parametrize("h_w_m2k", [200.0, 2000.0])
def test_a_half_space_behind_a_film_follows_its_closed_form(h_w_m2k):
    # erfc(x/2√αt) − exp(hx/k + h²αt/k²) erfc(x/2√αt + h√αt/k)
    seconds, x = 5.0, np.linspace(0, 12e-3, 241)
    there = Surroundings(100.0, INSULATED, h_w_m2k, start_c=0.0)
    got = warmed(slab(x), DENTINE, there, seconds, Effort(refine=8)).last_c[::2]
    xi, beta = x / 2 / math.sqrt(DIFFUSIVITY * seconds), h_w_m2k * math.sqrt(DIFFUSIVITY * seconds) / DENTINE.k_w_mk
    exact = 100 * (erfc(xi) - np.exp(-(xi**2)) * erfcx(xi + beta))
    assert got == pytest.approx(exact, abs=0.05)
    assert got[0] == pytest.approx(exact[0], rel=1e-3)


def test_a_composite_cylinder_at_rest_has_the_temperatures_of_its_resistances():
    # r 0.5/2.0/2.2/5.0 mm, k 0.57/0.50/0.45, 100 and 37 °C: 89.011 W/m, T(2.0) 65.546, T(2.2) 62.845 °C
    rings = [np.geomspace(a, b, n + 1)[1:] for a, b, n in ((0.5, 2.0, 24), (2.0, 2.2, 4), (2.2, 5.0, 24))]
    radii = np.concatenate(([0.0, 0.5], *rings)) * 1e-3
    layer = np.repeat([0, 1, 2, 3], [1, 24, 4, 24])
    materials = (Material(1.0, 2000, 1000), *(Material(k, 2000, 1000) for k in (0.57, 0.50, 0.45)))
    source = Source.still(0.0, 0.0, 400.0, 100.0)
    bodies = Bodies(rod(radii, layer), materials, Surroundings(37.0, HELD, INSULATED))
    got = march(bodies, [Phase(0.0, 400.0, 0.0, source)], Effort(), np.arange(radii.size)).last_c[: radii.size]
    assert got[25] == pytest.approx(65.546, abs=0.02)
    assert got[29] == pytest.approx(62.845, abs=0.02)


def test_a_contact_passes_what_its_conductance_and_the_wall_let_through():
    # steady: q' = ΔT / (1/(2π r h) + ln(R/r)/(2π k)), so T at the wall is known
    r, outer, h = 0.5e-3, 5e-3, 1000.0
    radii = np.concatenate(([0.0], np.geomspace(r, outer, 60)))
    # a metre high, and read at its top, so that the face of the tip counts for nothing
    mesh = rod(radii, np.append(0, np.ones(59, dtype=int)), height_m=1.0)
    source = Source.still(0.0, 0.0, 400.0, 100.0, contact_w_m2k=h)
    run = [Phase(0.0, 400.0, 0.0, source)]
    got = march(Bodies(mesh, (DENTINE, DENTINE), bath(37.0, 37.0)), run, Effort(), np.arange(1)).last_c[radii.size :]
    film, wall = 1 / (2 * math.pi * r * h), math.log(outer / r) / (2 * math.pi * DENTINE.k_w_mk)
    assert got[1] == pytest.approx(37 + 63 * wall / (wall + film), abs=0.02)
    assert got[0] == 100


@pytest.mark.parametrize(("w_1_s", "middle"), [(0.0, 42.0), (5e-4, 41.9412), (5e-3, 41.4601)])
def test_a_perfused_layer_at_rest_follows_pennes(w_1_s, middle):
    # slab of 5 mm, 47 and 37 °C, k 0.5, ρ_b c_b 1050 · 3617: sinh profile about the arterial 37 °C
    tissue = Material(0.5, 1050, 3600, perfusion_w_m3k=w_1_s * 1050 * 3617)
    x = np.linspace(0, 5e-3, 41)
    there = Surroundings(37.0, INSULATED, 1e9)
    mesh = slab(x)
    top = Source.still(5.0, 0.0, 600.0, 47.0)
    bodies = Bodies(mesh, (tissue,), there)
    got = march(bodies, [Phase(0.0, 600.0, 5.0, top)], Effort(), np.arange(82)).last_c
    assert got[40] == pytest.approx(middle, abs=1e-3)


@pytest.mark.parametrize(
    ("tau", "at_two", "at_four"), [(0.5, 0.23008, 0.00138), (1, 0.35137, 0.01760), (4, 0.54433, 0.15698)]
)
def test_outside_a_hot_cylinder_the_warmth_spreads_as_carslaw_and_jaeger_say(tau, at_two, at_four):
    a = 0.5e-3
    radii = np.concatenate(([0.0], a * np.geomspace(1, 40, 161)))
    bodies = Bodies(rod(radii, np.append(0, np.ones(160, dtype=int))), (DENTINE, DENTINE), bath(0.0))
    seconds = tau * a**2 / DIFFUSIVITY
    source = Source.still(0.0, 0.0, seconds, 1.0)
    got = march(bodies, [Phase(0.0, seconds, 0.0, source)], Effort(refine=8), np.arange(radii.size)).last_c
    assert np.interp([2 * a, 4 * a], radii, got[: radii.size]) == pytest.approx([at_two, at_four], abs=5e-4)


# Stefan and Neumann: gutta-percha-like, k 0.6, ρ 2400, c 940, 10.88 J/g at 60 °C, 37 °C before.

K, RHO, C, LATENT, MELTS, BEFORE = 0.6, 2400, 940, 10880, 60.0, 37.0
ALPHA = K / RHO / C


def neumann(wall_c: float, latent: float) -> float:
    def left(x: float) -> float:
        solid = (MELTS - BEFORE) / (wall_c - MELTS) / erfc(x)
        return float(math.exp(-x * x) * (1 / erf(x) - solid) - x * latent * math.sqrt(math.pi) / (C * (wall_c - MELTS)))

    return float(brentq(left, 0.05, 3.0))


def melted(cells: int, refine: int, wall_c: float, latent: float) -> tuple[float, float]:
    """Depth of the front [mm] and heat taken up [J/m²] after 5 s."""
    width = 0.5
    transition = Transition.sharp(latent, MELTS, width) if latent else None
    x = np.linspace(0, 12e-3, cells + 1)
    effort = Effort(refine=refine, per_level=2, longest_s=0.5)
    got = warmed(slab(x), Material(K, RHO, C, transition), plate(wall_c, BEFORE), 5.0, effort)
    assert got.energy_error < 1e-6
    celsius = got.last_c[::2]
    share = np.clip((celsius - MELTS) / width + 0.5, 0, 1)
    weight = np.full(x.size, x[1])
    weight[[0, -1]] /= 2
    i = int(np.flatnonzero(celsius < MELTS)[0])
    line = x[i - 1] + x[1] * (celsius[i - 1] - MELTS) / (celsius[i - 1] - celsius[i])
    front = float(share @ weight) if latent else float(line)
    return 1e3 * front, float(weight @ (RHO * C * (celsius - BEFORE) + RHO * latent * share))


@pytest.mark.parametrize(("wall_c", "latent", "depth"), [(100, LATENT, 1.297), (100, 0, 1.477), (200, LATENT, 2.167)])
def test_the_melting_front_stands_where_neumann_puts_it(wall_c, latent, depth):
    assert 2 * neumann(wall_c, latent) * math.sqrt(ALPHA * 5) * 1e3 == pytest.approx(depth, abs=5e-4)
    middle, fine = (melted(cells, refine, wall_c, latent)[0] for cells, refine in ((320, 4), (640, 8)))
    assert 2 * fine - middle == pytest.approx(depth, rel=5e-3)
    assert fine == pytest.approx(depth, rel=5e-3)


@pytest.mark.parametrize("wall_c", [100, 200])
def test_the_heat_that_melting_takes_up_approaches_neumann_with_order_above_nine_tenths(wall_c):
    exact = K * (wall_c - MELTS) / (math.sqrt(math.pi * ALPHA) * erf(neumann(wall_c, LATENT))) * 2 * math.sqrt(5)
    errors = [melted(80 * n, n, wall_c, LATENT)[1] / exact - 1 for n in (1, 2, 4)]
    assert abs(errors[-1]) < 5e-3
    assert order(errors) >= 0.9

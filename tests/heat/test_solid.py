"""Three dimensions: against the axisymmetric section, exact series and physical sense, and away from cold imports."""

from __future__ import annotations

import math
import subprocess
import sys
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from rootfill.heat import Effort, Material, Materials, Section, Source, Surroundings, Transition, warm
from rootfill.heat.solid import Canal, Heating, Root, SuperSteps, Voxels, root_of, solid_of, warm_solid
from rootfill.heat.solid.build import APART, MM, take_of, voxels_of
from rootfill.heat.solid.march import March, first_order, second_order
from rootfill.heat.solid.warm import moments
from tests.heat.bars import BLOCK, BODY_C, COMPOUND, DENTINE, MATERIALS, order

THERE = Surroundings(BODY_C)
TIP_S_MM = 4.0
ROUGH_MM = 0.2


WIDER_MM = (0.0, 0.05, 0.1, 0.15)


def small(wall_mm: float = 0.8, materials: Materials = MATERIALS, wider_mm: float = 0.0) -> Section:
    canal = np.array([[0.0, 0.5 + wider_mm], [6.0, 0.9 + wider_mm]])
    return Section(6.0, canal, canal + np.array([0.0, 2 * wall_mm]), 2.5, 1.5, materials)


def plunge(from_s: float = 0.5, until_s: float = 2.0, celsius: float = 100.0, contact: float = math.inf) -> Source:
    return Source.still(TIP_S_MM, from_s, until_s, celsius, contact)


def two_canals() -> Root:
    rows = np.array([[0.0, 0.6], [6.0, 0.8]])
    canals = (Canal(rows, -0.7), Canal(rows, 0.7))
    return Root(6.0, canals, np.array([[0.0, 3.2], [6.0, 3.6]]), 3.0, 1.5, MATERIALS)


def solid(root: Root, *sources: Source, spacing_mm: float = ROUGH_MM, seconds: float = 5.0):
    return warm_solid(root, THERE, [Heating(x) for x in sources], seconds, spacing_mm)


@cache
def differences(spacing_mm: float, contact: float = math.inf, wider_mm: float = 0.0) -> np.ndarray:
    """Peaks at the surface and 1, 2, 3 mm ahead on the axis, less the axisymmetric ones, °C."""
    section, source = small(wider_mm=wider_mm), plunge(contact=contact)
    three = solid(root_of(section), source, spacing_mm=spacing_mm)
    flat = warm(section, THERE, [source], 5.0, Effort(refine=4))
    ahead = [three.axis_peak_c(TIP_S_MM - x) - flat.axis_peak_c(TIP_S_MM - x) for x in (1, 2, 3)]
    return np.array([three.surface_peak_c() - flat.surface_peak().rise_c, *ahead])


def box(cells: int, side_mm: float, material: Material) -> Voxels:
    """A cube of one material whose six faces are held."""
    shape = (cells + 2,) * 3
    resist, take = np.zeros(shape, dtype=np.float32), np.zeros(shape, dtype=np.float32)
    h = side_mm / cells
    resist[1:-1, 1:-1, 1:-1] = 1 / material.k_w_mk
    take[1:-1, 1:-1, 1:-1] = take_of(np.array(material.capacity_j_m3k), h)
    low, high = np.ones(cells + 2, dtype=np.int64), np.full(cells + 2, cells + 1)
    return Voxels(h, (-h / 2,) * 3, resist, take, low, high)


def cube_error(cells: int, seconds: float, side_mm: float = 2.0) -> float:
    """At the middle of a cube that was 1 °C warm when its faces were cooled: error as a share of the series."""
    march = March(box(cells, side_mm, DENTINE), 1.0)
    for _ in range(8):
        march.step(0.005, lambda _: 0.0, first_order)
    for _ in range(40):
        march.step((seconds - 0.04) / 40, lambda _: 0.0, second_order)
    fourier = DENTINE.k_w_mk / DENTINE.capacity_j_m3k * seconds / (side_mm * MM) ** 2
    n = np.arange(1, 60, 2)
    middle = (cells + 1) // 2
    at = (middle - 0.5) / cells
    series = (4 / (n * np.pi) * np.sin(n * np.pi * at) * np.exp(-((n * np.pi) ** 2) * fourier)).sum() ** 3
    return float(march.celsius[middle, middle, middle]) / float(series) - 1


def test_a_cooled_cube_follows_its_series_within_half_a_percent():
    assert abs(cube_error(31, 0.8)) < 5e-3


def test_a_cooled_cube_nears_its_series_at_second_order():
    assert order([cube_error(n, 0.8) for n in (7, 14, 28)]) == pytest.approx(2.0, abs=0.25)


@pytest.mark.parametrize("make", [first_order, second_order])
def test_a_super_step_takes_as_few_stages_as_are_stable(make):
    # λ·τ = 100: RKL1 needs s² + s ≥ 100, RKL2 (s² + s − 2)/2 ≥ 100 and an odd count
    assert len(make(1.0, 100.0).rows) + 1 == {first_order: 10, second_order: 15}[make]


def test_with_a_tip_of_100_surface_and_axis_are_within_0_15_degrees_of_the_axisymmetric_section():
    assert np.abs(differences(0.1)).max() < 0.15


@pytest.mark.parametrize("contact", [math.inf, 2000.0])
def test_halving_the_voxels_nears_the_axisymmetric_section(contact):
    # on the mean of four canals: how the voxels lie under one rim is luck
    rough, fine = (np.mean([np.abs(differences(h, contact, x)) for x in WIDER_MM], axis=0) for h in (0.2, 0.1))
    assert fine.max() < 0.75 * rough.max()


@pytest.mark.parametrize("contact", [math.inf, 2000.0])
def test_half_second_super_steps_overshoot_by_less_than_a_hundredth(contact):
    root = root_of(small())
    sources = [plunge(0.5, 2.0, 200.0, contact), plunge(3.0, 4.5, 25.0, contact)]
    pace = SuperSteps(0.5, 0.5)
    voxels = voxels_of(root, ROUGH_MM)
    lowest, highest = list[float](), list[float]()
    for now in moments(voxels, root, THERE, [Heating(x) for x in sources], 6.0, pace):
        highest.append(float(now.march.celsius.max()) + BODY_C)
        if now.time_s <= 3.0:
            lowest.append(float(now.march.celsius.min()) + BODY_C)
    assert max(highest) < 200.01
    assert max(highest) > 190
    assert min(lowest) > BODY_C - 0.01


def test_the_second_canal_is_warmer_where_the_first_was_heated_before():
    root, second = two_canals(), Heating(plunge(2.5, 4.0), 1)
    alone = warm_solid(root, THERE, [second], 6.0, ROUGH_MM)
    after = warm_solid(root, THERE, [Heating(plunge(0.5, 2.0), 0), second], 6.0, ROUGH_MM)
    assert after.axis_peak_c(2.0, 1) > alone.axis_peak_c(2.0, 1) + 0.5
    assert after.surface_peak_c() > alone.surface_peak_c()


def test_either_of_two_equal_canals_warms_the_other_alike():
    one, other = (warm_solid(two_canals(), THERE, [Heating(plunge(), i)], 4.0, ROUGH_MM) for i in (0, 1))
    assert one.axis_c[:, ::-1] == pytest.approx(other.axis_c, abs=0.01)


def test_a_thicker_wall_stays_cooler_outside_in_three_dimensions():
    thin, thick = (solid(root_of(small(x)), plunge()).surface_peak_c() for x in (0.8, 1.2))
    assert thick < thin - 1


def test_the_rise_in_three_dimensions_is_in_proportion_to_the_tip_above_the_body():
    one, other = (solid(root_of(small()), plunge(celsius=BODY_C + x)).surface_peak_c() for x in (40.0, 120.0))
    assert other == pytest.approx(3 * one, rel=1e-4)


def test_the_voxels_hold_the_volume_of_the_root():
    section = small(materials=Materials(COMPOUND, DENTINE, replace(BLOCK, density_kg_m3=1e-6)))
    voxels = solid_of(section, 0.1)
    stored = (2 / voxels.take[voxels.take > 0].astype(float) * (0.1 * MM)).sum()

    def frustum(a: float, b: float) -> float:
        return math.pi * 6.0 * (a * a + a * b + b * b) / 3 * MM**3

    canal, whole = frustum(0.25, 0.45), frustum(1.05, 1.25)
    heat = canal * COMPOUND.capacity_j_m3k + (whole - canal) * DENTINE.capacity_j_m3k
    assert stored == pytest.approx(heat, rel=5e-3)
    assert np.all(voxels.resist[-1] == APART)


def test_what_three_dimensions_do_not_know_is_refused():
    melting = replace(COMPOUND, transition=Transition.sharp(1e4, 60.0))
    with pytest.raises(ValueError, match="no material melts"):
        root_of(small(materials=replace(MATERIALS, compound=melting)))
    with pytest.raises(ValueError, match="cylinder"):
        root_of(replace(small(), wrap_mm=0.1))
    with pytest.raises(ValueError, match="held"):
        warm_solid(root_of(small()), Surroundings(BODY_C, 100.0), [], 1.0, ROUGH_MM)
    with pytest.raises(ValueError, match="do not meet"):
        replace(two_canals(), canals=(Canal(np.array([[0.0, 0.6]])), Canal(np.array([[0.0, 0.6]]), 0.5)))


@pytest.mark.parametrize("module", ["rootfill", "rootfill.heat", "rootfill.app"])
def test_numba_is_not_loaded_unless_three_dimensions_are_asked_for(module):
    code = f"import sys, {module}; sys.exit(bool({{'numba', 'rootfill.heat.solid'}} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0

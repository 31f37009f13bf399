"""A block that follows the root: about a cylinder the upright one, about a cone as wide as the cone."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from rootfill.heat import Effort, Material, Materials, Section, Surroundings, warm
from rootfill.heat.assemble import Cells
from rootfill.heat.mesh import MM, fitted
from rootfill.heat.model import INSULATED
from tests.heat.bars import BODY_C, MATERIALS, plunge, section

ROUGH = Effort(refine=1)
SHELL_MM = 0.2
METAL = Material(5000, 2000, 1000)
"""Conducts so well that a root of it has one temperature."""


def wrapped(root: Section) -> Section:
    thickest = float(root.root[:, 1].max()) / 2
    return replace(root, block_radius_mm=thickest + root.ligament_mm + SHELL_MM, wrap_mm=SHELL_MM)


def frustum_mm3(low: float, high: float, long: float) -> float:
    return math.pi * long * (low * low + low * high + high * high) / 3


@pytest.mark.parametrize("ligament_mm", [0.0, 0.25])
def test_the_shell_is_equally_thick_from_the_end_to_the_orifice(ligament_mm):
    parts = replace(MATERIALS, ligament=MATERIALS.block) if ligament_mm else MATERIALS
    root = wrapped(section(materials=parts, ligament_mm=ligament_mm))
    mesh = fitted(root, [5.0], ROUGH)
    assert (mesh.grid.r_m[:, -1] - mesh.grid.r_m[:, mesh.bone_column]) / MM == pytest.approx(SHELL_MM)


def test_the_whole_has_the_volume_of_its_cone_and_of_what_lies_below():
    root = wrapped(section())
    mesh = fitted(root, [5.0], ROUGH)
    low, high = 1.35 + SHELL_MM, 1.65 + SHELL_MM
    whole = frustum_mm3(low, high, 12.0) + math.pi * low**2 * root.block_below_mm
    assert Cells(mesh.grid).node_sums(np.ones(mesh.grid.layer.shape)).sum() / MM**3 == pytest.approx(whole, rel=1e-9)


def test_about_a_cylinder_it_is_the_upright_block():
    root = replace(section(), root=np.array([[0.0, 3.6]]))
    follows = wrapped(root)
    one, other = (
        warm(x, Surroundings(BODY_C), [plunge()], 8.0, ROUGH) for x in (follows, replace(follows, wrap_mm=math.inf))
    )
    assert one.surface_peak().rise_c > 1
    assert np.array_equal(one.surface_c, other.surface_c)


def test_a_cone_of_metal_cools_by_the_area_of_its_slanted_side():
    # One temperature throughout: dT/dt = -h A / (rho c V) T, with A the side of the frustum and of the disc below it
    canal = np.array([[0.0, 0.3], [12.0, 0.9]])
    steep = Section(
        12.0,
        canal,
        np.array([[0.0, 1.6], [12.0, 9.6]]),
        6.0,
        SHELL_MM,
        Materials(METAL, METAL, METAL),
        wrap_mm=SHELL_MM,
    )
    film, low, high = 50.0, 0.8 + SHELL_MM, 4.8 + SHELL_MM
    side_mm2 = math.pi * (low + high) * math.hypot(12.0, high - low) + 2 * math.pi * low * SHELL_MM
    volume_mm3 = frustum_mm3(low, high, 12.0) + math.pi * low**2 * SHELL_MM
    rate = film * side_mm2 / (METAL.capacity_j_m3k * volume_mm3 * MM)
    got = warm(steep, Surroundings(0.0, film, INSULATED, start_c=100.0), [], 30.0, ROUGH)
    assert got.surface_c[-1].mean() == pytest.approx(100 * math.exp(-30 * rate), abs=0.05)
    assert 100 * math.exp(-30 * rate) < 80


def test_it_is_nowhere_wider_than_the_block():
    root = replace(section(), block_radius_mm=1.75, wrap_mm=SHELL_MM)
    assert root.block_radius(np.array([0.0, 12.0])) == pytest.approx([1.35 + SHELL_MM, 1.75])


@pytest.mark.parametrize("wrap_mm", [0.0, -0.1, math.nan])
def test_a_shell_without_thickness_is_refused(wrap_mm):
    with pytest.raises(ValueError, match="wider"):
        replace(section(), wrap_mm=wrap_mm)

"""The mesh lies on the walls, is close at the tip, and each refinement divides the cells of the one before."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from rootfill.heat.assemble import Cells, line_sums
from rootfill.heat.mesh import BLOCK, COMPOUND, DENTINE, LIGAMENT, MM, Grid, fitted
from rootfill.heat.model import Effort
from tests.heat.bars import MATERIALS, section

LIGAMENT_MM = 0.25


def straight_walls() -> Grid:
    """The rows of a section between straight walls of one material."""
    rows = fitted(section(), [5.0], Effort(refine=1)).grid.s_m
    return Grid(rows, np.tile(np.linspace(0, 5e-3, 9), (rows.size, 1)), np.zeros((rows.size - 1, 8), dtype=int))


def with_ligament():
    return section(materials=replace(MATERIALS, ligament=MATERIALS.block), ligament_mm=LIGAMENT_MM)


def test_the_columns_lie_on_the_walls_of_canal_root_and_block():
    root, mesh = section(), fitted(section(), [5.0], Effort())
    s = mesh.grid.s_m[mesh.end_row :] / MM
    assert mesh.grid.r_m[mesh.end_row :, mesh.canal_column] / MM == pytest.approx(root.canal_radius(s))
    assert mesh.grid.r_m[mesh.end_row :, mesh.root_column] / MM == pytest.approx(root.root_radius(s))
    assert np.all(mesh.grid.r_m[:, 0] == 0)
    assert mesh.grid.r_m[:, -1] / MM == pytest.approx(root.block_radius_mm)
    assert np.all(np.diff(mesh.grid.r_m, axis=1) > 0)


def test_the_rows_reach_from_below_the_root_to_the_orifice_and_stand_at_every_tip():
    mesh = fitted(section(), [5.0, 7.3], Effort())
    s = mesh.grid.s_m / MM
    assert (s[0], s[mesh.end_row], s[-1]) == (-4.0, 0.0, 12.0)
    assert s[mesh.row_of(5.0)] == 5.0
    assert s[mesh.row_of(7.3)] == 7.3
    at = mesh.row_of(5.0)
    assert np.diff(s)[at - 1 : at + 1].max() < 0.08
    assert np.diff(s).max() > 0.25


def test_the_volumes_of_the_materials_are_those_of_the_frusta():
    mesh = fitted(with_ligament(), [5.0], Effort())
    volume = {kind: Cells(mesh.grid).node_sums((mesh.grid.layer == kind) * 1.0).sum() / MM**3 for kind in range(4)}

    def frustum(a: float, b: float, h: float) -> float:
        return math.pi * h * (a * a + a * b + b * b) / 3

    canal, root = frustum(0.15, 0.45, 12.0), frustum(1.35, 1.65, 12.0)
    around = frustum(1.35 + LIGAMENT_MM, 1.65 + LIGAMENT_MM, 12.0) - root
    under = math.pi * (1.35 + LIGAMENT_MM) ** 2 * LIGAMENT_MM
    assert volume[COMPOUND] == pytest.approx(canal, rel=1e-9)
    assert volume[DENTINE] == pytest.approx(root - canal, rel=1e-9)
    assert volume[LIGAMENT] == pytest.approx(around + under, rel=1e-9)
    assert sum(volume.values()) == pytest.approx(math.pi * 36 * 16, rel=1e-9)
    assert volume[BLOCK] > 0


def test_refining_twice_keeps_every_row_and_column():
    one, two = (fitted(section(), [5.0], Effort(refine=n)) for n in (1, 2))
    assert two.grid.s_m[::2] == pytest.approx(one.grid.s_m, abs=2e-2 * MM)
    assert two.grid.shape == (2 * one.grid.shape[0] - 1, 2 * one.grid.shape[1] - 1)
    assert two.canal_column == 2 * one.canal_column


def test_stations_on_top_of_a_tip_make_no_sliver():
    mesh = fitted(section(), [5.0, 5.00004, 0.00003], Effort())
    assert np.diff(mesh.grid.s_m).min() > 1e-5 * MM


def test_a_field_linear_along_the_axis_flows_evenly():
    # Σ G (T_p − T_q) vanishes inside for any linear field along the axis, where one material fills straight walls
    straight = straight_walls()
    g = Cells(straight).conductances(np.ones(straight.layer.shape))
    up = g.up[:-1] * np.diff(straight.s_m)[:, None]
    assert up == pytest.approx(np.tile(up[0], (up.shape[0], 1)))
    assert up[0].sum() == pytest.approx(math.pi * 25e-6)


def test_cells_with_right_angles_couple_no_corners():
    straight = straight_walls()
    g = Cells(straight).conductances(np.ones(straight.layer.shape))
    assert np.abs(g.up_left).max() < 1e-12 * g.right.max()
    assert np.abs(g.up_right).max() < 1e-12 * g.right.max()


def test_the_area_of_a_turned_line_is_that_of_a_cone():
    r, s = np.array([1.0, 1.5, 2.0]), np.array([0.0, 1.0, 2.0])
    assert line_sums(r, s).sum() == pytest.approx(math.pi * 3 * math.hypot(1, 2))

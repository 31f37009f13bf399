"""The heat of a section against scikit-fem on the same fitted mesh: other elements, other mass, other time stepping."""

from __future__ import annotations

import numpy as np
import pytest

from benchmarks.heat_by_elements import assembled, by_elements
from rootfill.heat.assemble import Cells
from rootfill.heat.mesh import fitted
from rootfill.heat.model import Effort, Surroundings
from rootfill.heat.warm import warm
from tests.heat.bars import BODY_C, plunge, section


@pytest.mark.parametrize(("wall", "tip", "celsius"), [(1.2, 5.0, 100.0), (0.7, 4.0, 60.0), (2.0, 7.0, 100.0)])
def test_surface_and_axis_agree_with_scikit_fem_within_three_tenths(wall, tip, celsius):
    root, source, seconds = section(wall), plunge(tip, until_s=3.0, celsius=celsius), 20.0
    mesh = fitted(root, [tip], Effort())
    theirs = by_elements(mesh, root, source, seconds, 0.05, BODY_C)
    ours = warm(root, Surroundings(BODY_C), [source], seconds, Effort())
    nodes = np.arange(theirs.shape[1]).reshape(mesh.grid.shape)
    surface, axis = theirs[:, nodes[mesh.end_row :, mesh.root_column]], theirs[:, nodes[:, 0]]
    assert ours.surface_c.max() > BODY_C + 1
    assert ours.surface_c.max(axis=0) == pytest.approx(surface.max(axis=0), abs=0.3)
    times, after = 0.05 * np.arange(theirs.shape[0]), ours.times_s > 3.2
    for found, expected in ((ours.surface_c, surface), (ours.axis_c, axis)):
        for column in range(found.shape[1]):
            there = np.interp(ours.times_s[after], times, expected[:, column])
            assert found[after, column] == pytest.approx(there, abs=0.3)


def test_a_tenth_of_the_cells_would_be_seen_as_another_answer():
    root, source = section(), plunge()
    rough = Effort(refine=1, tip_mm=0.5, growth=4.0, across_mm=1.5, longest_mm=4.0)
    theirs = by_elements(fitted(root, [5.0], Effort()), root, source, 10.0, 0.05, BODY_C)
    ours = warm(root, Surroundings(BODY_C), [source], 10.0, rough)
    assert abs(np.interp(4.0, ours.axis_s_mm, ours.axis_c.max(axis=0)) - _axis_at(4.0, theirs)) > 0.3


def _axis_at(s_mm: float, theirs: np.ndarray) -> float:
    mesh = fitted(section(), [5.0], Effort())
    return float(np.interp(s_mm, mesh.grid.s_m * 1e3, theirs[:, :: mesh.grid.shape[1]].max(axis=0)))


def test_the_mesh_holds_the_heat_that_scikit_fem_integrates_over_it():
    root = section()
    mesh = fitted(root, [5.0], Effort())
    _, storage = assembled(mesh, root)
    per_m3 = np.array([m.capacity_j_m3k for m in root.materials.layers])[mesh.grid.layer]
    assert Cells(mesh.grid).node_sums(per_m3).sum() == pytest.approx(2 * np.pi * storage.sum(), rel=1e-6)

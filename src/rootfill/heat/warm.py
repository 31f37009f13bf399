"""A section and what is put into it, computed: temperatures on the axis and on the root's surface."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from rootfill.heat.body import Bodies
from rootfill.heat.march import march
from rootfill.heat.mesh import MM, Fitted, fitted
from rootfill.heat.model import Content, Effort, Section, Surroundings
from rootfill.heat.result import Warming
from rootfill.heat.steps import Phase, phases


def band_size(section: Section, contents: Sequence[Content], seconds: float, effort: Effort) -> int:
    """How many numbers one factorised matrix of the run would hold."""
    rows, columns = _meshed(section, phases(contents, seconds), effort).grid.shape
    return rows * columns * (columns + 2)


def _meshed(section: Section, run: Sequence[Phase], effort: Effort) -> Fitted:
    return fitted(section, sorted({p.tip_s_mm for p in run if p.tip_s_mm is not None}), effort)


def warm(
    section: Section, surroundings: Surroundings, contents: Sequence[Content], seconds: float, effort: Effort
) -> Warming:
    """Temperatures of a section over ``seconds`` of contents put in one after another. Raises SolverError.

    Where nothing stands for a while, in a gap or in a tip, the axis shows the gap's surroundings or the tip.
    """
    run = phases(contents, seconds)
    mesh = _meshed(section, run, effort)
    nodes = np.arange(mesh.grid.r_m.size).reshape(mesh.grid.shape)
    axis, surface = nodes[:, 0], nodes[mesh.end_row :, mesh.root_column]
    history = march(Bodies(mesh, section.materials.layers, surroundings), run, effort, np.concatenate((axis, surface)))
    return Warming(
        history.times_s,
        mesh.grid.s_m / MM,
        history.watched_c[:, : axis.size],
        mesh.grid.s_m[mesh.end_row :] / MM,
        history.watched_c[:, axis.size :],
        surroundings.begins_c,
        history.energy_error,
    )

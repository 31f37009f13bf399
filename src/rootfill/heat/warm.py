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
    rows, columns = _meshed(section, phases(contents, seconds, effort.stop_mm), effort).grid.shape
    return rows * columns * (columns + 2)


def _meshed(section: Section, run: Sequence[Phase], effort: Effort) -> Fitted:
    return fitted(section, sorted({p.tip_s_mm for p in run if p.tip_s_mm is not None}), effort)


def warm(
    section: Section, surroundings: Surroundings, contents: Sequence[Content], seconds: float, effort: Effort
) -> Warming:
    """Temperatures of a section over ``seconds`` of contents put in one after another. Raises SolverError.

    Where nothing stands for a while, in a gap or in a tip, the axis shows the gap's surroundings or the tip.
    """
    run = phases(contents, seconds, effort.stop_mm)
    mesh = _meshed(section, run, effort)
    nodes = np.arange(mesh.grid.r_m.size).reshape(mesh.grid.shape)
    sides = [nodes[mesh.end_row :, column] for column in (mesh.canal_column, mesh.root_column, mesh.bone_column)]
    watched = np.concatenate((nodes[:, 0], *sides))
    history = march(Bodies(mesh, section.materials.layers, surroundings), run, effort, watched)
    ends = np.cumsum([nodes.shape[0], sides[0].size, sides[1].size])
    axis, wall, surface, bone = np.split(history.watched_c, ends, axis=1)
    return Warming(
        times_s=history.times_s,
        axis_s_mm=mesh.grid.s_m / MM,
        axis_c=axis,
        surface_s_mm=mesh.grid.s_m[mesh.end_row :] / MM,
        surface_c=surface,
        wall_c=wall,
        bone_c=bone,
        begins_c=surroundings.begins_c,
        energy_error=history.energy_error,
    )

"""The same section by scikit-fem: bilinear elements with consistent mass on the same mesh, BDF2 with even steps."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementQuad1, MeshQuad
from skfem.helpers import dot, grad

from rootfill.heat.mesh import Fitted
from rootfill.heat.model import Section, Source

Solve = Callable[[np.ndarray], np.ndarray]


@BilinearForm
def conduction(u, v, w):
    return w.k * dot(grad(u), grad(v)) * w.x[0]


@BilinearForm
def storage(u, v, w):
    return w.k * u * v * w.x[0]


def assembled(mesh: Fitted, section: Section):
    """Conductances and capacities, both per radian, nodes numbered row by row."""
    rows, columns = mesh.grid.shape
    nodes = np.arange(rows * columns).reshape(rows, columns)
    cells = np.stack([nodes[:-1, :-1], nodes[:-1, 1:], nodes[1:, 1:], nodes[1:, :-1]]).reshape(4, -1)
    points = np.stack([mesh.grid.r_m.ravel(), np.repeat(mesh.grid.s_m, columns)])
    basis = Basis(MeshQuad(points, cells), ElementQuad1(), intorder=4)
    layers = section.materials.layers
    k, c = (
        np.array(of)[mesh.grid.layer.ravel()][:, None] * np.ones(basis.dx.shape)
        for of in ([m.k_w_mk for m in layers], [m.capacity_j_m3k for m in layers])
    )
    return conduction.assemble(basis, k=k).tocsr(), storage.assemble(basis, k=c).tocsr()


def by_elements(mesh: Fitted, section: Section, source: Source, seconds: float, step_s: float, outside_c: float):
    """Temperatures (steps + 1, nodes) with one tip in perfect contact; two factorisations per state."""
    K, C = assembled(mesh, section)
    rows, columns = mesh.grid.shape
    bath = np.zeros((rows, columns), dtype=bool)
    bath[:, -1] = bath[0, :] = True
    tip = np.zeros_like(bath)
    tip[mesh.row_of(float(source.tip_at(source.from_s))) :, : mesh.canal_column + 1] = True
    now, kept = np.full(rows * columns, outside_c), [np.full(rows * columns, outside_c)]
    for start, end, warm in ((0.0, source.from_s, False), (source.from_s, source.until_s, True),
                             (source.until_s, seconds, False)):  # fmt: skip
        if end > start:
            held = (bath | tip).ravel() if warm else bath.ravel()
            if warm:
                now = np.where(tip.ravel(), source.temperature_at(start), now)
            steps = _steps(K, C, held, now, round((end - start) / step_s), step_s)
            kept += steps
            now = steps[-1]
    return np.array(kept)


def _steps(K, C, held: np.ndarray, now: np.ndarray, count: int, h: float) -> list[np.ndarray]:
    """Four quarters of a step by backward Euler, then BDF2."""
    first, later = _solver(C + h / 4 * K, held, now), _solver(C + h * 2 / 3 * K, held, now)
    before, steps = now, []
    for _ in range(4):
        now = first(C @ now)
    steps.append(now)
    for _ in range(count - 1):
        before, now = now, later(C @ ((4 * now - before) / 3))
        steps.append(now)
    return steps


def _solver(A, held: np.ndarray, values: np.ndarray) -> Solve:
    free = ~held
    inner = splu(A[free][:, free].tocsc())
    pull = A[free][:, held] @ values[held]

    def solve(right: np.ndarray) -> np.ndarray:
        found = values.copy()
        found[free] = inner.solve(right[free] - pull)
        return found

    return solve

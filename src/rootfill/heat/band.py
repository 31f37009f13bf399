"""Conduction between the nodes of the mesh, and Cholesky factors of its band."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.lib.stride_tricks import as_strided
from numpy.typing import NDArray
from scipy.linalg import lapack

from rootfill.errors import SolverError
from rootfill.heat.assemble import Neighbours
from rootfill.units import FloatArray

Mask = NDArray[np.bool_]
Couplings = tuple[tuple[int, FloatArray], ...]
"""Distances in node numbers, and the conductance [W/K] from each node to the one that far on; the last is farthest."""


@dataclass(frozen=True, eq=False)
class Conduction:
    """Σ G (T_p − T_q) at each node, from its conductances to its neighbours; nodes are numbered row by row."""

    neighbours: Neighbours

    @cached_property
    def couplings(self) -> Couplings:
        """From each node to those right, up left, up, up right; shape (n,) each."""
        g, columns = self.neighbours, self.neighbours.right.shape[1]
        return (
            (1, g.right.ravel()),
            (columns - 1, g.up_left.ravel()),
            (columns, g.up.ravel()),
            (columns + 1, g.up_right.ravel()),
        )

    @cached_property
    def diagonal(self) -> FloatArray:
        """Sum of all conductances of each node, shape (n,)."""
        total = np.zeros(self.neighbours.right.size)
        for far, g in self.couplings:
            total += g
            total[far:] += g[: total.size - far]
        return total

    def flow(self, celsius: FloatArray) -> FloatArray:
        """What each node gives to its neighbours, W."""
        found = self.diagonal * celsius
        for far, g in self.couplings:
            found[:-far] -= g[:-far] * celsius[far:]
            found[far:] -= g[:-far] * celsius[:-far]
        return found

    def among(self, free: Mask) -> Couplings:
        """The couplings that join two free nodes; the others are 0."""
        return tuple((far, np.where(free[:-far] & free[far:], g[:-far], 0.0)) for far, g in self.couplings)

    def border(self, free: Mask) -> Border:
        """The couplings that join a free node with a held one."""
        inner, outer, pull = list[NDArray[np.intp]](), list[NDArray[np.intp]](), list[FloatArray]()
        for far, g in self.couplings:
            low = np.flatnonzero((free[:-far] != free[far:]) & (g[:-far] != 0))
            inner.append(np.where(free[low], low, low + far))
            outer.append(np.where(free[low], low + far, low))
            pull.append(g[low])
        return Border(np.concatenate(inner), np.concatenate(outer), np.concatenate(pull))


@dataclass(frozen=True, eq=False)
class Border:
    """Where free nodes touch held ones: the numbers of either (n,), and the conductance between them [W/K]."""

    free: NDArray[np.intp]
    held: NDArray[np.intp]
    w_k: FloatArray


class Factor:
    """Cholesky factor of a band matrix: its ``diagonal``, and −``step`` times the ``couplings`` beside it.

    Raises SolverError where the matrix is not positive definite.
    """

    def __init__(self, diagonal: FloatArray, couplings: Couplings, step: float) -> None:
        band = np.zeros((couplings[-1][0] + 1, diagonal.size), order="F")
        band[0] = diagonal
        for far, g in couplings:
            band[far, :-far] -= step * g
        lower, info = lapack.dpbtrf(band, lower=1, overwrite_ab=1)
        if info != 0:
            raise SolverError("the heat equations could not be factorised")
        self._upper = _transposed(lower)

    def solve(self, right: FloatArray) -> FloatArray:
        """The unknowns (n,), in place of ``right``."""
        found, _ = lapack.dpbtrs(self._upper, right, overwrite_b=1)
        return np.asarray(found)


def _transposed(lower: FloatArray) -> FloatArray:
    """The upper band (width + 1, n) of a lower one: LAPACK factorises the lower faster and solves with the upper."""
    across, size = lower.shape
    kept = np.empty((size + across - 1) * across)
    steps = (across * kept.itemsize, (across - 1) * kept.itemsize)
    as_strided(kept[across - 1 :], shape=(size, across), strides=steps)[...] = lower.T
    return kept[: size * across].reshape(size, across).T

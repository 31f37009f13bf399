"""Symmetric matrices of the mesh: products, and Cholesky factors of their band."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import lapack
from scipy.sparse import csr_array, dia_array

from rootfill.errors import SolverError
from rootfill.heat.assemble import Neighbours
from rootfill.units import FloatArray

Mask = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Conduction:
    """Σ G (T_p − T_q) at each node, from its conductances to its neighbours; nodes are numbered row by row."""

    neighbours: Neighbours

    @cached_property
    def couplings(self) -> tuple[tuple[int, FloatArray], ...]:
        """Distance in node numbers, and the conductance from each node to the one that far on, shape (n,)."""
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

    @cached_property
    def matrix(self) -> csr_array:
        """As a sparse matrix."""
        size, upper = self.diagonal.size, dia_array((self.diagonal.size,) * 2)
        for far, g in self.couplings:
            upper = upper + dia_array((np.roll(-g, far)[None, :], [far]), shape=(size, size))
        middle = dia_array((self.diagonal[None, :], [0]), shape=(size, size))
        return (upper + upper.T + middle).tocsr()

    def band(self, free: Mask) -> FloatArray:
        """Lower band (width + 1, n) without its diagonal; what does not join two free nodes is left out."""
        size, width = free.size, self.couplings[-1][0]
        found = np.zeros((width + 1, size), order="F")
        for far, g in self.couplings:
            both = free[: size - far] & free[far:]
            found[far, : size - far] -= np.where(both, g[: size - far], 0.0)
        return found


class Factor:
    """Cholesky factor of a band, overwritten, whose diagonal is given.

    Raises SolverError where it is not positive definite.
    """

    def __init__(self, band: FloatArray, diagonal: FloatArray) -> None:
        band[0] = diagonal
        self._lower, info = lapack.dpbtrf(band, lower=1, overwrite_ab=1)
        if info != 0:
            raise SolverError("the heat equations could not be factorised")

    def solve(self, right: FloatArray) -> FloatArray:
        """The unknowns (n,)."""
        found, _ = lapack.dpbtrs(self._lower, right, lower=1)
        return np.asarray(found)

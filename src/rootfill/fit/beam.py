"""The same rod as an elastic beam: minimise ½∫EI(κ + u″)² over |u| ≤ gap; the multipliers are wall forces."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import clarabel
import numpy as np
from scipy import sparse

from rootfill.errors import SolverError
from rootfill.fit.model import Reach
from rootfill.fit.reach import SCAN_STEP_MM, fits_rigid, grid, rigid_reach_mm, width_reach_mm
from rootfill.tooth.canal import Canal
from rootfill.tray.model import Rod
from rootfill.units import FloatArray

PIECES = 100
_CLOSED_MM = 1e-9
_HALVINGS = 5
_QUIET = 1e-3
"""Multipliers below this share of the largest belong to no contact."""


@dataclass(frozen=True, eq=False)
class Bent:
    """A rod at rest: stations (n+1,) [mm], offset from the axis [mm], wall force per station [N], strain."""

    s_mm: FloatArray
    offset_mm: FloatArray
    wall_force_n: FloatArray
    surface_strain: float

    @property
    def largest_force_n(self) -> float:
        """Largest sum over one contiguous contact of one sign, N."""
        return max((abs(f) for f in contacts(self.wall_force_n)), default=0.0)


def contacts(force_n: FloatArray) -> list[float]:
    """Signed sums over contiguous stations that press on the same wall."""
    level = _QUIET * float(np.abs(force_n).max(initial=0.0))
    sign = np.where(np.abs(force_n) > level, np.sign(force_n), 0.0)
    edges = np.flatnonzero(np.diff(sign)) + 1
    bands = np.split(force_n, edges)
    return [float(b.sum()) for b, kind in zip(bands, np.split(sign, edges), strict=True) if kind[0] != 0]


def bend(canal: Canal, rod: Rod, modulus_mpa: float, tip_s_mm: float, pieces: int = PIECES) -> Bent:
    """The elastic rod with its tip at ``tip_s_mm``, ends free. Raises SolverError when wedged or unsolved.

    Second differences are scaled by the gap and the step; EI = E π d⁴/64 [N·mm²] by station.
    """
    s = np.linspace(tip_s_mm, canal.length_mm, pieces + 1)
    step = float(s[1] - s[0])
    d = rod.diameter(s - tip_s_mm)
    gap = (canal.profile.narrow_at(s) - d) / 2
    if gap.min() < -_CLOSED_MM:
        raise SolverError("the rod is wider than the canal at this depth")
    k = canal.curve.deflection(s)
    bow = np.diff(k, 2) / step**2
    weight = modulus_mpa * math.pi * d[1:-1] ** 4 / 64 * step
    scale = max(float(gap.max()), 1e-6)
    heaviest = float(weight.max())
    v, push = _solve(weight / heaviest, bow * step**2 / scale, np.maximum(gap, _CLOSED_MM) / scale)
    curvature = bow + np.diff(v, 2) * scale / step**2
    strain = float(np.max(np.abs(curvature) * d[1:-1] / 2))
    return Bent(s, v * scale, push * heaviest * scale / step**4, strain)


def _solve(weight: FloatArray, bow: FloatArray, box: FloatArray) -> tuple[FloatArray, FloatArray]:
    """min ½ Σ w (D₂v + bow)² over |v| ≤ box; returns v and the signed multipliers, both (n+1,)."""
    second, inequality = _operators(box.size)
    hessian = sparse.triu(second.T @ sparse.diags_array(weight) @ second, format="csc")
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    cone = [clarabel.NonnegativeConeT(2 * box.size)]
    linear = second.T @ (weight * bow)
    answer = clarabel.DefaultSolver(hessian, linear, inequality, np.tile(box, 2), cone, settings).solve()
    if answer.status != clarabel.SolverStatus.Solved:
        raise SolverError(f"the beam was not solved: {answer.status}")
    duals = np.asarray(answer.z)
    return np.asarray(answer.x), duals[: box.size] - duals[box.size :]


@lru_cache(maxsize=8)
def _operators(size: int) -> tuple[sparse.csc_array, sparse.csc_array]:
    """Second difference (size−2, size) and the stacked ±identity of the box."""
    ones = np.ones(size - 2)
    second = sparse.diags_array([ones, -2 * ones, ones], offsets=[0, 1, 2], shape=(size - 2, size), format="csc")
    eye = sparse.eye_array(size)
    return second, sparse.vstack([eye, -eye], format="csc")


def wall_force_n(canal: Canal, rod: Rod, modulus_mpa: float, tip_s_mm: float) -> float:
    """Largest wall force [N] of one contact with the tip at ``tip_s_mm``; 0 where a rigid rod still fits."""
    if bool(fits_rigid(canal, rod, np.array([tip_s_mm]), grid(canal))[0]):
        return 0.0
    return bend(canal, rod, modulus_mpa, tip_s_mm).largest_force_n


def reach(
    canal: Canal, rod: Rod, modulus_mpa: float, careful_n: float, passive_n: float, firm_n: float
) -> Reach | None:
    """Last tip positions, coming from the orifice in steps of at most 0.1 mm, before a wall force passes each limit.

    Force is not monotone in depth, so the first passing decides. None when the rod does not enter.
    """
    touch, wedge = rigid_reach_mm(canal, rod), width_reach_mm(canal, rod)
    if touch is None or wedge is None:
        return None
    if touch <= wedge + 1e-9:
        return Reach(touch, touch, touch, touch)
    scan = _Scan(canal, rod, modulus_mpa, touch, wedge)
    careful, passive, firm = (scan.first_passing(limit) for limit in (careful_n, passive_n, firm_n))
    return Reach(passive, careful, firm, touch)


class _Scan:
    """Forces at tip positions from the first touch to the wedge; each position is solved once."""

    def __init__(self, canal: Canal, rod: Rod, modulus_mpa: float, touch: float, wedge: float) -> None:
        self.canal, self.rod, self.modulus_mpa = canal, rod, modulus_mpa
        count = max(math.ceil((touch - wedge) / SCAN_STEP_MM), 1)
        self.tips = np.linspace(touch, wedge, count + 1)
        self.known: dict[float, float] = {float(touch): 0.0}

    def force(self, tip: float) -> float:
        if tip not in self.known:
            self.known[tip] = bend(self.canal, self.rod, self.modulus_mpa, tip).largest_force_n
        return self.known[tip]

    def first_passing(self, limit_n: float) -> float:
        """Refined station just before the force first passes the limit; the wedge when it never does."""
        for free, stuck in pairwise(self.tips):
            if self.force(float(stuck)) > limit_n:
                return self._refined(float(free), float(stuck), limit_n)
        return float(self.tips[-1])

    def _refined(self, free: float, stuck: float, limit_n: float) -> float:
        for _ in range(_HALVINGS):
            middle = (free + stuck) / 2
            free, stuck = (middle, stuck) if self.force(middle) <= limit_n else (free, middle)
        return free

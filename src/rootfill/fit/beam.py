"""The same rod as an elastic beam: minimise ½∫EI(κ + u″)² over |u| ≤ gap; the multipliers are wall forces."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import pairwise

import clarabel
import numpy as np
from numpy.typing import NDArray
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
_CLOSER = 8
TOLERANCE = 1e-9
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

    Solved twice: a contact between two stations is missed by up to κh²/8, which moves its force by percents,
    so the second time the stations next to every contact stand eight times closer.
    """
    coarse = _at_rest(canal, rod, modulus_mpa, tip_s_mm, stations(canal, rod, tip_s_mm, pieces))
    return _at_rest(canal, rod, modulus_mpa, tip_s_mm, _closer_at_contacts(coarse))


def _closer_at_contacts(bent: Bent) -> FloatArray:
    """The stations again, with the pieces next to a pressed one divided."""
    level = _QUIET * float(np.abs(bent.wall_force_n).max(initial=0.0))
    pressed = np.abs(bent.wall_force_n) > level
    near = pressed[:-1] | pressed[1:]
    near = near | np.roll(near, 1) | np.roll(near, -1)
    parts = [
        np.linspace(a, b, _CLOSER + 1 if n else 2)[1:] for (a, b), n in zip(pairwise(bent.s_mm), near, strict=True)
    ]
    return np.concatenate((bent.s_mm[:1], *parts))


def _at_rest(canal: Canal, rod: Rod, modulus_mpa: float, tip_s_mm: float, s: FloatArray) -> Bent:
    """The rod on given stations.

    EI = E π d⁴/64 [N·mm²] by station. Second differences u″ = [(u₊ − u)/h₊ − (u − u₋)/h₋] / h̄ are scaled
    by the gap and the mean step.
    """
    d = rod.diameter(s - tip_s_mm)
    gap = (canal.profile.narrow_at(s) - d) / 2
    if gap.min() < -_CLOSED_MM:
        raise SolverError("the rod is wider than the canal at this depth")
    step = (s[-1] - s[0]) / (s.size - 1)
    second = _second_differences(s / step)
    bow = _apply(second, canal.curve.deflection(s)) / step**2
    weight = modulus_mpa * math.pi * d[1:-1] ** 4 / 64 * (s[2:] - s[:-2]) / 2
    scale, heaviest = max(float(gap.max()), 1e-6), float(weight.max())
    v, push = _solve(second, weight / heaviest, bow * step**2 / scale, np.maximum(gap, _CLOSED_MM) / scale)
    curvature = bow + _apply(second, v) * scale / step**2
    strain = float(np.max(np.abs(curvature) * d[1:-1] / 2))
    return Bent(s, v * scale, push * heaviest * scale / step**4, strain)


def stations(canal: Canal, rod: Rod, tip_s_mm: float, pieces: int) -> FloatArray:
    """About ``pieces`` + 1 stations from the tip to the orifice; ends of arcs and bends of the shape lie on one.

    A contact sits where the curvature jumps: a grid that misses that place moves its force by percents.
    """
    step = (canal.length_mm - tip_s_mm) / pieces
    marks = [tip_s_mm]
    bends = {x for a in canal.curve.arcs for x in (a.from_mm, a.to_mm)} | {tip_s_mm + x for x in rod.kinks_mm}
    for mark in sorted({*canal.profile.s_mm, *bends}):
        if marks[-1] + step / 3 < mark < canal.length_mm - step / 3:
            marks.append(float(mark))
    marks.append(canal.length_mm)
    parts = [np.linspace(a, b, math.ceil((b - a) / step - 1e-9) + 1)[1:] for a, b in pairwise(marks)]
    return np.concatenate(([tip_s_mm], *parts))


def _second_differences(x: FloatArray) -> FloatArray:
    """Weights of the three neighbours in u″ at each inner station, shape (n−1, 3)."""
    before, after = np.diff(x)[:-1], np.diff(x)[1:]
    mean = (before + after) / 2
    return np.column_stack((1 / (before * mean), -(1 / before + 1 / after) / mean, 1 / (after * mean)))


def _apply(second: FloatArray, u: FloatArray) -> FloatArray:
    return np.asarray(second[:, 0] * u[:-2] + second[:, 1] * u[1:-1] + second[:, 2] * u[2:])


def _solve(second: FloatArray, weight: FloatArray, bow: FloatArray, box: FloatArray) -> tuple[FloatArray, FloatArray]:
    """min ½ Σ w (D₂v + bow)² over |v| ≤ box; returns v and the signed multipliers, both (n+1,).

    Solved for v and r = (D₂v + bow)/b together, b = max|bow|: minimise ½ Σ w r². With D₂ in the constraints
    instead of squared in the objective the multipliers come out of order 1 and neighbouring contacts stay
    apart; squared, they run into each other at the solver's tolerance.
    """
    size, lift = box.size, max(float(np.abs(bow).max()), 1e-12)
    objective = _objective(weight)
    cones = [clarabel.ZeroConeT(size - 2), clarabel.NonnegativeConeT(2 * size)]
    bounds = np.concatenate([-bow / lift, box, box])
    start = np.zeros(2 * size - 2)
    constraints = _constraints(second / lift)
    answer = clarabel.DefaultSolver(objective, start, constraints, bounds, cones, _settings()).solve()
    if answer.status != clarabel.SolverStatus.Solved:
        raise SolverError(f"the beam was not solved: {answer.status}")
    duals = np.asarray(answer.z)[size - 2 :] * lift**2
    return np.asarray(answer.x)[:size], duals[:size] - duals[size:]


def _objective(weight: FloatArray) -> sparse.csc_array:
    """Diagonal over (v, r): nothing for v, the weights for r."""
    size, rows = weight.size + 2, weight.size
    starts = np.concatenate((np.zeros(size, dtype=np.int32), np.arange(rows + 1, dtype=np.int32)))
    return sparse.csc_array((weight, np.arange(size, size + rows, dtype=np.int32), starts), shape=(size + rows,) * 2)


@cache
def _settings() -> clarabel.DefaultSettings:
    """Tight, and without the solver's own regularisation: with it one rod in three hundred stays unsolved."""
    settings = clarabel.DefaultSettings()
    settings.verbose = False
    settings.static_regularization_enable = False
    settings.tol_gap_abs = settings.tol_gap_rel = settings.tol_feas = TOLERANCE
    return settings


def _constraints(second: FloatArray) -> sparse.csc_array:
    """Rows D₂v − r, then v and −v, for the unknowns (v, r)."""
    pattern, place = _pattern(second.shape[0] + 2)
    values = pattern.data.copy()
    values[place] = second.ravel()
    return sparse.csc_array((values, pattern.indices, pattern.indptr), shape=pattern.shape)


@lru_cache(maxsize=512)
def _pattern(size: int) -> tuple[sparse.csc_array, NDArray[np.intp]]:
    """The constraints with ones for D₂, and where its entries lie in their data, row by row."""
    rows = size - 2
    entries = np.arange(3 * rows, dtype=float) + 2
    labels = sparse.csc_array((entries, (np.repeat(np.arange(rows), 3), _neighbours(rows))), shape=(rows, size))
    eye, none = sparse.eye_array(size), sparse.csc_array((size, rows))
    blocks = [[labels, -sparse.eye_array(rows)], [eye, none], [-eye, none]]
    pattern = sparse.block_array(blocks, format="csc").sorted_indices()
    of_second = np.flatnonzero(pattern.data > 1)
    return pattern, of_second[np.argsort(pattern.data[of_second])]


def _neighbours(rows: int) -> NDArray[np.intp]:
    return (np.arange(rows)[:, None] + np.arange(3)).ravel()


def wall_force_n(canal: Canal, rod: Rod, modulus_mpa: float, tip_s_mm: float) -> float:
    """Largest wall force [N] of one contact with the tip at ``tip_s_mm``; 0 where a rigid rod still fits."""
    if bool(fits_rigid(canal, rod, np.array([tip_s_mm]), grid(canal))[0]):
        return 0.0
    return bend(canal, rod, modulus_mpa, tip_s_mm).largest_force_n


def quick_force_n(canal: Canal, rod: Rod, modulus_mpa: float, tip_s_mm: float) -> float:
    """The force as a scan for the reach takes it, solved once; infinite where it is wedged or not solved.

    Infinite, so that a reach ends before a place where the solver does not finish.
    """
    try:
        on = stations(canal, rod, tip_s_mm, PIECES)
        return _at_rest(canal, rod, modulus_mpa, tip_s_mm, on).largest_force_n
    except SolverError:
        return math.inf


def reach(
    canal: Canal, rod: Rod, modulus_mpa: float, careful_n: float, passive_n: float, firm_n: float
) -> Reach | None:
    """Last tip positions, coming from the orifice in steps of at most 0.1 mm, before a wall force passes each limit.

    Force is not monotone in depth, so the first passing decides. None when the rod does not enter.
    """
    touch = rigid_reach_mm(canal, rod)
    if touch is None:
        return None
    return reach_beyond(canal, rod, modulus_mpa, touch, careful_n, passive_n, firm_n)


def reach_beyond(
    canal: Canal, rod: Rod, modulus_mpa: float, touch: float, careful_n: float, passive_n: float, firm_n: float
) -> Reach:
    """As :func:`reach`, where the rigid reach ``touch`` [mm] is known."""
    wedge = touch if canal.curve.is_straight else width_reach_mm(canal, rod)
    if wedge is None or touch <= wedge + 1e-9:
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
            self.known[tip] = quick_force_n(self.canal, self.rod, self.modulus_mpa, tip)
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

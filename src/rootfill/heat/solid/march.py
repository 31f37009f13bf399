"""Through time in super-steps of many explicit stages: Runge, Kutta and Legendre (Meyer, Balsara and Aslam 2014).

A super-step of s stages is stable up to (s² + s − 2)/2 times 1/λ at second order, and up to (s² + s)/λ at first,
where λ is the largest eigenvalue. Temperatures are above the surroundings, °C.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from rootfill.heat.solid.build import Voxels
from rootfill.heat.solid.kernel import Field, fastest, slopes, stage
from rootfill.heat.solid.tip import Tip

_SAFE = 1.02
"""Single precision and the rounding of the diagonal take less than this off the stable step."""


@dataclass(frozen=True)
class Stages:
    """Weights of a super-step: ``first`` of the slope in stage 1, rows (last, before, slope of last, first slope).

    Stages are what has been gained since the start of the super-step. ``when`` are the shares of it at which the slopes
    stand, one for each row.
    """

    first: float
    rows: tuple[tuple[float, float, float, float], ...]
    when: tuple[float, ...]


def first_order(step_s: float, eigenvalue: float) -> Stages:
    """RKL1: what is between its neighbours stays so."""
    s = max(math.ceil((math.sqrt(1 + 4 * step_s * eigenvalue) - 1) / 2), 1)
    w = 2 / (s * s + s)
    rows = [((2 * j - 1) / j, (1 - j) / j, (2 * j - 1) / j * w, (2 * j - 1) / j * w) for j in range(2, s + 1)]
    return Stages(w, tuple(rows), tuple((j * j + j) / (s * s + s) for j in range(1, s)))


def second_order(step_s: float, eigenvalue: float) -> Stages:
    """RKL2, with an odd number of stages of at least 3."""
    s = max(math.ceil((math.sqrt(9 + 8 * step_s * eigenvalue) - 1) / 2), 3) | 1
    w = 4 / (s * s + s - 2)
    b = [1 / 3, 1 / 3, *((j * j + j - 2) / (2 * j * (j + 1)) for j in range(2, s + 1))]
    b[0] = b[1] = b[2]
    rows = list[tuple[float, float, float, float]]()
    for j in range(2, s + 1):
        mu, nu = (2 * j - 1) / j * b[j] / b[j - 1], -(j - 1) / j * b[j] / b[j - 2]
        rows.append((mu, nu, mu * w, b[j - 1] * mu * w))
    when = (w / 3, *((j * j + j - 2) / (s * s + s - 2) for j in range(2, s)))
    return Stages(w / 3, tuple(rows), when)


class March:
    """Temperatures of every voxel as they stand, and a super-step for them."""

    def __init__(self, voxels: Voxels, start_c: float = 0.0) -> None:
        self.voxels = voxels
        self.celsius: Field = np.where(voxels.take > 0, np.float32(start_c), np.float32(0))
        self._spare = [np.zeros_like(self.celsius) for _ in range(3)]
        self.tip: Tip | None = None
        self.enter(None)

    def enter(self, tip: Tip | None) -> None:
        """Voxels or tip have changed: how fast they are is measured anew."""
        v, self.tip = self.voxels, tip
        own = fastest(v.body)
        if tip is not None:
            own = max(own, self._beside(tip))
        self.eigenvalue = 2 * own * _SAFE

    def _beside(self, tip: Tip) -> float:
        """Largest diagonal of the voxels next to a tip, 1/s."""
        resist, (_, rows, columns) = self.voxels.resist.ravel(), self.voxels.resist.shape
        steps = (sign * x for x in (1, columns, rows * columns) for sign in (1, -1))
        total = sum(1 / (tip.resist + resist[tip.beside + x]) for x in steps)
        return float(np.max(total * tip.take + tip.rate, initial=0.0))

    def step(self, seconds: float, tip_c: Callable[[float], float], order: Callable[[float, float], Stages]) -> None:
        """A super-step; ``tip_c`` is the tip's temperature at a share of it."""
        stages, body = order(seconds, self.eigenvalue), self.voxels.body
        slope, last, out = self._spare
        slopes(slope, self.celsius, body)
        if self.tip is not None:
            slope.ravel()[self.tip.beside] += self._gained(self.celsius, tip_c(0.0))
        np.multiply(slope, np.float32(stages.first * seconds), out=last)
        out.fill(0)
        for (mu, nu, far, rest), when in zip(stages.rows, stages.when, strict=True):
            by = np.array((mu, nu, far * seconds, rest * seconds), dtype=np.float32)
            stage(out, last, slope, body, by)
            if self.tip is not None:
                out.ravel()[self.tip.beside] += by[2] * self._gained(last, tip_c(when) - tip_c(0.0))
            last, out = out, last
        self.celsius += last

    def _gained(self, celsius: Field, tip_c: float) -> Field:
        """What the tip adds to the slope of the voxels beside it, °C/s."""
        assert self.tip is not None
        return np.asarray(self.tip.rate * (np.float32(tip_c) - celsius.ravel()[self.tip.beside]), dtype=np.float32)

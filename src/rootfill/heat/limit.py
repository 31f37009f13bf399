"""How long each step may be heated so that the surface of the root stays under a limit, with what is not known."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from rootfill.errors import SolverError
from rootfill.heat.model import Content, Effort, Section, Surroundings
from rootfill.heat.result import Warming
from rootfill.heat.schedule import Tip
from rootfill.heat.warm import warm
from rootfill.units import FloatArray, down_to_half

SHARE = 0.95
WATCHED_S = (30.0, 120.0, 480.0, 1800.0)
"""How long a run goes on after its last step; the next where the surface is still getting warmer at its end."""
GRID_S = 0.5
"""Seconds of heat are multiples of this."""
Packing = Callable[[float, Tip], Sequence[Content]]
"""What is put into the canal with so many seconds of heat at each step, by this tip."""


@dataclass(frozen=True, eq=False)
class Draw:
    """One of the ways a canal may be: its section, what lies about it, its tip."""

    section: Section
    surroundings: Surroundings
    tip: Tip


@dataclass(frozen=True, eq=False)
class Trials:
    """Every way a canal may be, packed with as many seconds of heat as asked for. Each run is made once and kept.

    Every method raises SolverError where the surface of the root never stops getting warmer.
    """

    draws: Sequence[Draw]
    packing: Packing
    effort: Effort
    _made: dict[tuple[int, float], Warming] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if not self.draws:
            raise ValueError("at least one way the canal may be")

    @property
    def longest_s(self) -> float:
        """The last half second at which every tip was measured."""
        return down_to_half(min(draw.tip.last_s for draw in self.draws))

    def run(self, number: int, heat_s: float) -> Warming:
        """The run of one draw, watched until its surface stops getting warmer."""
        if (number, heat_s) not in self._made:
            self._made[number, heat_s] = _watched(self.draws[number], self.packing, heat_s, self.effort)
        return self._made[number, heat_s]

    def rises_c(self, heat_s: float) -> FloatArray:
        """Largest rise on the root's surface over all steps together, a value [°C] for each draw."""
        return np.array([self.run(i, heat_s).surface_peak().rise_c for i in range(len(self.draws))])

    def longest_heating_s(self, limit_c: float, left_c: FloatArray | float = 0.0) -> float:
        """Longest heating, the same at every step, that keeps ``SHARE`` of the draws under the limit; 0 where none.

        A multiple of half a second, never beyond the last second at which every tip was measured. All steps count
        together. ``left_c`` is what another canal of the root has left behind on the surface [°C], one value or one
        for each draw: it is added to every rise and never fades, which is the careful end. The draw on whose rise
        the share turns leads the search; all of them decide in the end. What a coarse effort reads too low, the
        caller takes off the limit.
        """
        counts = round(self.longest_s / GRID_S)
        if counts == 0:
            return 0.0
        left = np.broadcast_to(np.asarray(left_c, dtype=float), len(self.draws))
        rises = self.rises_c((counts + 1) // 2 * GRID_S) + left
        leads = int(np.argsort(rises)[int(np.ceil(SHARE * (rises.size - 1)))])
        low, high = 0, counts + 1
        while high - low > 1:
            half = (low + high) // 2
            rise = self.run(leads, half * GRID_S).surface_peak().rise_c + left[leads]
            low, high = (half, high) if rise < limit_c else (low, half)
        while low > 0 and not np.quantile(self.rises_c(low * GRID_S) + left, SHARE) < limit_c:
            low -= 1
        return low * GRID_S


def _watched(draw: Draw, packing: Packing, heat_s: float, effort: Effort) -> Warming:
    contents = packing(heat_s, draw.tip)
    for watched_s in WATCHED_S:
        end = contents[-1].until_s + watched_s
        watched = (*contents[:-1], replace(contents[-1], until_s=end))
        found = warm(draw.section, draw.surroundings, watched, end, effort)
        if found.surface_peak().time_s < end - 1e-6:
            return found
    raise SolverError("the surface of the root never stopped getting warmer")

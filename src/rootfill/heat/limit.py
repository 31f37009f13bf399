"""How long each step may be heated so that the surface of the root stays under a limit, with what is not known."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from rootfill.errors import SolverError
from rootfill.heat.model import Content, Effort, Section, Surroundings
from rootfill.heat.schedule import Tip
from rootfill.heat.warm import warm
from rootfill.units import FloatArray, down_to_half

SHARE = 0.95
WATCHED_S = (30.0, 120.0, 480.0, 1800.0)
"""How long a run goes on after its last step; the next where the surface is still getting warmer at its end."""
Packing = Callable[[float, Tip], Sequence[Content]]
"""What is put into the canal with so many seconds of heat at each step, by this tip."""
_HOTTEST = 4
_GRID_S = 0.5


@dataclass(frozen=True, eq=False)
class Draw:
    """One of the ways a canal may be: its section, what lies about it, its tip.

    ``left_c`` is what another canal of the root has left behind on the surface [°C]: it is added to every rise
    and never fades, which is the careful end.
    """

    section: Section
    surroundings: Surroundings
    tip: Tip
    left_c: float = 0.0


def surface_rises_c(draws: Sequence[Draw], packing: Packing, heat_s: float, effort: Effort) -> FloatArray:
    """Largest rise on the root's surface over all steps together, a value [°C] for each draw. Raises SolverError."""
    return np.array([_rise_c(draw, packing, heat_s, effort) for draw in draws])


def longest_heating_s(draws: Sequence[Draw], packing: Packing, limit_c: float, effort: Effort) -> float:
    """Longest heating, the same at every step, that keeps ``SHARE`` of the draws under the limit; 0 where none does.

    A multiple of half a second, rounded down, never beyond the last second at which every tip was measured. All
    steps count together. The search looks at the hottest draws alone; all of them decide in the end.
    What a coarse effort reads too low, the caller takes off the limit.
    Raises SolverError.
    """
    longest = down_to_half(min(draw.tip.last_s for draw in draws))
    counts = np.arange(1, round(longest / _GRID_S) + 1)
    if counts.size == 0:
        return 0.0
    middle = float(counts[counts.size // 2]) * _GRID_S
    order = np.argsort(surface_rises_c(draws, packing, middle, effort))[::-1]
    some = [draws[i] for i in order[: max(len(draws) // _HOTTEST, 1)]]
    over = min(int((1 - SHARE) * (len(draws) - 1)), len(some) - 1)
    low, high = 0, int(counts[-1]) + 1
    while high - low > 1:
        half = (low + high) // 2
        rises = np.sort(surface_rises_c(some, packing, half * _GRID_S, effort))[::-1]
        low, high = (half, high) if rises[over] < limit_c else (low, half)
    while low > 0 and not _holds(surface_rises_c(draws, packing, low * _GRID_S, effort), limit_c):
        low -= 1
    return low * _GRID_S


def _holds(rises_c: FloatArray, limit_c: float) -> bool:
    return bool(np.quantile(rises_c, SHARE) < limit_c)


def _rise_c(draw: Draw, packing: Packing, heat_s: float, effort: Effort) -> float:
    contents = packing(heat_s, draw.tip)
    for watched_s in WATCHED_S:
        end = contents[-1].until_s + watched_s
        watched = (*contents[:-1], replace(contents[-1], until_s=end))
        peak = warm(draw.section, draw.surroundings, watched, end, effort).surface_peak()
        if peak.time_s < end - 1e-6:
            return peak.rise_c + draw.left_c
    raise SolverError("the surface of the root never stopped getting warmer")

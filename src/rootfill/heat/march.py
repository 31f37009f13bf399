"""Through time by TR-BDF2, second order and L-stable, in enthalpy form.

With γ = 2 − √2 and d = γ/2 a step h from H₀ is, both times with the same matrix,
    H₁ + d h q₁ = H₀ − d h q₀,          q = K T + film·T + contact·(T − T_tip)
    H₂ + d h q₂ = a H₁ − (a − 1) H₀,    a = 1/(γ(2 − γ))
After each change of state the first step is four of backward Euler, each d h long, so that their matrix is the same,
too: the jump at the tip is damped before the trapezoidal rule meets it. Temperatures are above those outside.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rootfill.errors import SolverError
from rootfill.heat.band import Mask
from rootfill.heat.body import Bodies, Body
from rootfill.heat.model import Content, Effort, Rod, Source
from rootfill.heat.steps import Phase, ladder
from rootfill.units import FloatArray

GAMMA = 2 - math.sqrt(2)
D = GAMMA / 2
A = 1 / (GAMMA * (2 - GAMMA))
STARTS = 4
_STATES = 4
"""How many states keep their factorised matrices at once."""
_NEWTON = 60
_SEARCH = 12
_RISE = 0.1
_CLOSE = 1e-11
"""What a step may leave unbalanced, as a share of what warms the body from its coldest to its warmest place."""


@dataclass(frozen=True, eq=False)
class History:
    """At each of ``times_s`` (t,): temperatures [°C] of the watched nodes (t, n), and the balance of heat [J]."""

    times_s: FloatArray
    watched_c: FloatArray
    last_c: FloatArray
    highest_c: FloatArray
    brought_j: float
    gained_j: float
    exchanged_j: float

    @property
    def energy_error(self) -> float:
        """|heat gained − heat brought| as a share of all heat that went in or out of the body."""
        return abs(self.gained_j - self.brought_j) / self.exchanged_j if self.exchanged_j > 0 else 0.0


def march(bodies: Bodies, run: Sequence[Phase], effort: Effort, watched: NDArray[np.intp]) -> History:
    """Through every phase of a run, watching the nodes numbered ``watched``. Raises SolverError."""
    states, state = dict[object, Body](), _State(bodies)
    outside = bodies.surroundings.temperature_c
    times, seen = [0.0], [state.celsius[watched]]
    before = bodies.top
    for phase in run:
        row = bodies.top if phase.tip_s_mm is None else bodies.mesh.row_of(phase.tip_s_mm)
        key = (row, _kind(phase.content))
        if key not in states:
            if len(states) >= _STATES:
                del states[next(iter(states))]
            states[key] = bodies.holding(phase.content, row)
        arriving = bodies.arriving(phase.content, before, row)
        state.enter(states[key], phase.content, arriving, phase.start_s)
        before = row
        for time in state.through(phase, effort):
            times.append(time)
            seen.append(state.celsius[watched])
    return History(
        np.array(times),
        np.array(seen) + outside,
        state.celsius + outside,
        state.highest + outside,
        state.brought,
        state.gained,
        state.exchanged,
    )


def _kind(content: Content | None) -> object:
    """What tells the equations of two contents at one row apart."""
    match content:
        case Source():
            return Source, content.contact_w_m2k
        case Rod():
            return Rod, content.material
        case _:
            return type(content)


class _State:
    """Temperatures above those outside, molten shares and the account of heat, as they stand at one time."""

    def __init__(self, bodies: Bodies) -> None:
        size = bodies.mesh.grid.r_m.size
        self.outside = bodies.surroundings.temperature_c
        self.celsius = np.full(size, bodies.surroundings.begins_c - self.outside)
        self.highest = self.celsius.copy()
        self.body = bodies.free
        self.source: Source | None = None
        self.shares = self._molten(self.celsius, [np.zeros(size) for _ in self.body.latents])
        self.heat = self._heat(self.celsius, self.shares)
        self.brought = self.gained = self.exchanged = 0.0
        self.scale = 0.0
        self.flow = np.zeros(size)

    def enter(self, body: Body, content: Content | None, arriving: list[tuple[Mask, float]], time: float) -> None:
        """Another state begins: held nodes and what is ``arriving`` jump, and what that brings counts as brought."""
        before = self.heat.sum()
        self.body, self.source = body, content if isinstance(content, Source) else None
        for nodes, celsius in arriving:
            self.celsius = np.where(nodes, celsius - self.outside, self.celsius)
        self.celsius = self.celsius.copy()
        self.celsius[body.held] = self._held(self._tip(time))
        self.shares = self._molten(self.celsius, self.shares)
        self.heat = self._heat(self.celsius, self.shares)
        self.highest = np.maximum(self.highest, self.celsius)
        jump = float(self.heat.sum() - before)
        self.gained += jump
        self.brought += jump
        self.exchanged += abs(jump)
        spread = np.ptp(np.append(self.celsius, 0.0))
        self.scale = float(body.capacity.sum() * max(spread, 1.0))

    def through(self, phase: Phase, effort: Effort) -> Iterator[float]:
        """Steps to the end of the phase; yields the time after each. As warm as outside nothing changes."""
        time, resting = phase.start_s, self.source is None and not self.celsius.any()
        for number, level in enumerate(ladder(phase.end_s - phase.start_s, effort)):
            h = level.step_s if number else level.step_s * level.count / (level.count - 1 + STARTS * D)
            for step in range(level.count):
                first = number == 0 and step == 0
                if not resting:
                    (self._start if first else self._step)(h, time)
                time += STARTS * D * h if first else h
                yield time

    def _start(self, h: float, start: float) -> None:
        for i in range(STARTS):
            tip = self._tip(start + D * h * (i + 1))
            celsius, shares = self._solved(self.heat, D * h, tip)
            self._moved(celsius, shares, self.heat, D * h, (celsius, tip))

    def _step(self, h: float, start: float) -> None:
        part, tip = D * h, [self._tip(start + share * h) for share in (0.0, GAMMA, 1.0)]
        middle, melted = self._solved(self.heat - part * self.flow, part, tip[1])
        right = A * self._heat(middle, melted) - (A - 1) * self.heat
        celsius, shares = self._solved(right, part, tip[2])
        mean = A * (self.celsius + middle) + celsius, A * (tip[0] + tip[1]) + tip[2]
        self._moved(celsius, shares, right, part, mean)

    def _moved(
        self,
        celsius: FloatArray,
        shares: list[FloatArray],
        right: FloatArray,
        part: float,
        mean: tuple[FloatArray, float],
    ) -> None:
        """Books a step with heat + ``part``·flow = ``right`` at its end; heat crossed by ``mean`` for ``part`` [s]."""
        body, heat = self.body, self._heat(celsius, shares)
        gained, self.flow = heat - self.heat, (right - heat) / part
        self.celsius, self.shares, self.heat = celsius, shares, heat
        self.highest = np.maximum(self.highest, celsius)
        through_held, crossed = part * body.given(mean[0]) + gained[body.held], part * body.crossing(*mean)
        self.gained += float(gained.sum())
        self.brought += float(through_held.sum()) + crossed
        self.exchanged += float(np.abs(through_held).sum()) + abs(crossed)

    def _molten(self, celsius: FloatArray, before: Sequence[FloatArray]) -> list[FloatArray]:
        latents = self.body.latents
        return [x.molten(celsius + self.outside, f) for x, f in zip(latents, before, strict=True)]

    def _heat(self, celsius: FloatArray, shares: list[FloatArray]) -> FloatArray:
        """Heat of each node above that outside and solid, J."""
        total = self.body.capacity * celsius
        for latent, share in zip(self.body.latents, shares, strict=True):
            total += latent.joule * share
        return total

    def _tip(self, time: float) -> float:
        """Temperature of the tip, 0 where there is none."""
        return 0.0 if self.source is None else self.source.temperature_at(time) - self.outside

    def _held(self, tip_c: float) -> FloatArray:
        """Temperatures of the held nodes; one whose tip is no source stays as it is."""
        body = self.body
        tip = self.celsius[body.held] if self.source is None else tip_c
        return np.where(body.tip[body.held], tip, 0.0)

    def _solved(self, right: FloatArray, step: float, tip_c: float) -> tuple[FloatArray, list[FloatArray]]:
        """Temperatures and molten shares with heat + step·flow = ``right`` on the free nodes."""
        if self.body.latents:
            return self._melted(right, step, tip_c)
        right = right + step * tip_c * self.body.pull
        right[self.body.held] = self._held(tip_c)
        return self.body.factor(step).solve(right), []

    def _melted(self, right: FloatArray, step: float, tip_c: float) -> tuple[FloatArray, list[FloatArray]]:
        """By Newton's method on a convex function: each step goes to about its lowest place. Raises SolverError."""
        body, celsius = self.body, self.celsius.copy()
        celsius[body.held] = self._held(tip_c)
        wrong, shares = self._wrong(celsius, right, step, tip_c)
        for _ in range(_NEWTON):
            if np.abs(wrong).sum() <= _CLOSE * self.scale:
                return celsius, shares
            warm = celsius + self.outside
            slopes = [x.joule * x.slope(warm, f) for x, f in zip(body.latents, self.shares, strict=True)]
            way = body.factor(step, np.asarray(sum(slopes))).solve(-wrong)
            far = self._lowest(celsius, way, wrong, (right, step, tip_c))
            celsius = celsius + far * way
            wrong, shares = self._wrong(celsius, right, step, tip_c)
        raise SolverError("the melting of the compound was not solved")

    def _wrong(
        self, celsius: FloatArray, right: FloatArray, step: float, tip_c: float
    ) -> tuple[FloatArray, list[FloatArray]]:
        """What the free nodes leave unbalanced [J], and the molten shares."""
        shares = self._molten(celsius, self.shares)
        left = self._heat(celsius, shares) + step * self.body.flow(celsius, tip_c) - right
        return np.where(self.body.free, left, 0.0), shares

    def _lowest(
        self, celsius: FloatArray, way: FloatArray, wrong: FloatArray, at: tuple[FloatArray, float, float]
    ) -> float:
        """Share of the step after which the function rises again, by false position; 1 where it still falls."""
        low, fall, far = 0.0, float(wrong @ way), 1.0
        high, steep = 1.0, float(self._wrong(celsius + way, *at)[0] @ way)
        enough, least = _RISE * abs(fall), fall
        for _ in range(_SEARCH):
            if steep <= enough:
                return high
            far = low - least * (high - low) / (steep - least)
            slope = float(self._wrong(celsius + far * way, *at)[0] @ way)
            if abs(slope) <= enough:
                return far
            if slope > 0:
                high, steep, least = far, slope, least / 2
            else:
                low, least = far, slope
        return far

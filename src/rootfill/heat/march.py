"""Through time by TR-BDF2, second order and L-stable, in enthalpy form.

With γ = 2 − √2 and d = γ/2 a step h from H₀ is, both times with the same matrix,
    H₁ + d h q₁ = H₀ − d h q₀,          q = K T − film·T_outside − contact·T_tip
    H₂ + d h q₂ = a H₁ − (a − 1) H₀,    a = 1/(γ(2 − γ))
After each change of state the first step is four steps of backward Euler: the jump at the tip is damped before
the trapezoidal rule meets it.
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
from rootfill.heat.model import Content, Effort, Gap, Rod, Source
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
    times, seen = [0.0], [state.celsius[watched]]
    before = _whole(bodies)
    for phase in run:
        row = _whole(bodies) if phase.tip_s_mm is None else bodies.mesh.row_of(phase.tip_s_mm)
        key = (row, _kind(phase.content))
        if key not in states:
            if len(states) >= _STATES:
                states.clear()
            states[key] = bodies.holding(phase.content, row)
        arriving = _arriving(bodies, phase.content, before, row)
        state.enter(states[key], phase.content, arriving, phase.start_s)
        before = row
        for time in state.through(phase, effort):
            times.append(time)
            seen.append(state.celsius[watched])
    return History(
        np.array(times), np.array(seen), state.celsius, state.highest, state.brought, state.gained, state.exchanged
    )


def _whole(bodies: Bodies) -> int:
    """The row up to which compound stands while nothing else is in: the top."""
    return bodies.mesh.grid.shape[0] - 1


def _kind(content: Content | None) -> object:
    """What tells the equations of two contents at one row apart."""
    match content:
        case Source():
            return Source, content.contact_w_m2k
        case Rod():
            return Rod, content.material
        case _:
            return type(content)


def _arriving(bodies: Bodies, content: Content | None, before: int, row: int) -> list[tuple[Mask, float]]:
    """Nodes that something new comes to, and its temperature [°C]; ``before`` is the row compound stood up to."""
    match content:
        case Rod() if content.comes_at_c is not None:
            return [(bodies.inside(row + 1, None), content.comes_at_c)]
        case Gap():
            empty = (bodies.inside(row + 1, None), bodies.surroundings.temperature_c)
            filled = [] if content.filled_c is None else [(bodies.inside(before + 1, row + 1), content.filled_c)]
            return [empty, *filled]
        case _:
            return []


class _State:
    """Temperatures, molten shares and the account of heat, as they stand at one time."""

    def __init__(self, bodies: Bodies) -> None:
        size = bodies.mesh.grid.r_m.size
        self.outside = bodies.surroundings.temperature_c
        self.celsius = np.full(size, bodies.surroundings.begins_c)
        self.highest = self.celsius.copy()
        self.body = bodies.free
        self.source: Source | None = None
        self.shares = [x.molten(self.celsius, np.zeros(size)) for x in self.body.latents]
        self.brought = self.gained = self.exchanged = 0.0
        self.scale = 0.0
        self.flow = np.zeros(size)
        self.known = (np.zeros(0), np.zeros(0))

    def enter(self, body: Body, content: Content | None, arriving: list[tuple[Mask, float]], time: float) -> None:
        """Another state begins: held nodes and what is ``arriving`` jump, and what that brings counts as brought."""
        before = self._heat(self.celsius, self.shares).sum()
        self.body, self.source = body, content if isinstance(content, Source) else None
        for nodes, celsius in arriving:
            self.celsius = np.where(nodes, celsius, self.celsius)
        self.celsius = self._held(self.celsius, time)
        self.shares = [x.molten(self.celsius, f) for x, f in zip(body.latents, self.shares, strict=True)]
        self.highest = np.maximum(self.highest, self.celsius)
        self.flow, self.known = self._flow(self.celsius, time), (np.zeros(0), np.zeros(0))
        jump = float(self._heat(self.celsius, self.shares).sum() - before)
        self._account(jump, jump)
        self.exchanged += abs(jump)
        spread = np.ptp(np.append(self.celsius, self.outside))
        self.scale = float(body.capacity.sum() * max(spread, 1.0))

    def through(self, phase: Phase, effort: Effort) -> Iterator[float]:
        """Steps to the end of the phase; yields the time after each."""
        time, levels = phase.start_s, ladder(phase.end_s - phase.start_s, effort)
        for number, level in enumerate(levels):
            for step in range(level.count):
                if number == 0 and step == 0:
                    for i in range(STARTS):
                        self._euler(level.step_s / STARTS, time + level.step_s * (i + 1) / STARTS)
                else:
                    self._step(level.step_s, time)
                time += level.step_s
                self.highest = np.maximum(self.highest, self.celsius)
                yield time

    def _euler(self, h: float, until: float) -> None:
        heat = self._heat(self.celsius, self.shares)
        celsius, shares = self._solved(heat, h, until)
        self.flow = self._flow(celsius, until)
        self._moved(heat, celsius, shares, h * self.flow, h * self._crossing(celsius, until))

    def _step(self, h: float, start: float) -> None:
        heat, ends = self._heat(self.celsius, self.shares), (start, start + GAMMA * h, start + h)
        middle, melted = self._solved(heat - D * h * self.flow, D * h, ends[1])
        right = A * self._heat(middle, melted) - (A - 1) * heat
        celsius, shares = self._solved(right, D * h, ends[2])
        first, self.flow = self.flow + self._flow(middle, ends[1]), self._flow(celsius, ends[2])
        crossed = [self._crossing(x, t) for x, t in zip((self.celsius, middle, celsius), ends, strict=True)]
        out = D * h * (A * first + self.flow)
        self._moved(heat, celsius, shares, out, D * h * (A * (crossed[0] + crossed[1]) + crossed[2]))

    def _moved(
        self, heat: FloatArray, celsius: FloatArray, shares: list[FloatArray], out: FloatArray, crossed: float
    ) -> None:
        """Books a step: ``out`` [J] is what each node gave away, ``crossed`` what films and contact brought."""
        self.celsius, self.shares = celsius, shares
        gained = self._heat(celsius, shares) - heat
        through_held = (gained + out)[~self.body.free]
        self._account(float(gained.sum()), float(through_held.sum()) + crossed)
        self.exchanged += float(np.abs(through_held).sum()) + abs(crossed)

    def _account(self, gained: float, brought: float) -> None:
        self.gained += gained
        self.brought += brought

    def _heat(self, celsius: FloatArray, shares: list[FloatArray]) -> FloatArray:
        """Heat of each node above 0 °C and solid, J."""
        total = self.body.capacity * celsius
        for latent, share in zip(self.body.latents, shares, strict=True):
            total = total + latent.joule * share
        return np.asarray(total)

    def _load(self, time: float) -> FloatArray:
        load = self.body.film * self.outside
        return load if self.source is None else load + self.body.contact * self.source.temperature_at(time)

    def _flow(self, celsius: FloatArray, time: float) -> FloatArray:
        """What each node gives away, W: K T − film·T_outside − contact·T_tip."""
        body = self.body
        return np.asarray(body.conduction.matrix @ celsius + (body.film + body.contact) * celsius - self._load(time))

    def _crossing(self, celsius: FloatArray, time: float) -> float:
        """Heat that films, blood and contact bring, W."""
        return float(self._load(time).sum() - (self.body.film + self.body.contact) @ celsius)

    def _held(self, celsius: FloatArray, time: float) -> FloatArray:
        found = np.where(self.body.bath, self.outside, celsius)
        return found if self.source is None else np.where(self.body.tip, self.source.temperature_at(time), found)

    def _solved(self, right: FloatArray, step: float, time: float) -> tuple[FloatArray, list[FloatArray]]:
        """Temperatures and molten shares with heat + step·flow = ``right`` on the free nodes."""
        if self.body.latents:
            return self._melted(right, step, time)
        held = np.where(self.body.free, 0.0, self._held(self.celsius, time))
        if not np.array_equal(held, self.known[0]):
            self.known = (held, self.body.conduction.matrix @ held)
        right = right + step * (self._load(time) - self.known[1])
        return self.body.factor(step).solve(np.where(self.body.free, right, held)), []

    def _melted(self, right: FloatArray, step: float, time: float) -> tuple[FloatArray, list[FloatArray]]:
        """By Newton's method on a convex function: each step goes to about its lowest place. Raises SolverError."""
        body, celsius = self.body, self._held(self.celsius, time)
        wrong, shares = self._wrong(celsius, right, step, time)
        for _ in range(_NEWTON):
            if np.abs(wrong).sum() <= _CLOSE * self.scale:
                return celsius, shares
            slopes = [x.joule * x.slope(celsius, f) for x, f in zip(body.latents, self.shares, strict=True)]
            way = -body.factor(step, np.asarray(sum(slopes))).solve(wrong)
            far = self._lowest(celsius, way, wrong, (right, step, time))
            celsius = celsius + far * way
            wrong, shares = self._wrong(celsius, right, step, time)
        raise SolverError("the melting of the compound was not solved")

    def _wrong(
        self, celsius: FloatArray, right: FloatArray, step: float, time: float
    ) -> tuple[FloatArray, list[FloatArray]]:
        """What the free nodes leave unbalanced [J], and the molten shares."""
        shares = [x.molten(celsius, f) for x, f in zip(self.body.latents, self.shares, strict=True)]
        left = self._heat(celsius, shares) + step * self._flow(celsius, time) - right
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

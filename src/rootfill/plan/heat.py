"""Seconds of heat for the canals of a root: as long as needed, never so long that the root's surface gets too warm."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from rootfill import tables
from rootfill.heat import Content, Effort, Tip, Trials, single_wave, stepwise
from rootfill.heat.limit import GRID_S
from rootfill.plan import heat_read as read
from rootfill.plan.exits import too_warm
from rootfill.plan.frame import Frame
from rootfill.plan.heat_ways import Way, as_measured, middle_way, pace, settings_of, wall_of, ways
from rootfill.plan.model import UNMEASURED, CanalHeat, Exit
from rootfill.plan.words import listed
from rootfill.tooth.anatomy import same_root
from rootfill.tooth.notation import ToothNumber
from rootfill.tray.model import HeatedTip, Tray
from rootfill.tray.names import called
from rootfill.units import Estimate, FloatArray

MESH = Effort(refine=1, stop_mm=1.0)
BELOW_ORIFICE_MM = 0.05
"""Where a single wave begins."""
LATER = "comes with the whole plan; until then 1 s at a time, 5 s between"
ENTER_WALL = "none: enter the wall first"
MATE_UNMEASURED = f"{UNMEASURED} (another canal of the root is heated by a tip that was never measured)"


@dataclass(frozen=True, eq=False)
class ToHeat:
    """A canal to be heated: depths of the tip step by step [mm], technique, the tip (None: it was not measured)."""

    frame: Frame
    levels_mm: tuple[float, ...]
    technique: str
    tip: HeatedTip | None

    @cached_property
    def stations_mm(self) -> tuple[float, ...]:
        """Stations of the tip, step by step."""
        return tuple(self.frame.station(level) for level in self.levels_mm)

    def packing(self, heat_s: float, tip: Tip) -> Sequence[Content]:
        """What is put into the canal with so many seconds of heat at each step."""
        if self.technique == "single_wave":
            separate = tables.rule("separate_s").value
            start = self.frame.canal.length_mm - BELOW_ORIFICE_MM
            return single_wave(start, self.stations_mm[-1], heat_s, separate, tip, pace())
        return stepwise(self.stations_mm, heat_s, tip, pace())


def heatable(tray: Tray, name: str) -> HeatedTip | None:
    """The tip of this name where someone measured it, for more than an instant and not on an assumed tray."""
    tip = next(t for t in tray.heated_tips if t.name == name)
    return tip if settings_of(tip) and not tray.is_assumed(tip) else None


@dataclass(frozen=True)
class StepHeat:
    """What one step does: where the compound first changes and is mouldable ahead of the tip, how the surface warms."""

    softened: Estimate
    mouldable: Estimate
    rise: Estimate


@dataclass(frozen=True)
class Heated:
    """Where the tip goes step by step, and its seconds, the same at each.

    Without ``steps`` ``says`` is why not. Where the wall as entered allows no heat at all, ``leaving`` is the exit.
    """

    levels_mm: tuple[float, ...]
    says: str
    leaving: Exit | None = None
    setting_c: float | None = None
    heat_s: float | None = None
    stop_by_s: float | None = None
    wait_s: float | None = None
    steps: tuple[StepHeat, ...] = ()
    canal: CanalHeat | None = None


def heat_canals(canals: Sequence[ToHeat], tooth: ToothNumber) -> Mapping[str, Heated]:
    """Seconds of every canal of a tooth, each as if every other canal of its root had just been heated.

    Raises SolverError.
    """
    unmeasured = [c for c in canals if c.tip is None]
    found = {c.frame.name: Heated(c.levels_mm, UNMEASURED) for c in unmeasured}
    tried = list[_Tried]()
    for canal in canals:
        if any(same_root(tooth, canal.frame.name, other.frame.name) for other in unmeasured):
            found.setdefault(canal.frame.name, Heated(canal.levels_mm, MATE_UNMEASURED))
        else:
            tried.append(_Tried(canal, tooth))
    for one in tried:
        others = [x for x in tried if x is not one and same_root(tooth, one.name, x.name)]
        found[one.name] = one.heated(others)
    return found


class _Tried:
    """One canal in all its ways, and the setting it is heated at."""

    def __init__(self, canal: ToHeat, tooth: ToothNumber) -> None:
        self.canal, self.tooth, self.name = canal, tooth, canal.frame.name
        self.limit_c = tables.rule("surface_rise_limit_c").value / read.mesh_factor()

    @cached_property
    def setting_c(self) -> float:
        """The lowest measured setting that makes the compound about as mouldable as the best, each in its own time."""
        settings = settings_of(self._tip)
        if len(settings) == 1:
            return settings[0]
        reach = [self._reach(setting) for setting in settings]
        worth = tables.rule("heat_worth").value
        return next(s for s, ahead in zip(settings, reach, strict=True) if ahead >= worth * max(reach))

    @cached_property
    def ways(self) -> list[Way]:
        return ways(self.canal.frame, self.tooth, as_measured(self._tip, self.setting_c))

    @cached_property
    def trials(self) -> Trials:
        return Trials([way.draw for way in self.ways], self.canal.packing, MESH)

    @cached_property
    def alone_s(self) -> float:
        """The longest heating with no other canal in the root."""
        return self.trials.longest_heating_s(self.limit_c)

    @cached_property
    def left_c(self) -> FloatArray:
        """What the longest heating leaves on the surface half a minute after the last step, °C for each way."""
        if self.alone_s == 0:
            return np.zeros(len(self.ways))
        schedule = self.canal.packing(self.alone_s, self.ways[0].draw.tip)
        return np.array([read.left_c(self.trials.run(i, self.alone_s), schedule) for i in range(len(self.ways))])

    def heated(self, others: Sequence[_Tried]) -> Heated:
        """The seconds, and what comes of them."""
        words = wall_of(self.canal.frame, self.tooth)[1]
        left = np.sum([other.left_c for other in others], axis=0) if others else np.zeros(len(self.ways))
        stop_by = self.trials.longest_heating_s(self.limit_c, left) if others else self.alone_s
        if stop_by == 0:
            return self._no_heat(words, others)
        heat_s = self._enough_s(stop_by)
        runs = [self.trials.run(i, heat_s) for i in range(len(self.ways))]
        schedule = self.canal.packing(heat_s, self.ways[0].draw.tip)
        reading = read.Reading(self.canal.frame, self.canal.stations_mm, schedule, runs, self.ways, left)
        steps = tuple(
            StepHeat(reading.softened(k), reading.mouldable(k), reading.rise(k, words))
            for k in range(len(self.canal.stations_mm))
        )
        canal = reading.canal(words, tuple(other.name for other in others))
        wait = tables.rule("heat_wait_s").value
        return Heated(self.canal.levels_mm, "", None, self.setting_c, heat_s, stop_by, wait, steps, canal)

    def _no_heat(self, wall: str, others: Sequence[_Tried]) -> Heated:
        """No seconds; an exit where the wall was entered. What is merely unknown never leads to one."""
        if self.canal.frame.canal.wall is None:
            return Heated(self.canal.levels_mm, f"{ENTER_WALL} ({wall})")
        after = f" after {listed([other.name for other in others])}" if others and self.alone_s > 0 else ""
        tip = f"{called(self._tip.name, 'heated tip')} at {self.setting_c:g} °C"
        return Heated((), "", too_warm(tip, GRID_S, after, wall))

    @property
    def _tip(self) -> HeatedTip:
        assert self.canal.tip is not None
        return self.canal.tip

    def _enough_s(self, stop_by: float) -> float:
        """The shortest heating that, half-way, makes the compound about as mouldable as all the time allowed."""
        middle, low, high = self._middle(self.setting_c), 0, round(stop_by / GRID_S)
        wanted = tables.rule("heat_worth").value * self._ahead(middle, stop_by)
        while high - low > 1:
            half = (low + high) // 2
            low, high = (low, half) if self._ahead(middle, half * GRID_S) >= wanted else (half, high)
        return high * GRID_S

    def _reach(self, setting_c: float) -> float:
        """How far ahead the middle way gets mouldable at a setting in its own longest time, mm."""
        middle = self._middle(setting_c)
        longest = middle.longest_heating_s(self.limit_c)
        return self._ahead(middle, longest) if longest > 0 else 0.0

    def _middle(self, setting_c: float) -> Trials:
        way = middle_way(self.canal.frame, self.tooth, as_measured(self._tip, setting_c))
        return Trials([way.draw], self.canal.packing, MESH)

    def _ahead(self, middle: Trials, heat_s: float) -> float:
        mouldable = tables.rule("mouldable_c").value
        return middle.run(0, heat_s).softened_ahead_mm(self.canal.stations_mm[-1], mouldable)

"""What the runs of one canal say, read off with their spread: lengths, rises, the sealer, the pictures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from rootfill import tables
from rootfill.heat import Content, Gap, Rod, Source, Warming
from rootfill.heat.limit import WATCHED_S
from rootfill.plan.frame import Frame
from rootfill.plan.heat_ways import Way
from rootfill.plan.model import CanalHeat, HeatCourse, RiseAlong
from rootfill.units import Estimate, FloatArray

SOURCE = "heat.warm"
_DRAWN_STATIONS = 33
_DRAWN_TIMES = 36

_WAYS = "ways the canal may be: wall, compound, bone, contact with the tip"


@dataclass(frozen=True, eq=False)
class Reading:
    """Runs (one for each way) of a canal under one schedule, and what other canals left on the surface [°C]."""

    frame: Frame
    stations_mm: Sequence[float]
    schedule: Sequence[Content]
    runs: Sequence[Warming]
    ways: Sequence[Way]
    left_c: FloatArray

    @cached_property
    def _starts_s(self) -> list[float]:
        """When each step begins, and when the last ends."""
        hot = [x.from_s for x in self.schedule if isinstance(x, Source)]
        return [*hot[: len(self.stations_mm)], min(float(run.times_s[-1]) for run in self.runs)]

    def _steps(self, k: int) -> list[Warming]:
        return [run.between(self._starts_s[k], self._starts_s[k + 1]) for run in self.runs]

    def softened(self, k: int) -> Estimate:
        """How far ahead of the tip of step ``k`` the compound first changes, mm."""
        return self._ahead(k, [way.softens_c for way in self.ways], "softens_c")

    def mouldable(self, k: int) -> Estimate:
        """How far ahead of it the compound gets mouldable, mm."""
        return self._ahead(k, [way.mouldable_c for way in self.ways], "mouldable_c")

    def _ahead(self, k: int, thresholds: Sequence[float], key: str) -> Estimate:
        tip, rule = self.stations_mm[k], tables.rule(key)
        far = [run.softened_ahead_mm(tip, at) for run, at in zip(self._steps(k), thresholds, strict=True)]
        warm = f"{len(far)} {_WAYS}; warm to {rule.value:g} to {rule.high:g} °C"
        return _spread(np.array(far), "mm", warm)

    def rise(self, k: int, wall: str) -> Estimate:
        """Highest rise on the surface from step ``k`` to the next, °C."""
        return self._rise(np.array([run.surface_peak().rise_c for run in self._steps(k)]), wall)

    def _rise(self, rises: FloatArray, wall: str) -> Estimate:
        """The other canal counts in value and high end, the mesh in the high end."""
        alone, both = np.quantile(rises, 0.05), rises + self.left_c
        high = float(np.quantile(both, 0.95)) * mesh_factor()
        return Estimate(float(np.median(both)), float(alone), high, "°C", f"{len(rises)} {_WAYS}; {wall}", SOURCE)

    def canal(self, wall: str, left_by: tuple[str, ...]) -> CanalHeat:
        """Everything about the canal as a whole."""
        deepest, warm = self.stations_mm[-1], tables.rule("sealer_warm_c").value
        below = [run.surface_s_mm <= deepest + 1e-6 for run in self.runs]
        peaks = np.array([run.wall_c[:, at].max() for run, at in zip(self.runs, below, strict=True)])
        longest = np.array([run.wall_above_s(warm)[at].max() for run, at in zip(self.runs, below, strict=True)])
        end = np.array([run.axis_peak_c(self.frame.own_end_s_mm) or run.begins_c for run in self.runs])
        why = f"{len(self.runs)} {_WAYS}"
        return CanalHeat(
            wall=wall,
            surface_rise_c=self._rise(self._peaks, wall),
            left_by=left_by,
            end_peak_c=_spread(end, "°C", why),
            sealer_peak_c=_spread(peaks, "°C", why),
            sealer_warm_s=_spread(longest, "s", f"{why}; warmer than {warm:g} °C"),
            solid_after_s=self._solid_after(),
            along=self._along(),
            course=self._course(),
        )

    def _solid_after(self) -> Estimate:
        """Just ahead of the face of the plugger: a tenth of a millimetre below the deepest place of the tip."""
        rule, at = tables.rule("solidifies_c"), max(self.stations_mm[-1] - 0.1, 0.0)
        off = max(x.until_s for x in self.schedule if isinstance(x, Source))
        later = [run.between(off, float(run.times_s[-1])) for run in self.runs]
        after = np.array([run.warm_until_s(at, rule.value) - float(run.times_s[0]) for run in later])
        return _spread(after, "s", f"{len(after)} {_WAYS}; solid again at {rule.value:g} °C, the cooler end")

    @cached_property
    def _peaks(self) -> FloatArray:
        return np.array([run.surface_peak().rise_c for run in self.runs])

    @cached_property
    def _drawn_s_mm(self) -> FloatArray:
        even = np.linspace(0.0, self.frame.canal.length_mm, _DRAWN_STATIONS)
        return np.unique(np.round(np.concatenate((even, self.stations_mm)), 3))

    def _along(self) -> RiseAlong:
        s = self._drawn_s_mm
        rises = np.array([np.interp(s, run.surface_s_mm, run.surface_rise_c()) for run in self.runs])
        low, value = np.quantile(rises, 0.05, axis=0), np.median(rises + self.left_c[:, None], axis=0)
        high = np.quantile(rises + self.left_c[:, None], 0.95, axis=0) * mesh_factor()
        return RiseAlong(_short(s, 3), *(_short(line, 2) for line in (low, value, high)))

    def _course(self) -> HeatCourse:
        """The way in the middle by surface rise; times lie close where much changes, each change with them."""
        middle = int(np.argsort(self._peaks)[self._peaks.size // 2])
        run, s = self.runs[middle], self._drawn_s_mm
        until = self.schedule[-1].from_s + WATCHED_S[0]
        shown = np.flatnonzero(run.times_s <= until + 1e-9)
        even = shown[np.linspace(0, shown.size - 1, _DRAWN_TIMES).astype(int)]
        ends = np.searchsorted(run.times_s, [x.until_s + 1e-9 for x in self.schedule[:-1]]) - 1
        at = np.unique(np.concatenate((even, ends)))
        axis = tuple(_short(np.interp(s, run.axis_s_mm, run.axis_c[i]), 1) for i in at)
        surface = tuple(_short(np.interp(s, run.surface_s_mm, run.surface_c[i]), 2) for i in at)
        inside = [self._inside(float(run.times_s[i])) for i in at]
        what, down_to = tuple(word for word, _ in inside), tuple(round(s_mm, 3) for _, s_mm in inside)
        return HeatCourse(_short(run.times_s[at], 2), what, down_to, _short(s, 3), axis, surface)

    def _inside(self, time_s: float) -> tuple[str, float]:
        """What is in the canal at a time, in a word, and the station it reaches down to [mm]."""
        content = next((x for x in reversed(self.schedule) if x.from_s < time_s), self.schedule[0])
        match content:
            case Source():
                return "heat", float(content.tip_at(time_s))
            case Rod():
                return "push", content.tip_s_mm
            case Gap():
                return "empty", content.from_s_mm


def mesh_factor() -> float:
    """What a rise is at most, as a multiple of what the mesh of a plan reads."""
    return 1 + tables.rule("heat_mesh_share").value


def left_c(run: Warming, schedule: Sequence[Content]) -> float:
    """The most that is left on the surface half a minute after the last step or later, °C."""
    after = run.between(schedule[-1].from_s + WATCHED_S[0], float(run.times_s[-1]))
    return after.surface_peak().rise_c


def _spread(values: FloatArray, unit: str, because: str) -> Estimate:
    low, middle, high = (float(x) for x in np.quantile(values, [0.05, 0.5, 0.95]))
    return Estimate(middle, low, high, unit, because, SOURCE)


def _short(values: FloatArray, places: int) -> tuple[float, ...]:
    return tuple(round(float(v), places) for v in values)

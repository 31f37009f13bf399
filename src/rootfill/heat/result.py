"""What a run of heat says: how warm the root's surface got, how far ahead the compound softened."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from rootfill.units import FloatArray


@dataclass(frozen=True)
class Peak:
    """The largest rise [°C], its station [mm] and its time [s]."""

    rise_c: float
    s_mm: float
    time_s: float


@dataclass(frozen=True, eq=False)
class Warming:
    """Temperatures [°C] at times (t,): on the axis (t, n), and on the side of the root (t, m), by station [mm].

    At the stations of the root's surface also on the wall of the canal inside it, and on the bone outside it, which
    is the surface itself where there is no ligament.
    """

    times_s: FloatArray
    axis_s_mm: FloatArray
    axis_c: FloatArray
    surface_s_mm: FloatArray
    surface_c: FloatArray
    wall_c: FloatArray
    bone_c: FloatArray
    begins_c: float
    energy_error: float

    def between(self, from_s: float, until_s: float) -> Warming:
        """The part from one time to another, both with it. Raises ValueError where no step ends between them."""
        inside = (self.times_s >= from_s - 1e-9) & (self.times_s <= until_s + 1e-9)
        if not inside.any():
            raise ValueError("no step of the run ends in this time")
        cut = {name: getattr(self, name)[inside] for name in ("times_s", "axis_c", "surface_c", "wall_c", "bone_c")}
        return replace(self, **cut)

    def surface_peak(self) -> Peak:
        """The largest rise on the side of the root; its time, between the steps, is that of a parabola's top."""
        t, i = (int(x) for x in np.unravel_index(int(np.argmax(self.surface_c)), self.surface_c.shape))
        rise = float(self.surface_c[t, i]) - self.begins_c
        return Peak(rise, float(self.surface_s_mm[i]), _top(self.times_s, self.surface_c[:, i], t))

    def surface_rise_c(self) -> FloatArray:
        """Largest rise at each station of the surface, shape (m,), °C."""
        return np.asarray(self.surface_c.max(axis=0) - self.begins_c)

    def surface_above_s(self, rise_c: float) -> FloatArray:
        """How long each station of the surface was warmer by more than ``rise_c``, shape (m,), s."""
        return _positive_s(self.times_s, self.surface_c - self.begins_c - rise_c)

    def wall_above_s(self, celsius: float) -> FloatArray:
        """How long each station of the canal's wall was warmer than ``celsius``, shape (m,), s."""
        return _positive_s(self.times_s, self.wall_c - celsius)

    def axis_peak_c(self, s_mm: float) -> float | None:
        """Highest temperature on the axis at a station [°C]; None outside the canal, where there is no filling."""
        if not 0 <= s_mm <= float(self.surface_s_mm[-1]):
            return None
        return float(np.interp(s_mm, self.axis_s_mm, self.axis_c.max(axis=0)))

    def warm_until_s(self, s_mm: float, celsius: float) -> float:
        """When the axis at a station was last this warm, linear between the times, s; the start where it never was."""
        over = np.array([np.interp(s_mm, self.axis_s_mm, row) for row in self.axis_c]) - celsius
        warm = np.flatnonzero(over >= 0)
        if warm.size == 0:
            return float(self.times_s[0])
        i = int(warm[-1])
        if i == over.size - 1:
            return float(self.times_s[i])
        share = over[i] / (over[i] - over[i + 1])
        return float(self.times_s[i] + share * (self.times_s[i + 1] - self.times_s[i]))

    def softened_to_mm(self, from_s_mm: float, threshold_c: float) -> FloatArray:
        """Lowest station reached by ``threshold_c`` without a gap below ``from_s_mm``, at each time (t,), mm.

        Between two rows it lies where a straight line does; never below the end of the canal.
        """
        return np.array([self._softened(row, from_s_mm, threshold_c) for row in self.axis_c])

    def softened_ahead_mm(self, from_s_mm: float, threshold_c: float) -> float:
        """How far below ``from_s_mm`` everything on the axis was ``threshold_c`` warm at some time, mm."""
        return from_s_mm - self._softened(self.axis_c.max(axis=0), from_s_mm, threshold_c)

    def _softened(self, axis_c: FloatArray, from_s_mm: float, threshold_c: float) -> float:
        below = (self.axis_s_mm >= 0) & (self.axis_s_mm <= from_s_mm + 1e-9)
        return _first_cold(self.axis_s_mm[below][::-1], axis_c[below][::-1] - threshold_c)


def _positive_s(times_s: FloatArray, over: FloatArray) -> FloatArray:
    """How long each column of ``over`` (t, m) is above 0, linear between the times, s."""
    before, after, step = over[:-1], over[1:], np.diff(times_s)[:, None]
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(before * after < 0, np.maximum(before, after) / np.abs(after - before), (after > 0) * 1.0)
    return np.asarray((share * step).sum(axis=0))


def _top(times_s: FloatArray, celsius: FloatArray, t: int) -> float:
    """When the parabola through the highest value and the two beside it is highest; the value's own time at an end."""
    if t in (0, times_s.size - 1):
        return float(times_s[t])
    before, after = times_s[t] - times_s[t - 1], times_s[t + 1] - times_s[t]
    rises, falls = (celsius[t] - celsius[t - 1]) / before, (celsius[t] - celsius[t + 1]) / after
    if rises + falls == 0:
        return float(times_s[t])
    return float(times_s[t] + (rises * after - falls * before) / (rises + falls) / 2)


def _first_cold(s_mm: FloatArray, over: FloatArray) -> float:
    """Going down from the first station: where ``over`` first falls below 0."""
    cold = np.flatnonzero(over < 0)
    if cold.size == 0:
        return float(s_mm[-1])
    i = int(cold[0])
    if i == 0:
        return float(s_mm[0])
    return float(s_mm[i - 1] + (s_mm[i] - s_mm[i - 1]) * over[i - 1] / (over[i - 1] - over[i]))

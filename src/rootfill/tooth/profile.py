"""The width of a canal along its length: a narrow and a wide diameter at each station."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from rootfill import tables
from rootfill.units import FloatArray

STEP_MM = 1e-6
"""Length over which a step in diameter is drawn, so that stations stay strictly ascending."""


@dataclass(frozen=True, eq=False)
class Profile:
    """Piecewise linear diameters, ``s_mm`` from the made end (0) to the orifice.

    ``s_mm``, ``narrow_mm``, ``wide_mm`` have shape (n,), in mm, n >= 2; stations ascend strictly from 0,
    0 < narrow <= wide. Raises ValueError otherwise.
    """

    s_mm: FloatArray
    narrow_mm: FloatArray
    wide_mm: FloatArray

    def __post_init__(self) -> None:
        if self.s_mm.size < 2 or self.s_mm[0] != 0.0 or np.any(np.diff(self.s_mm) <= 0):
            raise ValueError("stations ascend from 0 and there are at least two")
        if np.any(self.narrow_mm <= 0) or np.any(self.wide_mm < self.narrow_mm - 1e-12):
            raise ValueError("every narrow width is above 0 and not above its wide width")

    @property
    def length_mm(self) -> float:
        """Made end to orifice, mm."""
        return float(self.s_mm[-1])

    @property
    def is_round(self) -> bool:
        """True where no station is wider one way than the other by more than a hundredth of a millimetre."""
        return bool(np.all(self.wide_mm - self.narrow_mm <= 0.01))

    def narrow_at(self, s_mm: float | FloatArray) -> FloatArray:
        """Narrow diameter [mm] at stations ``s_mm``; constant beyond both ends."""
        return np.asarray(np.interp(s_mm, self.s_mm, self.narrow_mm))

    def wide_at(self, s_mm: float | FloatArray) -> FloatArray:
        """Wide diameter [mm] at stations ``s_mm``; constant beyond both ends."""
        return np.asarray(np.interp(s_mm, self.s_mm, self.wide_mm))

    def apical_taper(self, over_mm: float = 4.0) -> float:
        """Mean taper [mm/mm] of the narrow width over the last millimetres."""
        top = min(over_mm, self.length_mm)
        return float(self.narrow_at(top) - self.narrow_at(0.0)) / top

    def stations(self, from_mm: float, to_mm: float) -> FloatArray:
        """Both ends and every breakpoint between them."""
        inside = self.s_mm[(self.s_mm > from_mm) & (self.s_mm < to_mm)]
        return np.concatenate(([from_mm], inside, [to_mm]))

    def volume_mm3(self, from_mm: float, to_mm: float) -> float:
        """Volume between two stations by exact frusta with elliptical ends.

        V = Σ π h/4 · [(n0 w0 + n1 w1)/3 + (n0 w1 + n1 w0)/6], exact for widths linear in s.
        """
        if to_mm <= from_mm:
            return 0.0
        s = self.stations(from_mm, to_mm)
        n, w = self.narrow_at(s), self.wide_at(s)
        mean = (n[:-1] * w[:-1] + n[1:] * w[1:]) / 3 + (n[:-1] * w[1:] + n[1:] * w[:-1]) / 6
        return float(np.sum(math.pi / 4 * np.diff(s) * mean))

    def widened(self, by_mm: float) -> Profile:
        """Every diameter ``by_mm`` wider (narrower when negative), never closed."""
        floor = 1e-3
        return Profile(self.s_mm, np.maximum(self.narrow_mm + by_mm, floor), np.maximum(self.wide_mm + by_mm, floor))


def working_part_mm() -> float:
    """Cutting length of a file [mm]; above it the shaft cuts no wider."""
    return tables.rule("file_working_part_mm").value


@dataclass(frozen=True)
class FilePass:
    """One file taken to a station: tip diameter [mm], taper [mm/mm], station of its tip [mm]."""

    tip_mm: float
    taper: float
    tip_s_mm: float

    def diameter(self, s_mm: FloatArray) -> FloatArray:
        """Diameter the file leaves at stations ``s_mm``: 0 below its tip, no wider above its working part."""
        along = np.clip(s_mm - self.tip_s_mm, 0.0, working_part_mm())
        return np.where(s_mm >= self.tip_s_mm, self.tip_mm + self.taper * along, 0.0)


def tapered(size: int, taper: float, length_mm: float) -> Profile:
    """The shape of one file: D(s) = size/100 + taper·s."""
    s = np.array([0.0, length_mm])
    d = size / 100 + taper * s
    return Profile(s, d, d)


def from_rows(rows: Sequence[Sequence[float]]) -> Profile:
    """A profile from rows of (s_mm, narrow_mm, wide_mm)."""
    s, narrow, wide = np.asarray(rows, dtype=float).T
    return Profile(s, narrow, wide)


def shaped(
    passes: Sequence[FilePass], length_mm: float, natural: Profile | None = None, flare_mm: float = 0.0
) -> Profile:
    """The larger, in each direction, of the natural canal and the envelope of the files.

    ``flare_mm`` is the extra width at the orifice; it grows linearly from nothing at the lower edge of the
    coronal third, so that the width between is never overstated.
    """

    def cuts(s: FloatArray) -> list[FloatArray]:
        flare = flare_mm * np.clip((s - length_mm * 2 / 3) / (length_mm / 3), 0.0, 1.0)
        return [p.diameter(s) + flare for p in passes]

    s = _envelope_stations(passes, length_mm, natural, cuts)
    cut = np.max(cuts(s), axis=0)
    narrow, wide = cut, cut
    if natural is not None:
        narrow, wide = np.maximum(cut, natural.narrow_at(s)), np.maximum(cut, natural.wide_at(s))
    return Profile(s, narrow, np.maximum(narrow, wide))


def _envelope_stations(
    passes: Sequence[FilePass],
    length_mm: float,
    natural: Profile | None,
    cuts: Callable[[FloatArray], list[FloatArray]],
) -> FloatArray:
    """All stations where the envelope can bend: starts, ends of working parts, crossings, natural breakpoints."""
    marks = [0.0, length_mm, length_mm * 2 / 3]
    for p in passes:
        marks += [p.tip_s_mm - STEP_MM, p.tip_s_mm, p.tip_s_mm + working_part_mm()]
    if natural is not None:
        marks += list(natural.s_mm)
    base = np.unique(np.clip(marks, 0.0, length_mm))
    curves = cuts(base)
    if natural is not None:
        curves += [natural.narrow_at(base), natural.wide_at(base)]
    crossings = [c for i, a in enumerate(curves) for b in curves[i + 1 :] for c in _crossings(base, a - b)]
    return np.unique(np.concatenate((base, crossings)))


def _crossings(s: FloatArray, gap: FloatArray) -> FloatArray:
    """Stations where a piecewise linear function changes sign inside a piece."""
    left, right = gap[:-1], gap[1:]
    change = left * right < 0
    return s[:-1][change] + np.diff(s)[change] * left[change] / (left[change] - right[change])

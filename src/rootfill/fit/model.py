"""Types shared by the fit computations."""

from __future__ import annotations

import enum
from dataclasses import dataclass

import numpy as np

from rootfill.units import FloatArray


class Verdict(enum.StrEnum):
    """Where a seated cone is held. Order is the order in which they are tested."""

    LOOSE = "loose"
    ALL_ALONG = "all_along"
    RIGHT = "right"
    WRONG_PLACE = "wrong_place"


@dataclass(frozen=True, eq=False)
class TrimmedCones:
    """An ensemble of trimmed cones: tip diameter [mm] of shape (m,), one taper [mm/mm]."""

    tip_mm: FloatArray
    taper: float


@dataclass(frozen=True, eq=False)
class Draws:
    """Dimensional errors of an ensemble, each of shape (m,), in mm of diameter."""

    file_mm: FloatArray
    cone_mm: FloatArray
    gauge_mm: FloatArray

    @property
    def size(self) -> int:
        return int(self.file_mm.size)


@dataclass(frozen=True)
class Spreads:
    """Dimensional spreads: files uniform ±, gauge holes normal SD, cones by one of three claims; mm of diameter.

    ``cone_spread``: ``measured`` is a normal SD of ``cone_mm``; ``split`` and ``flat`` are uniform ±``cone_mm``.
    """

    file_tol_mm: float
    cone_spread: str
    cone_mm: float
    gauge_sd_mm: float

    def draw(self, rng: np.random.Generator, size: int) -> Draws:
        """An ensemble of ``size`` members; the same generator state gives the same standard draws."""
        files = rng.uniform(-1.0, 1.0, size) * self.file_tol_mm
        normal, uniform = rng.standard_normal(size), rng.uniform(-1.0, 1.0, size)
        cones = (normal if self.cone_spread == "measured" else uniform) * self.cone_mm
        return Draws(files, cones, rng.standard_normal(size) * self.gauge_sd_mm)


@dataclass(frozen=True)
class Reach:
    """How deep a stiff instrument goes: stations [mm] of its tip at three wall forces, smaller = deeper."""

    s_mm: float
    """At the passive force."""
    careful_s_mm: float
    """At the low force: shallower or equal."""
    firm_s_mm: float
    """At the high force: deeper or equal."""
    first_touch_s_mm: float
    """Where a rigid rod would first touch on both sides."""

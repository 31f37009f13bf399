"""What every part of a plan shares: preferences as spreads, one ensemble of errors, findings by instrument."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from rootfill import tables
from rootfill.fit.model import Draws, Spreads
from rootfill.plan.case import Case, Finding
from rootfill.tray.model import Tray
from rootfill.units import FloatArray

ENSEMBLE = 20_000
AGREE_MM = 0.1
"""Depths this close are the same depth."""


@dataclass(frozen=True, eq=False)
class Settings:
    """The case, its tray, and one ensemble of instruments and canals used by every computation."""

    case: Case
    tray: Tray
    rng: np.random.Generator

    @cached_property
    def spreads(self) -> Spreads:
        """Dimensional spreads; the two claims on cone tolerance are uniform and read from their table per size."""
        p = self.case.preferences
        return Spreads(p.file_tol_mm, p.cone_spread, 1.0, p.gauge_sd_mm)

    @cached_property
    def _standard(self) -> tuple[Draws, FloatArray]:
        draws = self.spreads.draw(self.rng, ENSEMBLE)
        return draws, self.rng.standard_normal(ENSEMBLE) * self.case.preferences.wl_sd_mm

    @property
    def made_end_error_mm(self) -> FloatArray:
        """Error of the made end's depth about its stated value, shape (m,)."""
        return self._standard[1]

    def draws(self, cone_size: int) -> Draws:
        """The ensemble's errors for cones of one size."""
        standard = self._standard[0]
        return Draws(standard.file_mm, standard.cone_mm * self.cone_spread_mm(cone_size), standard.gauge_mm)

    def cone_spread_mm(self, cone_size: int) -> float:
        """SD of the measured spread, or half-width of the chosen claim at this size, mm of diameter."""
        p = self.case.preferences
        if p.cone_spread == "measured":
            return p.cone_sd_mm
        rows = tables.table("cone_tolerance")
        row = min(rows, key=lambda r: abs(int(r["size"]) - cone_size))
        return float(row[f"{p.cone_spread}_mm"])

    def observed(self, canal: str, instrument: str, made_end_mm: float) -> Finding | None:
        """The last finding, in the order of the file, of this instrument binding within this canal."""
        mine = (f for f in self.case.findings if f.kind == "binds" and f.canal == canal and f.instrument == instrument)
        seen = [f for f in mine if f.value_mm is not None and f.value_mm <= made_end_mm + AGREE_MM]
        return seen[-1] if seen else None

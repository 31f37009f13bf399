"""How much dentine is left around a canal."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rootfill.units import FloatArray


@dataclass(frozen=True, eq=False)
class Wall:
    """Thinnest dentine left after shaping, by station; shape (n,), mm, linear between, constant beyond."""

    s_mm: FloatArray
    wall_mm: FloatArray

    def at(self, s_mm: float | FloatArray) -> FloatArray:
        """Wall [mm] at stations."""
        return np.asarray(np.interp(s_mm, self.s_mm, self.wall_mm))

    def thinnest(self) -> tuple[float, float]:
        """Station [mm] and thickness [mm] of the thinnest place."""
        i = int(np.argmin(self.wall_mm))
        return float(self.s_mm[i]), float(self.wall_mm[i])


def remaining_wall_mm(wall_mm: FloatArray, natural_mm: FloatArray, shaped_mm: FloatArray) -> FloatArray:
    """Wall left per direction after shaping, any shape: wall − (shaped − natural)/2, all in mm.

    ``natural_mm`` and ``shaped_mm`` are diameters in that direction before and after; centred shaping assumed.
    """
    return np.asarray(wall_mm - np.maximum(shaped_mm - natural_mm, 0.0) / 2, dtype=float)

"""Latent heat of a material that melts at other temperatures than it sets."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rootfill.heat.model import Transition
from rootfill.units import FloatArray


@dataclass(frozen=True, eq=False)
class Latent:
    """Latent heat of each node [J], shape (n,), and the curves by which it melts and sets."""

    joule: FloatArray
    transition: Transition

    def molten(self, celsius: FloatArray, before: FloatArray) -> FloatArray:
        """Molten share, 0 to 1: it stays as it was ``before`` between the curves of heating and cooling."""
        return np.minimum(np.maximum(before, _ramp(celsius, *self.transition.heating_c)), self._at_most(celsius))

    def slope(self, celsius: FloatArray, before: FloatArray) -> FloatArray:
        """Change of the molten share per °C."""
        low, high = self.transition.heating_c
        melting = (before < _ramp(celsius, low, high)) & (celsius < high)
        freezes, solid = self.transition.cooling_c[1], self.transition.cooling_c[0]
        setting = (before > self._at_most(celsius)) & (celsius > solid)
        return np.where(melting, 1 / (high - low), np.where(setting, 1 / (freezes - solid), 0.0))

    def _at_most(self, celsius: FloatArray) -> FloatArray:
        return _ramp(celsius, *self.transition.cooling_c)


def _ramp(celsius: FloatArray, low: float, high: float) -> FloatArray:
    return np.clip((celsius - low) / (high - low), 0.0, 1.0)

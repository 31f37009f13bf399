"""Thermal dose as equivalent minutes at 43 °C."""

from __future__ import annotations

import numpy as np

from rootfill import tables
from rootfill.units import FloatArray

REFERENCE_C = 43.0


def cem43_min(times_s: FloatArray, celsius: FloatArray) -> FloatArray:
    """∫ R^(43 − T) dt of temperatures [°C] (t, n) at ``times_s`` (t,), in minutes, shape (n,).

    R = 0.5 above 43 °C, 0.25 below (``cem43``, from memory). NaN where the temperature passed 57 °C: beyond
    it the rule says nothing.

    >>> import numpy as np
    >>> cem43_min(np.array([0.0, 60.0]), np.full((2, 1), 47.0)).tolist()
    [16.0]
    """
    above, below = tables.rule("cem43_above").value, tables.rule("cem43_below").value
    known = np.minimum(celsius, tables.rule("cem43_valid_c").value)
    rate = np.where(known >= REFERENCE_C, above, below) ** (REFERENCE_C - known)
    dose = (np.diff(times_s)[:, None] * (rate[1:] + rate[:-1]) / 2).sum(axis=0) / 60
    return np.where(celsius.max(axis=0) > tables.rule("cem43_valid_c").value, np.nan, dose)

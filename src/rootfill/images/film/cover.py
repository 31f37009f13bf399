"""A film without its fillings: what they cover is filled from about it, so that no outline is seen in their edges."""

from __future__ import annotations

import numpy as np
from scipy import ndimage

from rootfill.images.film.model import Band
from rootfill.units import FloatArray

ROOM_MM = 0.15
"""Blur and doubt about a filling's edge."""

REACHES_MM = (0.15, 0.3, 0.6)
"""How far what is seen is spread into what is hidden, near first."""
ENOUGH = 0.3
"""Share of seen places about a hidden one from which no farther ones are needed."""


def covered(shape: tuple[int, int], bands: list[Band], step_mm: float) -> FloatArray:
    """1 where a band lies, its edge taken a little wider, else 0; the shape of the film."""
    hidden = np.zeros(shape)
    for band in bands:
        reach = float(band.width.max()) / 2 + ROOM_MM / step_mm
        low = np.maximum(np.floor(band.axis.min(axis=0) - reach).astype(int), 0)
        high = np.minimum(np.ceil(band.axis.max(axis=0) + reach).astype(int) + 1, np.array(shape[::-1]))
        if (high <= low).any():
            continue
        y, x = np.mgrid[low[1] : high[1], low[0] : high[0]]
        for point, wide in zip(band.axis, band.width, strict=True):
            near = (x - point[0]) ** 2 + (y - point[1]) ** 2 <= (wide / 2 + ROOM_MM / step_mm) ** 2
            hidden[low[1] : high[1], low[0] : high[0]][near] = 1.0
    return hidden


def uncovered(grey: FloatArray, hidden: FloatArray, step_mm: float) -> FloatArray:
    """The same film, each hidden place as grey as what is seen about it, the nearest most."""
    seen = 1.0 - hidden
    made = np.zeros(grey.shape)
    left = np.ones(grey.shape)
    for reach_mm in REACHES_MM:
        weight = ndimage.gaussian_filter(seen, reach_mm / step_mm)
        filled = ndimage.gaussian_filter(grey * seen, reach_mm / step_mm) / np.maximum(weight, 1e-6)
        use = left * np.clip(weight / ENOUGH, 0.0, 1.0)
        made += use * filled
        left -= use
    made = made / np.maximum(1.0 - left, 1e-6)
    return np.asarray(np.where(hidden > 0, made, grey))

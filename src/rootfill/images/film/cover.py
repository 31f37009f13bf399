"""Where fillings cover a film: what is bright in narrow bands, so that no outline is looked for there."""

from __future__ import annotations

import numpy as np

from rootfill.images.film.model import Band
from rootfill.units import FloatArray

ROOM_MM = 0.15
"""Blur and doubt about a filling's edge."""


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

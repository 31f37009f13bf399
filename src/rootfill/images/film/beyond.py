"""What lies beyond the radiographic apex: core apart from sealer."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from rootfill.images.film.model import Band
from rootfill.images.film.profile import across, sampled
from rootfill.units import FloatArray

Bools = NDArray[np.bool_]

FAR_MM = 4.0
BRIGHT = 0.5
"""Share of the filling's grey over its neighbours, near its end, from which a place counts as filled."""
LEAST_MM = 0.15
"""What is thinner than twice this, or stands out of the core by less, is its blur."""


def sealer_px(grey: FloatArray, band: Band, end: FloatArray, apex: FloatArray, step_mm: float) -> float:
    """How far sealer stands beyond the apex in the direction of the filling's axis [px]; 0 where none is seen.

    Sealer is what is bright, hangs together with the filling's end, and is not the core: beyond its end or beside it.
    """
    way = band.ahead
    blob = about_end(grey, band, end, step_mm)
    y, x = np.nonzero(blob)
    ahead = (x - end[0]) * way[0] + (y - end[1]) * way[1]
    past = (x - apex[0]) * way[0] + (y - apex[1]) * way[1]
    beside = np.abs((x - end[0]) * across(way)[0] + (y - end[1]) * across(way)[1])
    half = float(np.median(band.width[:8])) / 2 + LEAST_MM / step_mm
    core = (beside <= half) & (ahead <= LEAST_MM / step_mm)
    sealer = np.zeros(grey.shape, dtype=bool)
    sealer[y, x] = ~core & (past > 0)
    if not sealer.any() or ndimage.distance_transform_edt(sealer).max() * step_mm < LEAST_MM:
        return 0.0
    return float(past[~core & (past > 0)].max())


def about_end(grey: FloatArray, band: Band, end: FloatArray, step_mm: float) -> Bools:
    """What is as bright as the filling and hangs together with its end, as True; the shape of the film."""
    way, reach = band.ahead, FAR_MM / step_mm
    low = np.maximum(np.floor(end - reach).astype(int), 0)
    high = np.minimum(np.ceil(end + reach).astype(int) + 1, np.array(grey.shape[::-1]))
    y, x = np.mgrid[low[1] : high[1], low[0] : high[0]]
    window = grey[low[1] : high[1], low[0] : high[0]]
    ahead = (x - end[0]) * way[0] + (y - end[1]) * way[1]
    beside = np.abs((x - end[0]) * across(way)[0] + (y - end[1]) * across(way)[1])
    stands = float(np.median(band.contrast[2:12]))
    bone = window[(ahead > -1.0 / step_mm) & (beside > 1.5 / step_mm)]
    tooth = float(np.median(sampled(grey, band.axis[2:12]) - band.contrast[2:12]))
    base = max(tooth, float(np.median(bone)) if bone.size else 0.0)
    labels, _ = ndimage.label((window > base + BRIGHT * stands) & (ahead > -1.0 / step_mm))
    start = labels[np.hypot(x - end[0], y - end[1]) <= 0.3 / step_mm]
    names = np.unique(start[start > 0])
    whole = np.zeros(grey.shape, dtype=bool)
    whole[low[1] : high[1], low[0] : high[0]] = np.isin(labels, names) if names.size else False
    return whole

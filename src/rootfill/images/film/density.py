"""The filling laid straight: its density against what its width lets expect, voids in it, and its taper."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import ndimage

from rootfill.images.film.model import Band, FilmVoid
from rootfill.images.film.profile import sampled
from rootfill.units import FloatArray

STEP_MM = 0.05
ACROSS = np.linspace(-0.9, 0.9, 25)
"""Places across the filling, as shares of half its width."""
ENDS_MM = 0.3
"""The ends are blurred: nothing is said of voids so close to them."""
LEAST_DIP = 0.15
"""A void takes away at least this share of the filling's own grey."""
NOISE_TIMES = 4.0
LEAST_PX = 3.0
HALF_CHORD = float(np.sqrt(0.75))
"""An ellipsoid's shadow is half as deep at this share of its half width."""
NARROWING = 0.12
"""Share by which a filling may get narrower towards the crown before its taper is broken."""
OVER_MM = 1.0


@dataclass(frozen=True, eq=False)
class Laid:
    """A filling laid straight: stations ``s`` (n,) and widths (n,) in pixels, ``share`` (n, across) of its own grey

    that is there, the least dip that is told from noise.
    """

    s: FloatArray
    width: FloatArray
    share: FloatArray
    least: float

    @property
    def profile(self) -> FloatArray:
        """Share of the expected grey along the filling, (n,)."""
        return np.asarray(self.share.mean(axis=1))


def laid(grey: FloatArray, band: Band, step_mm: float) -> Laid | None:
    """The filling laid straight; None where it is too short to say anything."""
    run = band.along
    s = np.arange(ENDS_MM / step_mm, run[-1] - ENDS_MM / step_mm, STEP_MM / step_mm)
    if s.size < 20:
        return None
    width = np.interp(s, run, _steady(run, band.width))
    axis = np.column_stack([np.interp(s, run, band.axis[:, k]) for k in (0, 1)])
    way = np.gradient(axis, axis=0)
    way /= np.linalg.norm(way, axis=1)[:, None]
    side = np.column_stack((-way[:, 1], way[:, 0]))
    values = _at(grey, axis, side, ACROSS * width[:, None] / 2)
    stands = values - _neighbours(grey, axis, side, width, step_mm)
    full = _steady(s, np.percentile(stands, 80, axis=1), 2)
    if (full <= 0).any():
        return None
    share = stands / full[:, None]
    usual = np.median(share, axis=0)
    share = share - usual + 1.0
    noise = 1.4826 * float(np.median(np.abs(share - 1.0)))
    return Laid(s, width, share, max(LEAST_DIP, NOISE_TIMES * noise))


def voids(found: Laid) -> list[FilmVoid]:
    """Dark places in the filling, from its apical end on. Length and width where the shadow is half as deep."""
    dip = 1.0 - found.share
    labels, count = ndimage.label(ndimage.gaussian_filter(dip, (1, 1)) > found.least)
    made = [_void(found, dip * (labels == k)) for k in range(1, count + 1)]
    return sorted((v for v in made if min(v.length, v.width) >= LEAST_PX), key=lambda v: v.s)


def smallest_px(found: Laid) -> float:
    """Width of the smallest void that would show: as wide as deep, in a round filling."""
    return max(LEAST_PX, found.least * float(np.median(found.width)))


def taper_ok(band: Band, step_mm: float) -> bool:
    """Whether the filling never gets narrower towards the crown by more than blur and noise."""
    over = max(3, round(OVER_MM / step_mm / max(band.along[-1] / (len(band.width) - 1), 1e-9)))
    inner = band.width[2:-2] if len(band.width) > 10 else band.width
    wide = ndimage.median_filter(inner, over, mode="nearest")
    widest = np.maximum.accumulate(wide)
    return bool(((widest - wide) <= np.maximum(NARROWING * widest, 2.0)).all())


def _void(found: Laid, dip: FloatArray) -> FilmVoid:
    deep = dip > dip.max() / 2
    rows, columns = np.nonzero(deep)
    step = found.s[1] - found.s[0]
    middle = float(np.average(found.s, weights=dip.sum(axis=1)))
    cell = float(np.interp(middle, found.s, found.width)) / 2 * (ACROSS[1] - ACROSS[0])
    length = (np.ptp(rows) + 1) * step / HALF_CHORD
    width = (np.ptp(columns) + 1) * cell / HALF_CHORD
    at_edge = bool(columns.min() == 0 or columns.max() == len(ACROSS) - 1)
    return FilmVoid(middle, float(length), float(width), at_edge)


def _steady(run: FloatArray, values: FloatArray, degree: int = 3) -> FloatArray:
    """A smooth course through values, those far off it left out."""
    keep = np.ones(len(run), dtype=bool)
    fit = np.polynomial.Polynomial.fit(run, values, degree)
    for _ in range(3):
        off = values - fit(run)
        spread = 1.4826 * float(np.median(np.abs(off[keep]))) + 1e-12
        keep = np.abs(off) < 2.5 * spread
        if keep.sum() < 3 * degree:
            break
        fit = np.polynomial.Polynomial.fit(run[keep], values[keep], degree)
    return np.asarray(fit(run))


def _at(grey: FloatArray, axis: FloatArray, side: FloatArray, off: FloatArray) -> FloatArray:
    return sampled(grey, axis[:, None, :] + off[:, :, None] * side[:, None, :])


def _neighbours(grey: FloatArray, axis: FloatArray, side: FloatArray, width: FloatArray, step_mm: float) -> FloatArray:
    """Grey expected without the filling, (n, across): a straight line from one side's to the other's."""
    gaps = np.array([0.25, 0.32, 0.4]) / step_mm
    one, other = (np.median(_at(grey, axis, side, k * (width[:, None] / 2 + gaps)), axis=1) for k in (-1.0, 1.0))
    return np.asarray((one + other)[:, None] / 2 + (other - one)[:, None] / 2 * ACROSS * 0.7)

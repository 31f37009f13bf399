"""The filling, its end and the apex: as pointed at, else as found."""

from __future__ import annotations

import numpy as np
from scipy import ndimage

from rootfill.images.film.beyond import about_end
from rootfill.images.film.cover import ROOM_MM, covered, uncovered
from rootfill.images.film.follow import End, follow, smoothed, turned_apical
from rootfill.images.film.model import Band, Marks, along_px, leaving
from rootfill.images.film.outline import Tip, clearest, tip_of
from rootfill.images.film.ridges import ridges
from rootfill.units import FloatArray

LEAST_MM = 3.0
LEAST_GREY = 0.06
"""Share of the film's range of greys by which a filling stands over its neighbours at least."""
MOST = 8
SLENDER = 6.0
TAPERS = 0.008
"""What no one points at is a filling only when it is so many times longer than wide, and tapers so much per length:

edges of enamel and crowns are broad, the lines of the socket, files and posts keep their width.
"""
WIDEST_MM = 1.7
EVEN = 0.12
"""And when its width strays by no more than this share: two fillings over one another do not look like one."""
STARTS_MM = (0.0, 0.75, 1.5, 2.5, 3.0, 3.5)
SMOOTH_MM = 0.05
NEAR_MM = 2.0
"""A filling whose end or side lies further than this from where was pointed is another one."""


def bands(grey: FloatArray, step_mm: float) -> list[Band]:
    """Fillings on a film, the clearest first; none twice."""
    found: list[Band] = []
    for ridge in ridges(grey, step_mm)[:MOST]:
        if any(_far(band, ridge.place) < 0.4 / step_mm for band in found):
            continue
        band = follow(grey, ridge.place, ridge.way, step_mm)
        if band is None or band.along[-1] * step_mm < LEAST_MM:
            continue
        if float(np.median(band.contrast)) >= LEAST_GREY:
            found.append(smoothed(band))
    return found


def plausible(band: Band, step_mm: float) -> bool:
    """Whether a band has the shape of a filling."""
    run = band.along
    taper = float(np.polyfit(run, band.width, 1)[0])
    off = band.width - np.polynomial.Polynomial.fit(run, band.width, 2)(run)
    even = float(np.std(off)) <= EVEN * float(np.mean(band.width))
    even &= float(np.median(band.width)) * step_mm <= WIDEST_MM
    return bool(even and run[-1] >= SLENDER * float(np.median(band.width)) and abs(taper) >= TAPERS)


def chosen(found: list[Band], marks: Marks, step_mm: float) -> Band | None:
    """The filling that is pointed at, else the clearest of a filling's shape; its apical end first."""
    pointed = [p for p in (marks.end, None if marks.canal is None else marks.canal[0]) if p is not None]
    if pointed:
        found = [b for b in found if _far(b, pointed[0]) * step_mm < NEAR_MM]
        found.sort(key=lambda b: _far(b, pointed[0]))
        return _apical_first(found[0], marks) if found else None
    found = [b for b in found if plausible(b, step_mm)]
    if marks.apex is not None:
        apex = marks.apex
        found = sorted(found, key=lambda b: min(np.linalg.norm(b.axis[k] - apex) for k in (0, -1)))
    return _apical_first(found[0], marks) if found else None


def _apical_first(band: Band, marks: Marks) -> Band:
    """By what is pointed at; else its narrower end is the apical one."""
    near = marks.end if marks.end is not None else marks.apex
    if near is None and marks.canal is not None:
        near = marks.canal[0]
    if near is not None:
        return turned_apical(band, _first_nearer(band, near))
    if marks.reference is not None:
        return turned_apical(band, not _first_nearer(band, marks.reference))
    third = max(1, len(band.width) // 3)
    return turned_apical(band, bool(band.width[:third].mean() <= band.width[-third:].mean()))


def tip_place(grey: FloatArray, found: list[Band], band: Band, end: End, step_mm: float) -> Tip | None:
    """The tip of the root about a filling's end, from whichever place inside shows it most clearly."""
    hidden = covered((grey.shape[0], grey.shape[1]), found, step_mm)
    if end.hidden:
        room = max(1, round(ROOM_MM / step_mm))
        hidden[ndimage.binary_dilation(about_end(grey, band, end.place, step_mm), iterations=room)] = 1.0
    soft = ndimage.gaussian_filter(uncovered(grey, hidden, step_mm), SMOOTH_MM / step_mm)
    way = leaving(band.axis, min(0.5, 3.0 / step_mm / band.along[-1]))
    tips = [tip_of(soft, end.place - way * back / step_mm, way, step_mm) for back in STARTS_MM]
    seen = [t for t in tips if t is not None]
    return clearest(seen, step_mm)


def trimmed(band: Band, end: FloatArray) -> Band:
    """The band from its end on: what was followed past it is left out, and the axis begins there."""
    keep = (band.axis - end) @ band.ahead < -0.5
    if keep.sum() < 5:
        return band
    first = int(np.argmax(keep))
    axis = np.concatenate((end[None], band.axis[first:]))
    width = np.concatenate((band.width[first : first + 1], band.width[first:]))
    return Band(axis, width, np.concatenate((band.contrast[first : first + 1], band.contrast[first:])))


def gap_px(end: FloatArray, apex: FloatArray, axis: FloatArray | None) -> float:
    """How far the end stays short of the apex [px]; negative beyond it.

    Along the axis (n, 2) of canal or filling, apical end first, run on straight past it: from the end to the place
    on it nearest to the apex. Without an axis straight, and never negative.
    """
    if axis is None or len(axis) < 2:
        return float(np.linalg.norm(apex - end))
    ahead = leaving(axis)
    length = float(along_px(axis)[-1])
    tail = axis[0] + ahead * np.linspace(2 * length, 1.0, 400)[:, None]
    line = np.concatenate((tail, axis))
    run = along_px(line)
    return float(_foot(line, run, end) - _foot(line, run, apex))


def _foot(line: FloatArray, run: FloatArray, point: FloatArray) -> float:
    """Distance along a line of its place nearest to a point."""
    a, b = line[:-1], line[1:]
    step = b - a
    share = np.clip(((point - a) * step).sum(axis=1) / np.maximum((step**2).sum(axis=1), 1e-12), 0, 1)
    near = np.linalg.norm(a + share[:, None] * step - point, axis=1)
    k = int(np.argmin(near))
    return float(run[k] + share[k] * (run[k + 1] - run[k]))


def _far(band: Band, point: FloatArray) -> float:
    return float(np.linalg.norm(band.axis - point, axis=1).min())


def _first_nearer(band: Band, point: FloatArray) -> bool:
    return bool(np.linalg.norm(band.axis[0] - point) <= np.linalg.norm(band.axis[-1] - point))

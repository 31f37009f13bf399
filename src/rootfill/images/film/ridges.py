"""Where a filling may lie: narrow bright bands between tissue of one and the same grey on both sides."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import ndimage

from rootfill.images.film.profile import sampled
from rootfill.units import FloatArray

COARSE_MM = 0.1
GAPS_MM = (0.35, 0.6, 0.9, 1.3)
"""Half the distance between the two neighbours that a band is compared with: fillings are 0.3 to 2 mm wide."""
TURNS = 12
ALONG_MM = 0.5
LEAST_MM = 2.5
"""A band shorter than this is no filling."""
LOW = 0.35
"""Share of the strongest band down to which a band goes on."""
METAL = 0.25
"""Share of the range of greys: what stands out more is metal or the edge of a crown, and no measure for a filling."""


@dataclass(frozen=True, eq=False)
class Ridge:
    """A band: its strongest place [px], the direction along it there, its length [px], how strong it is in all."""

    place: FloatArray
    way: FloatArray
    length: float
    weight: float
    low: FloatArray
    high: FloatArray


def ridges(grey: FloatArray, step_mm: float) -> list[Ridge]:
    """Bands of a film, the strongest first. ``grey`` rises with density; ``step_mm`` is only a guide to widths."""
    shrink = max(1, round(COARSE_MM / step_mm))
    small = ndimage.gaussian_filter(grey, shrink / 2)[shrink // 2 :: shrink, shrink // 2 :: shrink]
    strength, turn = _bands(small, step_mm * shrink)
    top = min(float(strength.max(initial=0.0)), METAL)
    if top <= 0:
        return []
    labels, count = ndimage.label(strength > LOW * top, np.ones((3, 3)))
    found = [_ridge(strength, turn, labels == k, shrink) for k in range(1, count + 1)]
    long = [r for r in found if r.length * step_mm >= LEAST_MM]
    return sorted(long, key=lambda r: -r.weight)


def _bands(small: FloatArray, step_mm: float) -> tuple[FloatArray, FloatArray]:
    """How far each place stands above both neighbours, less how far these differ; and the turn at which it does."""
    best = np.zeros(small.shape)
    turn = np.zeros(small.shape)
    y, x = np.mgrid[: small.shape[0], : small.shape[1]].astype(float)
    for angle in np.arange(TURNS) * np.pi / TURNS:
        along = np.array([np.cos(angle), np.sin(angle)])
        steps = np.arange(-2, 3) * (ALONG_MM / 2 / step_mm)
        line = np.mean([sampled(small, np.stack((x + s * along[0], y + s * along[1]), -1)) for s in steps], axis=0)
        for gap in GAPS_MM:
            off = gap / step_mm * np.array([-along[1], along[0]])
            one = sampled(line, np.stack((x + off[0], y + off[1]), -1))
            other = sampled(line, np.stack((x - off[0], y - off[1]), -1))
            stands = line - np.maximum(one, other) - np.abs(one - other)
            turn = np.where(stands > best, angle, turn)
            best = np.maximum(best, stands)
    return best, turn


def _ridge(strength: FloatArray, turn: FloatArray, here: FloatArray, shrink: int) -> Ridge:
    y, x = np.nonzero(here)
    worth = strength[y, x]
    at = int(np.argmax(worth))
    points = np.column_stack((x, y)).astype(float)
    centred = points - points.mean(axis=0)
    _, _, axes = np.linalg.svd(centred, full_matrices=False) if len(points) > 2 else (0, 0, np.eye(2))
    run = centred @ axes[0]
    length = float(np.ptp(run)) * shrink
    wide = max(1.0, len(points) / (np.ptp(run) + 1))
    angle = turn[y[at], x[at]]
    place = points[at] * shrink + shrink // 2
    ends = [points[int(np.argmin(run))] * shrink, points[int(np.argmax(run))] * shrink]
    weight = float(worth.sum()) / wide
    return Ridge(place, np.array([np.cos(angle), np.sin(angle)]), length, weight, ends[0], ends[1])

"""Grey levels from the histogram: what is hard, what is not, and where the edge between them runs."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rootfill.errors import InputRefused, Said
from rootfill.images.model import Grey
from rootfill.units import FloatArray

BINS = 512


@dataclass(frozen=True)
class Greys:
    """Grey of dentine, and grey of what is not hard beside it."""

    hard: float
    soft: float

    @property
    def threshold(self) -> float:
        """Half-way: where the edge of a body lies that the scanner has blurred."""
        return self.between(0.5)

    @property
    def contrast(self) -> float:
        """Grey of dentine less grey of what is not hard; positive."""
        return self.hard - self.soft

    def between(self, share: float) -> float:
        """Grey at ``share`` of the way from soft (0) to hard (1)."""
        return self.soft + share * self.contrast


def greys_of(values: Grey) -> Greys:
    """Levels of a picture that holds hard tissue, from its histogram.

    Two classes by Otsu's criterion, first of all, then of each class once more its larger half's middle; the
    brightest and darkest half percent, metal and air in a corner, have no say. Raises InputRefused where there is
    nothing to part.
    """
    grey = _sample(values)
    low, high = np.percentile(grey, (0.5, 99.5))
    if not high > low:
        raise InputRefused("the scan", Said("of one grey where a tooth is looked for"), "choose one that holds a tooth")
    kept = grey[(grey >= low) & (grey <= high)]
    cut = _otsu(kept, float(low), float(high))
    return Greys(hard=_peak(kept[kept > cut]), soft=_peak(kept[kept <= cut]))


def _sample(values: Grey, most: int = 1_000_000) -> FloatArray:
    """About ``most`` values, evenly spread."""
    stride = max(1, int(np.ceil((values.size / most) ** (1 / 3))))
    return np.asarray(values[::stride, ::stride, ::stride], dtype=float).ravel()


def _otsu(grey: FloatArray, low: float, high: float) -> float:
    """The cut that leaves two classes with the largest spread between them (Otsu 1979)."""
    counts, edges = np.histogram(grey, BINS, (low, high))
    centres = (edges[:-1] + edges[1:]) / 2
    below = np.cumsum(counts)[:-1].astype(float)
    above = counts.sum() - below
    moment = np.cumsum(counts * centres)
    spread = (moment[-1] * below - moment[:-1] * (below + above)) ** 2 / np.maximum(below * above, 1e-12)
    return float(edges[1 + int(np.argmax(spread))])


def _peak(grey: FloatArray) -> float:
    """The most frequent grey of one class: middle of its shortest half (a mode that noise does not shift)."""
    ordered = np.sort(grey)
    half = max(1, ordered.size // 2)
    widths = ordered[half:] - ordered[: ordered.size - half]
    if not widths.size:
        return float(ordered.mean())
    start = int(np.argmin(widths))
    return float(np.median(ordered[start : start + half + 1]))

"""Grey levels: of what is empty, of dentine, of what is brighter."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rootfill.errors import InputRefused, Said
from rootfill.units import FloatArray

LOOKED_AT = 400_000
BINS = 256


@dataclass(frozen=True)
class Levels:
    """Grey of the empty canal and of dentine. Raises ValueError unless dentine is the brighter."""

    air: float
    dentine: float

    def __post_init__(self) -> None:
        if not self.air < self.dentine:
            raise ValueError(f"dentine at {self.dentine} is no brighter than the canal at {self.air}")

    @property
    def edge(self) -> float:
        """Half way between."""
        return (self.air + self.dentine) / 2


def sample(values: NDArray[Any], most: int = LOOKED_AT) -> FloatArray:
    """Every so-many-th grey value, as numbers."""
    flat = values.reshape(-1)
    return np.asarray(flat[:: max(1, flat.size // most) | 1], dtype=float)


def split(greys: FloatArray) -> float:
    """The threshold that parts greys into two classes of the least spread within (Otsu 1979)."""
    counts, edges = np.histogram(greys, BINS)
    middle = (edges[1:] + edges[:-1]) / 2
    below = np.cumsum(counts)[:-1].astype(float)
    above = below[-1] + counts[-1] - below
    mass = np.cumsum(counts * middle)
    low = mass[:-1] / np.maximum(below, 1)
    high = (mass[-1] - mass[:-1]) / np.maximum(above, 1)
    between = below * above * (high - low) ** 2
    best = np.flatnonzero(between >= between.max() * (1 - 1e-9))
    return float(edges[1:-1][best].mean())


def levels_of(values: NDArray[Any], which: str) -> Levels:
    """Levels of a scan, first look: the two classes of its greys, what is far brighter left out. InputRefused."""
    greys = sample(values)
    low, high = np.percentile(greys, (0.1, 99.9))
    if not low < high:
        raise InputRefused(which, Said("of one grey"), "give a scan that shows dentine and canal")
    for _ in range(3):
        edge = split(greys[(greys >= low) & (greys <= high)])
        dark, hard = greys[greys <= edge], greys[greys > edge]
        air, dentine = float(np.median(dark)), float(np.median(hard))
        if not air < dentine:
            raise InputRefused(which, Said("without dentine apart from the dark"), "give a scan that shows both")
        high = min(high, dentine + 0.6 * (dentine - air))
    return Levels(air, dentine)

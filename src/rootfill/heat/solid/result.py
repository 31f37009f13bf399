"""What a run in three dimensions says, and where among the voxels it is read off."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rootfill.heat.solid.build import Voxels
from rootfill.heat.solid.kernel import Field
from rootfill.heat.solid.model import Root
from rootfill.units import FloatArray

_AROUND = 72


@dataclass(frozen=True, eq=False)
class SolidWarming:
    """At times (t,): temperature of each canal's axis (t, canals, n), °C, by station; of the root's surface the rise.

    ``surface_rise_c`` (t, n) is the largest around the root at each station.
    """

    times_s: FloatArray
    s_mm: FloatArray
    axis_c: FloatArray
    surface_rise_c: FloatArray

    def surface_peak_c(self) -> float:
        """Largest rise on the side of the root, °C."""
        return float(self.surface_rise_c.max())

    def axis_peak_c(self, s_mm: float, canal: int = 0) -> float:
        """Highest temperature on a canal's axis at a station, °C."""
        return float(np.interp(s_mm, self.s_mm, self.axis_c[:, canal].max(axis=0)))


@dataclass(frozen=True, eq=False)
class Watch:
    """Points in layers of voxels, shape (n, layers), by the nine voxels about each in its layer."""

    flat: NDArray[np.intp]
    weight: FloatArray

    def __call__(self, celsius: Field) -> FloatArray:
        """Values at the points."""
        return np.asarray((celsius.ravel()[self.flat] * self.weight).sum(axis=0))


def stations(voxels: Voxels, root: Root) -> tuple[NDArray[np.intp], FloatArray]:
    """Layers between the root's ends, and their stations."""
    s = voxels.along(0)
    found = np.flatnonzero((s > 0) & (s < root.length_mm))
    return found, s[found]


def axes(voxels: Voxels, root: Root) -> Watch:
    """The axis of every canal."""
    layers, s = stations(voxels, root)
    x = np.array([[c.x_mm] for c in root.canals]) + 0 * s
    return _watch(voxels, layers, x, np.array([[c.y_mm] for c in root.canals]) + 0 * s)


def surface(voxels: Voxels, root: Root) -> Watch:
    """Rings on the side of the root, from two within it and two around it: as much arrives there as leaves."""
    layers, s = stations(voxels, root)
    _, dentine, around, _ = root.materials.layers
    total, angle = 3 * (dentine.k_w_mk + around.k_w_mk), 2 * np.pi * np.arange(_AROUND)[:, None] / _AROUND
    rings = list[Watch]()
    for side, k in ((-1, dentine.k_w_mk), (1, around.k_w_mk)):
        for far, weight in ((1, 4 * k / total), (2, -k / total)):
            r = root.radius(s) + side * far * voxels.spacing_mm
            ring = _watch(voxels, layers, r * np.cos(angle), r * np.sin(angle))
            rings.append(Watch(ring.flat, weight * ring.weight))
    return Watch(np.concatenate([x.flat for x in rings]), np.concatenate([x.weight for x in rings]))


def _watch(voxels: Voxels, layers: NDArray[np.intp], x_mm: FloatArray, y_mm: FloatArray) -> Watch:
    """By parabolas through three voxels in either direction."""
    _, rows, columns = voxels.resist.shape
    sides = list[tuple[NDArray[np.intp], list[FloatArray]]]()
    for centre, axis in ((y_mm, 1), (x_mm, 2)):
        at = (centre - voxels.start_mm[axis]) / voxels.spacing_mm
        nearest = np.rint(at).astype(np.intp)
        d = at - nearest
        sides.append((nearest, [d * (d - 1) / 2, 1 - d * d, d * (d + 1) / 2]))
    (y, wy), (x, wx) = sides
    flat = [(layers * rows + y + i) * columns + x + j for i in (-1, 0, 1) for j in (-1, 0, 1)]
    return Watch(np.array(flat), np.array([wy[i] * wx[j] for i in range(3) for j in range(3)]))

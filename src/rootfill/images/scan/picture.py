"""A scan asked for its grey at any point in mm, and slices across any line through it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import ndimage

from rootfill.images.model import Grey
from rootfill.units import FloatArray


@dataclass(frozen=True, eq=False)
class Picture:
    """Grey values (z, y, x) and the size of a voxel along x, y, z [mm]; point 0 is the first voxel's centre."""

    values: Grey
    step_mm: FloatArray

    def at(self, points_mm: FloatArray) -> FloatArray:
        """Grey at points of shape (..., 3) [mm], linear between voxels; outside, as at the border."""
        index = np.moveaxis(np.asarray(points_mm) / self.step_mm, -1, 0)[::-1]
        return np.asarray(ndimage.map_coordinates(self.values, index, output=float, order=1, mode="nearest"))

    @property
    def finest_mm(self) -> float:
        """The smallest side of a voxel [mm]."""
        return float(self.step_mm.min())

    @property
    def coarsest_mm(self) -> float:
        """The largest side of a voxel [mm]."""
        return float(self.step_mm.max())


def frames(points_mm: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Tangent and two normals at each point of a line of shape (n, 3), n >= 2, turned as little as possible along it.

    The normals are carried over by the double reflection of Wang, Jüttler, Zheng and Liu (2008).
    """
    tangent = np.gradient(points_mm, axis=0)
    tangent /= np.linalg.norm(tangent, axis=1)[:, None]
    start = np.eye(3)[int(np.argmin(np.abs(tangent[0])))]
    first = np.empty_like(tangent)
    first[0] = start - tangent[0] * (start @ tangent[0])
    first[0] /= np.linalg.norm(first[0])
    for i in range(len(points_mm) - 1):
        first[i + 1] = _reflected_twice(points_mm[i + 1] - points_mm[i], first[i], tangent[i], tangent[i + 1])
    return tangent, first, np.cross(tangent, first)


def _reflected_twice(step: FloatArray, normal: FloatArray, before: FloatArray, after: FloatArray) -> FloatArray:
    normal = normal - 2 * step * (step @ normal) / (step @ step)
    turned = before - 2 * step * (step @ before) / (step @ step)
    back = after - turned
    length = back @ back
    return np.asarray(normal - 2 * back * (back @ normal) / length if length > 1e-18 else normal)

"""Plain roots for tests: an oval rod of dentine with a tapered canal, filled with voids of known size, as scans."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import ndimage

from rootfill.images import NO_SCALE, Scale, Trust, Volume
from rootfill.units import FloatArray

VOXEL = 0.02
FINE = 2
AIR, DENTINE, CORE = -0.6, 1.0, 2.6
LENGTH = 2.4
"""Of the root [mm]; the canal runs through all of it, the narrow end at z = 0."""


@dataclass(frozen=True)
class Root:
    """Radii of the canal at its end [mm], its taper, where it is filled, voids as rows x, y, z, radius [mm]."""

    end: float = 0.15
    taper: float = 0.06
    outside: tuple[float, float] = (0.5, 0.62)
    filled: tuple[float, float] = (0.3, 2.2)
    voids: tuple[tuple[float, float, float, float], ...] = ((0.0, 0.0, 1.0, 0.08), (0.2, 0.0, 1.7, 0.1))
    beyond: float = 0.0

    def canal(self, points: FloatArray) -> np.ndarray:
        """Whether points (3, …) lie in the canal."""
        x, y, z = points
        return np.asarray((np.hypot(x, y) < self.end + self.taper * z / 2) & (z > 0) & (z < LENGTH))

    def void(self, points: FloatArray) -> np.ndarray:
        """Whether points lie in a void of the filling."""
        inside: np.ndarray = np.zeros(points.shape[1:], dtype=bool)
        for x, y, z, r in self.voids:
            inside |= ((points - np.array([x, y, z]).reshape(3, *[1] * (points.ndim - 1))) ** 2).sum(axis=0) < r * r
        z = points[2]
        return np.asarray(inside & self.canal(points) & (z > self.filled[0]) & (z < self.filled[1]))

    def grey(self, points: FloatArray, full: bool) -> FloatArray:
        """Attenuation at points."""
        x, y, z = points
        inside = ((x / self.outside[0]) ** 2 + (y / self.outside[1]) ** 2 < 1) & (z > 0) & (z < LENGTH)
        canal = self.canal(points)
        out = np.where(inside & ~canal, DENTINE, AIR)
        if full:
            core = canal & (z > self.filled[0]) & (z < self.filled[1]) & ~self.void(points)
            core |= (np.hypot(x, y) < self.end) & (z <= 0) & (z > -self.beyond)
            out = np.where(core, CORE, out)
        return np.asarray(out)


PLAIN = Root()


def turn(angle_deg: float, axis: tuple[float, float, float]) -> FloatArray:
    """The rotation (3, 3) by an angle about an axis."""
    x, y, z = np.array(axis) / np.linalg.norm(axis)
    skew = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    angle = np.radians(angle_deg)
    return np.asarray(np.eye(3) + np.sin(angle) * skew + (1 - np.cos(angle)) * skew @ skew)


def scan(
    root: Root,
    full: bool,
    turned: FloatArray | None = None,
    shift: tuple[float, float, float] = (0.0, 0.0, 0.0),
    *,
    half: tuple[float, float, float] = (0.72, 0.78, 1.5),
    voxel: float = VOXEL,
    slope: float = 8000.0,
    noise: float = 0.04,
    known: bool = True,
    seed: int = 1,
) -> Volume:
    """The root as a scan: half sides of the box [mm] about its middle, blurred over 1.5 voxels, noisy."""
    sides = [np.arange(2 * round(h / voxel) * FINE) for h in half]
    x, y, z = ((side + 0.5) * voxel / FINE - h for side, h in zip(sides, half, strict=True))
    to_root = np.eye(3) if turned is None else turned.T
    slabs = []
    for k in range(0, z.size, FINE):
        at = np.stack(np.meshgrid(z[k : k + FINE], y, x, indexing="ij")[::-1]) - np.array(shift).reshape(3, 1, 1, 1)
        points = np.tensordot(to_root, at, axes=1) + np.array([0, 0, LENGTH / 2]).reshape(3, 1, 1, 1)
        fine = root.grey(points, full)
        slabs.append(fine.reshape(1, FINE, y.size // FINE, FINE, x.size // FINE, FINE).mean(axis=(1, 3, 5)))
    values = ndimage.gaussian_filter(np.concatenate(slabs), 0.64)
    values = values + np.random.default_rng(seed).normal(scale=noise, size=values.shape)
    grey = np.clip(9000 + slope * values, 0, 65535).astype(np.uint16)
    return Volume(grey, Scale((voxel,) * 3, Trust.PATIENT) if known else NO_SCALE)


def truth(root: Root) -> float:
    """Voids of the canal, percent, counted on a fine grid."""
    step = 0.01
    side = np.arange(-0.3 + step / 2, 0.3, step)
    points = np.stack(np.meshgrid(side, side, np.arange(step / 2, LENGTH, step), indexing="ij"))
    return 100 * float(root.void(points).sum() / root.canal(points).sum())

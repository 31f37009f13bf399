"""Plain teeth for tests: a rod of dentine with round canals along given lines, a chamber on top, blurred and noisy."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import ndimage
from scipy.spatial import cKDTree

from rootfill.images import NO_SCALE, Scale, Trust, Volume
from rootfill.units import FloatArray

SIZE = np.array([9.0, 9.0, 15.0])
FLOOR = 11.0
"""Height of the chamber's floor above the bottom of the box [mm]."""

APEX = 1.5
HARD, SOFT = 1800.0, 200.0


@dataclass(frozen=True)
class Canal:
    """A canal along a line (n, 3) in mm from its end up, its diameter at every point, wide over narrow along y."""

    line_mm: FloatArray
    across_mm: FloatArray
    oval: float = 1.0

    @property
    def length_mm(self) -> float:
        """Length above the bottom of the root."""
        line = self.line_mm[self.line_mm[:, 2] >= APEX]
        return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())


def straight(x: float = 0.0, y: float = 0.0, d0: float = 0.4, taper: float = 0.04, oval: float = 1.0) -> Canal:
    """From the bottom of the root to the chamber's floor, beside the middle by x and y."""
    z = np.linspace(APEX - 0.5, FLOOR, 400)
    line = np.stack([np.full_like(z, SIZE[0] / 2 + x), np.full_like(z, SIZE[1] / 2 + y), z], axis=1)
    return Canal(line, d0 + taper * np.maximum(z - APEX, 0.0), oval)


def bent(angle_deg: float, d0: float = 0.4, taper: float = 0.04) -> Canal:
    """Straight at first, then an arc of this central angle and 8 mm length, tangent to the chamber's axis."""
    radius = 8.0 / np.radians(angle_deg)
    turn = np.linspace(np.radians(angle_deg), 0.0, 400)
    x, z = radius * (1 - np.cos(turn)), FLOOR - radius * np.sin(turn)
    down = np.linspace(z[0] - APEX + 0.5, 0.0, 50)[:-1]
    x = np.concatenate((x[0] + down * np.tan(turn[0]), x))
    z = np.concatenate((z[0] - down, z))
    line = np.stack([SIZE[0] / 2 + x - 1.0, np.full_like(z, SIZE[1] / 2), z], axis=1)
    s = np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))))
    return Canal(line, d0 + taper * s)


def joined(at_mm: float = 4.0, apart_mm: float = 1.6, d0: float = 0.45) -> tuple[Canal, ...]:
    """Two canals that become one ``at_mm`` above the bottom of the root."""
    z = np.linspace(APEX - 0.5, FLOOR, 600)
    y = apart_mm / 2 * np.clip((z - APEX - at_mm) / 3.0, 0.0, 1.0)
    lines = [np.stack([np.full_like(z, SIZE[0] / 2), SIZE[1] / 2 + side * y, z], axis=1) for side in (-1, 1)]
    return tuple(Canal(line, d0 + 0.02 * (z - APEX)) for line in lines)


def painted(
    canals: tuple[Canal, ...],
    voxel_mm: tuple[float, float, float] = (0.2, 0.2, 0.2),
    *,
    follow: Canal | None = None,
    noise: float = 0.03,
    blur: float = 0.7,
    chamber: bool = True,
    roots: int = 1,
    seed: int = 1,
    known: bool = True,
) -> Volume:
    """The tooth as a scan: dentine HARD, all else SOFT; blur in voxels, noise as a share of the contrast."""
    step, fine = np.array(voxel_mm), 3
    count = np.round(SIZE / step).astype(int)
    x, y, z = ((np.arange(n * fine) + 0.5) * s / fine for n, s in zip(count, step, strict=True))
    out = np.empty(count[::-1], dtype=np.float32)
    xx, yy = np.meshgrid(x, y, indexing="xy")
    for k in range(count[2]):
        slabs = [_slice(canals, follow, chamber, roots, xx, yy, height) for height in z[k * fine : (k + 1) * fine]]
        out[k] = np.mean(slabs, axis=0).reshape(count[1], fine, count[0], fine).mean(axis=(1, 3))
    grey = ndimage.gaussian_filter(out, blur) + np.random.default_rng(seed).normal(0, noise, out.shape)
    scale = Scale((float(step[0]), float(step[1]), float(step[2])), Trust.PATIENT) if known else NO_SCALE
    return Volume(np.round(SOFT + (HARD - SOFT) * grey).astype(np.int16), scale)


def _slice(
    canals: tuple[Canal, ...], follow: Canal | None, chamber: bool, roots: int, x: FloatArray, y: FloatArray, z: float
) -> FloatArray:
    """Share of dentine at one height: 1 or 0."""
    middle = SIZE[:2] / 2
    centres = [middle]
    if follow is not None:
        centres = [np.array([np.interp(z, follow.line_mm[:, 2], follow.line_mm[:, i]) for i in range(2)])]
    if roots == 2 and z < FLOOR - 3.0:
        centres = [middle - np.array([0, 2.0]), middle + np.array([0, 2.0])]
    rod = 2.6 if roots == 1 else (1.5 if z < FLOOR - 3.0 else 3.8)
    hard = np.zeros(x.shape, dtype=bool)
    for cx, cy in centres:
        hard |= np.hypot(x - cx, y - cy) < rod
    hard &= APEX < z < SIZE[2] - 1.0
    for canal in canals:
        at = np.array([np.interp(z, canal.line_mm[:, 2], canal.line_mm[:, i]) for i in range(2)])
        if z < canal.line_mm[0, 2] or (z > FLOOR + 0.01 and chamber):
            continue
        slope = np.gradient(canal.line_mm[:, 0], canal.line_mm[:, 2])
        lean = np.cos(np.arctan(np.interp(z, canal.line_mm[:, 2], slope)))
        r = np.interp(z, canal.line_mm[:, 2], canal.across_mm) / 2
        hard &= np.hypot((x - at[0]) * lean, (y - at[1]) / canal.oval) >= r
    if chamber and FLOOR <= z < FLOOR + 2.0:
        hard &= np.hypot(x - middle[0], y - middle[1]) >= 1.8
    return hard.astype(np.float32)


def index_of(point_mm: FloatArray, volume: Volume) -> FloatArray:
    """Voxel index of a point in mm from the corner of the box."""
    return np.asarray(point_mm / np.array(volume.step_mm) - 0.5)


def nearest(canal: Canal, points: FloatArray) -> FloatArray:
    """Distance of points (n, 3) from a canal's line [mm]."""
    away, _ = cKDTree(canal.line_mm).query(points)
    return np.asarray(away)

"""From a canal outwards: the dentine about it by direction, and from its edge the scanner's blur."""

from __future__ import annotations

import numpy as np

from rootfill.images.scan.course import Look
from rootfill.images.scan.picture import frames
from rootfill.units import FloatArray

DIRECTIONS = 24
FURTHEST_MM = 7.0
"""How far out an outer surface is looked for [mm]."""


def rays(
    look: Look, points_mm: FloatArray, turn: FloatArray, reach_mm: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Share of hard tissue along rays across a line, the distances out, and the rays' directions.

    Shapes (n, directions, m), (m,), (n, directions, 3). The first direction lies ``turn`` (n,) from the first normal.
    """
    _, u, v = frames(points_mm)
    angle = turn[:, None] + np.linspace(0, 2 * np.pi, DIRECTIONS, endpoint=False)
    out = np.cos(angle)[..., None] * u[:, None] + np.sin(angle)[..., None] * v[:, None]
    r = np.arange(0.0, reach_mm, look.picture.finest_mm / 2)
    grey = np.stack([look.picture.at(p + r[None, :, None] * d[:, None]) for p, d in zip(points_mm, out, strict=True)])
    return (grey - look.greys.soft) / look.greys.contrast, r, out


def edges(narrow_mm: FloatArray, wide_mm: FloatArray) -> FloatArray:
    """Distance from the middle of ellipses to their edge in each direction, shape (n, directions) [mm]."""
    angle = np.linspace(0, 2 * np.pi, DIRECTIONS, endpoint=False)
    a, b = wide_mm[:, None] / 2, narrow_mm[:, None] / 2
    return np.asarray(a * b / np.maximum(np.hypot(b * np.cos(angle), a * np.sin(angle)), 1e-9))


def surfaces(hard: FloatArray, r: FloatArray, edge: FloatArray, blur_mm: float) -> FloatArray:
    """Distance at which each ray leaves the tooth, shape (n, directions); NaN where it does not.

    The surface lies half-way between hard and what follows within four times the blur, be it air or a thin ligament
    before the bone.
    """
    n, directions, _ = hard.shape
    found = np.full((n, directions), np.nan)
    window = max(2, int(np.ceil(4 * blur_mm / (r[1] - r[0]))))
    for i in range(n):
        for j in range(directions):
            found[i, j] = _leaves(hard[i, j], r, edge[i, j] + 1.5 * blur_mm, window)
    return found


def _leaves(hard: FloatArray, r: FloatArray, start: float, window: int) -> float:
    begin = int(np.searchsorted(r, start))
    begin += int(np.argmax(hard[begin:] > 0.7)) if (hard[begin:] > 0.7).any() else 0
    below = np.flatnonzero(hard[begin:] < 0.5)
    if not below.size:
        return float("nan")
    first = begin + int(below[0])
    level = (1 + float(np.clip(hard[first : first + window].min(), 0, 0.5))) / 2
    soft = begin + int(np.argmax(hard[begin:] < level))
    if soft == 0:
        return float("nan")
    share = (hard[soft - 1] - level) / max(hard[soft - 1] - hard[soft], 1e-9)
    return float(r[soft - 1] + np.clip(share, 0, 1) * (r[soft] - r[soft - 1]))


def blur_of(hard: FloatArray, r: FloatArray, leaves: FloatArray, out: FloatArray, step_mm: FloatArray) -> float | None:
    """Standard deviation of the blur in voxels, from the mean profile of the outer edge; None where too little is seen.

    The blur is taken to be in proportion to the voxel along each axis.
    """
    pitch = r[1] - r[0]
    half = 4 * float(step_mm.max())
    x = np.arange(-half, half + pitch / 2, pitch)
    taken, sizes = [], []
    for i, j in np.argwhere(np.isfinite(leaves)):
        at = leaves[i, j] + x
        if at[0] < 0 or at[-1] > r[-1]:
            continue
        profile = np.interp(at, r, hard[i, j])
        if profile[-3:].mean() < 0.15 and profile[:3].mean() > 0.8:
            taken.append(profile)
            sizes.append(float(((out[i, j] * step_mm) ** 2).sum()))
    if len(taken) < 20:
        return None
    mean = np.mean(taken, axis=0)
    spread = np.clip(-np.diff(mean), 0, None)
    middle = (x[1:] + x[:-1]) / 2
    centre = float((spread * middle).sum() / spread.sum())
    variance = float((spread * (middle - centre) ** 2).sum() / spread.sum())
    return float(np.sqrt(variance / np.mean(sizes)))

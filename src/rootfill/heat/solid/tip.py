"""A tip among the voxels: which lie in it, and how the others next to it touch it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rootfill.heat.solid.build import APART, MM, Voxels, take_of
from rootfill.heat.solid.kernel import Field
from rootfill.heat.solid.model import Canal, Root
from rootfill.units import FloatArray

NEAREST = 0.1
"""Least distance from a voxel's centre to the tip, as a share of a voxel's side: nearer ones would cost stages."""
LEAST = 1e-6
"""Least share of a face that counts."""
_HALVINGS = 24


@dataclass(frozen=True, eq=False)
class Tip:
    """Flat numbers of the voxels ``inside`` the tip (n,) and ``beside`` it (m,).

    Those beside it have ``resist`` and ``take`` without compound where the tip has taken its place, and warm by
    ``rate`` [1/s] times how much warmer the tip is.
    """

    inside: NDArray[np.intp]
    beside: NDArray[np.intp]
    resist: Field
    take: Field
    rate: Field


def tip_in(voxels: Voxels, root: Root, number: int, tip_s_mm: float, contact_w_m2k: float) -> Tip:
    """The canal of that number is a tip from ``tip_s_mm`` up.

    From each voxel next to it the distance to its surface is measured along the grid (Gibou and others 2002), in
    series with the contact; the contact counts as the surface stands to that direction.
    """
    canal, shape = root.canals[number], voxels.resist.shape
    within = _within(voxels, canal, tip_s_mm)
    faces = list[tuple[NDArray[np.intp], NDArray[np.intp]]]()
    padded = np.flatnonzero(within)
    strides = (shape[1] * shape[2], shape[2], 1)
    flat = within.ravel()
    for jump in (sign * stride for stride in strides for sign in (1, -1)):
        near = padded - jump
        near = near[~flat[near]]
        faces.append((near, np.full(near.size, jump)))
    faces.append(_under_rim(voxels, canal, tip_s_mm, within))
    near, step = (np.concatenate(x) for x in zip(*faces, strict=True))
    near_free = voxels.take.ravel()[near] > 0
    near, step = near[near_free], step[near_free]
    beside, place = np.unique(near, return_inverse=True)
    resist, take = _without_compound(voxels, root, beside, tip_s_mm)
    ends_in_tip = flat[near + step]
    to_face = (tip_s_mm - _places(voxels, near)[0]) / voxels.spacing_mm
    far = np.maximum(np.where(ends_in_tip, _distance(voxels, canal, tip_s_mm, near, step), to_face), NEAREST)
    h = voxels.spacing_mm * MM
    facing = _facing(voxels, canal, tip_s_mm, near, step, far)
    bent, covered = _at_rim(voxels, canal, tip_s_mm, near, step, far, ends_in_tip)
    resistance = far * h * resist[place] / bent + 1 / (contact_w_m2k * np.maximum(facing, LEAST) * covered)
    rate = np.bincount(place, take[place] * h / 2 / resistance, beside.size)
    return Tip(padded, beside, resist.astype(np.float32), take.astype(np.float32), rate.astype(np.float32))


def _within(voxels: Voxels, canal: Canal, tip_s_mm: float) -> NDArray[np.bool_]:
    """Voxels whose centre lies in the tip; none of the rim."""
    s, y, x = (voxels.along(axis) for axis in range(3))
    beside = canal.beside(x[None, :], y[:, None])
    found = np.zeros(voxels.resist.shape, dtype=bool)
    for layer in np.flatnonzero(s[:-1] >= tip_s_mm):
        found[layer] = beside < canal.radius(s[layer])
    return found


def _places(voxels: Voxels, flat: NDArray[np.intp]) -> FloatArray:
    """Centres (s, y, x) of voxels, shape (3, n), mm."""
    at = np.array(np.unravel_index(flat, voxels.resist.shape), dtype=float)
    return np.asarray(at * voxels.spacing_mm + np.array(voxels.start_mm)[:, None])


def _without_compound(
    voxels: Voxels, root: Root, flat: NDArray[np.intp], tip_s_mm: float
) -> tuple[FloatArray, FloatArray]:
    """Resistivity and take of voxels; above the tip's face what is left of them is dentine."""
    resist, take = (x.ravel()[flat].astype(float) for x in (voxels.resist, voxels.take))
    beside_it = _places(voxels, flat)[0] >= tip_s_mm
    dentine = root.materials.dentine
    resist[beside_it] = 1 / dentine.k_w_mk
    take[beside_it] = take_of(np.array(dentine.capacity_j_m3k), voxels.spacing_mm)
    return resist, take


def _ways(voxels: Voxels, step: NDArray[np.intp]) -> FloatArray:
    """Unit vectors (s, y, x) of steps in flat numbers, shape (3, n)."""
    _, rows, columns = voxels.resist.shape
    return np.array([np.sign(step) * (np.abs(step) == x) for x in (rows * columns, columns, 1)], dtype=float)


def _distance(
    voxels: Voxels, canal: Canal, tip_s_mm: float, flat: NDArray[np.intp], step: NDArray[np.intp]
) -> FloatArray:
    """How far along a step from a voxel's centre outside to one inside the tip's surface lies, as a share of it."""
    start, way = _places(voxels, flat), voxels.spacing_mm * _ways(voxels, step)
    out, inside = np.zeros(flat.size), np.ones(flat.size)
    for _ in range(_HALVINGS):
        middle = (out + inside) / 2
        s, y, x = start + middle * way
        there = (s >= tip_s_mm) & (canal.beside(x, y) < canal.radius(s))
        out, inside = np.where(there, out, middle), np.where(there, middle, inside)
    return np.asarray((out + inside) / 2)


def _facing(
    voxels: Voxels, canal: Canal, tip_s_mm: float, flat: NDArray[np.intp], step: NDArray[np.intp], far: FloatArray
) -> FloatArray:
    """|cos| between a step and the normal of the tip's surface where the step meets it, shape (n,)."""
    way = _ways(voxels, step)
    s, y, x = _places(voxels, flat) + far * voxels.spacing_mm * way
    dx, dy = x - canal.x_mm, y - canal.y_mm
    small = voxels.spacing_mm / 2
    widens = (canal.radius(s + small) - canal.radius(s - small)) / (2 * small)
    side = np.abs(way[2] * dx + way[1] * dy) / np.maximum(np.hypot(dx, dy), 1e-12) + np.abs(way[0] * widens)
    face = (way[0] > 0) & (np.abs(s - tip_s_mm) < 1e-3 * voxels.spacing_mm)
    return np.asarray(np.where(face, 1.0, side / np.sqrt(1 + widens**2)))


def _at_rim(
    voxels: Voxels,
    canal: Canal,
    tip_s_mm: float,
    flat: NDArray[np.intp],
    step: NDArray[np.intp],
    far: FloatArray,
    ends_in_tip: NDArray[np.bool_],
) -> tuple[FloatArray, FloatArray]:
    """How much more flows through a face of a voxel near the rim of the tip than a straight profile gives, (n,).

    About a corner of 270° the temperature goes with ρ^(2/3)·sin(2φ/3). Taken is what of that field flows through the
    face, beside the tip's surface, too, less what the voxels on either side of it exchange by themselves where the
    other is not in the tip; over the flow from the value at the voxel's centre. The second is the share of the face
    that the tip covers.
    """
    h, way = voxels.spacing_mm, _ways(voxels, step)
    s, y, x = _places(voxels, flat) + far * h * way
    face = (way[0] > 0) & (np.abs(s - tip_s_mm) < 1e-3 * h)
    inside = np.where(face, canal.radius(s) - canal.beside(x, y), s - tip_s_mm) / h
    on_tip = _two_thirds(inside + 0.5) - _two_thirds(inside - 0.5)
    beyond = (_two_thirds(0.5 - inside) - _two_thirds(-0.5 - inside)) / 2
    here = _about_corner(inside, far)
    exchanged = np.where(ends_in_tip, 0.0, here - _about_corner(inside, far - 1))
    return np.asarray((on_tip + beyond - exchanged) / here * far), np.clip(inside + 0.5, LEAST, 1.0)


def _two_thirds(x: FloatArray) -> FloatArray:
    return np.asarray(np.maximum(x, 0.0) ** (2 / 3))


def _about_corner(inside: FloatArray, before: FloatArray) -> FloatArray:
    """ρ^(2/3)·sin(2φ/3) at places ``inside`` the rim and ``before`` the surface, as shares of a voxel's side."""
    return np.asarray(
        _two_thirds(np.hypot(inside, before)) * np.sin(2 / 3 * (np.arctan2(before, inside) % (2 * np.pi)))
    )


def _under_rim(
    voxels: Voxels, canal: Canal, tip_s_mm: float, within: NDArray[np.bool_]
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Voxels, and the step up, whose upper face the tip covers in part though the next voxel is not in the tip."""
    s, y, x = (voxels.along(axis) for axis in range(3))
    layer, each = int(np.searchsorted(s, tip_s_mm)), within[0].size
    inside = canal.radius(np.array(tip_s_mm)) - canal.beside(x[None, :], y[:, None])
    near = np.flatnonzero((inside > -voxels.spacing_mm / 2) & ~within[layer]) + (layer - 1) * each
    return near, np.full(near.size, each)


def apart(voxels: Voxels, tip: Tip) -> None:
    """Takes the tip's voxels out of conduction, in place."""
    voxels.resist.ravel()[tip.inside] = APART
    voxels.take.ravel()[tip.inside] = 0.0
    voxels.resist.ravel()[tip.beside] = tip.resist
    voxels.take.ravel()[tip.beside] = tip.take

"""How the planes of a picture lie on the screen: which axis runs across, which down, and what lies at each edge.

Patient axes run to the patient's left, back and head. A scan that says how it lay is shown as a dentist looks at a
patient: head up, the patient's left on the right hand. One that does not say is shown with x to the right, y down in
the plane across, z up.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rootfill.clinic.kept_picture import FILM, KeptPicture
from rootfill.units import FloatArray

LEFT, BACK, HEAD = 0, 1, 2
NAMES = {HEAD: "axial", BACK: "coronal", LEFT: "sagittal"}
"""Planes by the patient axis that they are cut across."""
EDGES = {LEFT: ("right", "left"), BACK: ("front", "back"), HEAD: ("feet", "head")}
"""Words of the two ends of a patient axis."""


@dataclass(frozen=True)
class Plane:
    """One plane: cut across voxel axis ``axis``; ``across`` and ``down`` are the voxel axes on the screen.

    A sign of -1 runs against the index. ``edges`` are the words at left, right, top and bottom, '' where unknown.
    """

    name: str
    axis: int
    across: int
    across_sign: int
    down: int
    down_sign: int
    edges: tuple[str, str, str, str]


def planes(picture: KeptPicture) -> tuple[Plane, ...]:
    """The planes of a picture: coronal, sagittal, axial; of a film the one there is."""
    if picture.read.kind == FILM:
        return (_film(picture.turned),)
    affine = picture.read.to_patient
    lies = _lies(np.eye(3) if affine is None else np.array(affine)[:3, :3], picture.turned == 2)
    cuts = (BACK, LEFT, 1), (LEFT, BACK, 1), (HEAD, LEFT, 1)
    downs = (HEAD, -1), (HEAD, -1), (BACK, 1)
    return tuple(
        _plane(cut, across, down, lies, affine is not None) for (cut, *across), down in zip(cuts, downs, strict=True)
    )


@dataclass(frozen=True)
class _Lie:
    """A patient axis: the voxel axis nearest to it, whether the index runs along it (1) or not (-1), and 1, or -1
    where the screen shows it turned."""

    axis: int
    sign: int
    turn: int


def _lies(directions: FloatArray, turned: bool) -> list[_Lie]:
    size = np.abs(directions)
    axis_of = max(itertools.permutations(range(3)), key=lambda p: sum(size[k, p[k]] for k in range(3)))
    signs = [1 if directions[k, axis_of[k]] >= 0 else -1 for k in range(3)]
    # Turned about the axis from front to back, so that nothing is mirrored.
    turns = [-1 if turned and k != BACK else 1 for k in range(3)]
    return [_Lie(*of) for of in zip(axis_of, signs, turns, strict=True)]


def _plane(cut: int, across: Sequence[int], down: Sequence[int], lies: Sequence[_Lie], known: bool) -> Plane:
    """``across`` and ``down``: patient axis, and which way it runs on the screen where nothing is turned."""
    ways = [(lies[axis], axis, way * lies[axis].turn) for axis, way in (across, down)]
    (one, _, one_way), (other, _, other_way) = ways
    edges = [word for _, axis, way in ways for word in _ends(axis, way)] if known else [""] * 4
    left, right, top, bottom = edges
    return Plane(
        NAMES[cut], lies[cut].axis, one.axis, one_way * one.sign, other.axis, other_way * other.sign,
        (left, right, top, bottom),
    )  # fmt: skip


def _ends(axis: int, sign: int) -> tuple[str, str]:
    first, last = EDGES[axis]
    return (first, last) if sign > 0 else (last, first)


def _film(turned: int) -> Plane:
    across, across_sign, down, down_sign = ((0, 1, 1, 1), (1, -1, 0, 1), (0, -1, 1, -1), (1, 1, 0, -1))[turned]
    return Plane("film", 2, across, across_sign, down, down_sign, ("", "", "", ""))

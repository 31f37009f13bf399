"""Voids counted: of the whole canal, by third, by millimetre, inside and at the wall, with what is doubtful."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from rootfill.images.filling.model import Figure, Percents, Stretch
from rootfill.images.filling.prepared import Prepared
from rootfill.images.filling.voids import Voids
from rootfill.tables import rule


def percents_of(ready: Prepared, voids: Voids, voxel_mm: float) -> Percents:
    """100 × void volume ÷ prepared canal volume.

    The interval is the edge of the voids, one void too small to count, and what coarse voxels missed.
    """
    in_canal = ready.owner > 0
    third = np.clip((ready.part[in_canal] * 3).astype(int), 0, 2)
    share, void = ready.share[in_canal], voids.void[in_canal]
    edge, wall = voids.surface[in_canal], voids.at_wall[in_canal]
    missed = 100 * rule("void_coarse_missed").value if voxel_mm > rule("void_voxel_sure_mm").value else 0.0
    whole = float(share.sum(dtype=float))

    def figure(of: NDArray[np.bool_] | slice, total: float) -> Figure:
        doubt = 100 * rule("filling_edge_voxels").value * float(edge[of].sum(dtype=float)) / total
        unseen = 100 * rule("void_smallest_voxels").value / total
        percent = 100 * float(void[of].sum(dtype=float)) / total
        return Figure(percent, max(0.0, percent - doubt), percent + doubt + unseen + missed)

    one, two, three = (figure(third == k, max(float(share[third == k].sum(dtype=float)), 1e-9)) for k in range(3))
    return Percents(
        all=figure(slice(None), whole),
        thirds=(one, two, three),
        inside=figure(~wall, whole),
        wall=figure(wall, whole),
        unfilled=100 * float(voids.unfilled.sum(dtype=float)) / whole,
        per_mm=_per_mm(ready, voids),
    )


def _per_mm(ready: Prepared, voids: Voids) -> tuple[Stretch, ...]:
    in_canal = ready.owner > 0
    length = max(axis.length for axis in ready.canals)
    count = max(1, int(np.ceil(length - 1e-6)))
    at = np.clip(ready.s[in_canal].astype(int), 0, count - 1)
    whole, void, unfilled = (np.bincount(at, of[in_canal], count) for of in (ready.share, voids.void, voids.unfilled))
    whole = np.maximum(whole, 1e-9)
    return tuple(
        Stretch(float(k), min(k + 1.0, length), 100 * float(void[k] / whole[k]), 100 * float(unfilled[k] / whole[k]))
        for k in range(count)
    )

"""Two scans in, before and after filling; the voids of the filling out."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from rootfill.errors import InputRefused, Said
from rootfill.images import Volume
from rootfill.images.filling.align import Pose, align
from rootfill.images.filling.beyond import core_beyond
from rootfill.images.filling.count import percents_of
from rootfill.images.filling.laid import apart, lay
from rootfill.images.filling.model import Checked, Laid
from rootfill.images.filling.prepared import Prepared, prepare
from rootfill.images.filling.refuse import refuse_pair, size_ratio, topped
from rootfill.images.filling.trust import carries, doubts
from rootfill.images.filling.voids import FilledLevels, find_voids, levels_in
from rootfill.tables import rule
from rootfill.units import FloatArray

AWAY = 4
"""Voxels from the canal at which the outer surface is compared."""

TOPPED = (
    "No void percentages: the filling is at the top of the filled scan's greys, so the edges of its voids are lost. "
    "Export it with all its greys."
)


def check_filling(
    prepared: Volume,
    filled: Volume,
    seeds: Sequence[Sequence[float]] = (),
    keep_going: Callable[[float], None] = lambda _: None,
) -> Checked:
    """Voids of the canals at the seeds, voxel indices (x, y, z) of the prepared scan; of all canals without seeds.

    Raises InputRefused for scans that cannot be compared. ``keep_going`` is told the share done and may raise.
    """
    refuse_pair(prepared, filled)
    keep_going(0.1)
    warnings = doubts(prepared, filled)
    known, able = prepared.scale.known, carries(prepared, filled)
    smallest = int(rule("void_smallest_voxels").value)
    cell = float(prepared.step_mm.prod())
    try:
        ready, laid_on, pose = _together(prepared, filled, seeds, keep_going)
        levels = levels_in(ready, laid_on)
        residual = _residual(ready, laid_on, levels)
        _refuse_apart(prepared, filled, residual, float(ready.step.max()))
    except InputRefused as refused:
        if able or not known or refused.field != "prepared":
            raise
        return Checked(None, None, None, None, None, None, smallest * cell, (*warnings, refused.sentence))
    keep_going(0.9)
    if topped(filled, ready.volume):
        able, warnings = False, (*warnings, TOPPED)
    voids = find_voids(ready, laid_on, levels, smallest)
    middle = np.array([axis.points.mean(axis=0) for axis in ready.canals]).mean(axis=0)
    at = (ready.index[0] + (middle / ready.step) @ ready.index[1:])[::-1] * prepared.step_mm
    shift = float(np.linalg.norm(pose.placed(at[None])[0] - at))
    return Checked(
        percents=percents_of(ready, voids, float(prepared.step_mm.max())) if able else None,
        laid=Laid(shift, pose.angle_deg, residual),
        beyond=core_beyond(ready, laid_on, levels),
        canal_voxels=ready.volume / ready.cell,
        void_voxels=float(voids.void.sum(dtype=float)),
        length=max(axis.length for axis in ready.canals),
        smallest=smallest * cell,
        warnings=(*warnings, *_about(ready)),
    )


def _together(
    prepared: Volume, filled: Volume, seeds: Sequence[Sequence[float]], keep_going: Callable[[float], None]
) -> tuple[Prepared, NDArray[np.float32], Pose]:
    step, other = prepared.step_mm, filled.step_mm
    hints = np.array([list(seed)[::-1] for seed in seeds], dtype=float).reshape(-1, 3)
    ready = prepare(prepared.values, step[::-1], hints)
    keep_going(0.3)
    pose = align(prepared.values, filled.values, (step, other), _corners(ready, step))
    keep_going(0.8)
    return ready, lay(ready, filled.values, pose, step, other), pose


def _corners(ready: Prepared, step: FloatArray) -> FloatArray:
    """Lowest and highest corner (x, y, z) of the box in the prepared scan [mm]."""
    last = ready.index[0] + (np.array(ready.values.shape) - 1) @ ready.index[1:]
    return np.asarray(np.sort([ready.index[0], last], axis=0)[:, ::-1] * step)


def _residual(ready: Prepared, laid: NDArray[np.float32], levels: FilledLevels) -> float:
    """How far the wall of the canal and the outer surface of the two scans stay apart, the worse of both."""
    seen = np.isfinite(laid)
    grey = np.where(seen, laid, levels.dentine)
    canal = (ready.share > 0.5) & (ready.owner > 0)
    near = ndimage.binary_dilation(canal, iterations=AWAY)
    other = (grey > (levels.dentine + levels.filling) / 2) | (grey < (levels.dentine + levels.air) / 2)
    wall = apart(canal, other & near & (ready.solid | canal), seen, ready.step)
    outer = apart(ready.solid | near, (grey > (levels.dentine + levels.air) / 2) | near, seen, ready.step)
    return max(wall, outer if np.isfinite(outer) else 0.0)


def _refuse_apart(prepared: Volume, filled: Volume, residual: float, voxel: float) -> None:
    most = rule("filling_residual_voxels").value
    if residual <= most * voxel:
        return
    ratio = size_ratio(prepared, filled)
    if ratio is not None:
        raise InputRefused(
            "filled",
            Said(f"{ratio:.2f} times as large as prepared"),
            "the voxel sizes contradict each other, or it is another tooth: give the right --spacing",
        )
    raise InputRefused(
        "filled",
        Said(f"{residual / voxel:.1f} voxels off prepared"),
        f"at most {most:g} passes: give the same tooth, the same way up, not mirrored, at its true voxel size",
    )


def _about(ready: Prepared) -> tuple[str, ...]:
    said = []
    if any(axis.cut[0] for axis in ready.canals):
        said.append("The scan cuts the canal below: thirds and millimetres count from the cut, not from the made end.")
    if any(axis.cut[1] for axis in ready.canals):
        said.append("The canal runs to the top of the scan: thirds are of the part seen.")
    if any(axis.parts for axis in ready.canals):
        said.append("Canals that run together are counted as one.")
    return tuple(said)

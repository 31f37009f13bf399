"""Which spacing is believed: the file's own, the clinician's, or none; and what is said of how a scan lies."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from rootfill import tables
from rootfill.errors import InputRefused, Said
from rootfill.images.model import NO_SCALE, Scale, Trust
from rootfill.units import FloatArray

VOXELS_ONLY = "lengths are in voxels only until a spacing is given"


def volume_scale(
    stored: Sequence[float] | None, entered: Sequence[float] | None, trust: Trust = Trust.PATIENT
) -> tuple[Scale, tuple[str, ...]]:
    """Scale of a volume and cautions about it, from the spacing its file states (x, y, z, mm) and one typed.

    Typed outranks stated. A stated spacing of 1 on all axes is what formats put where nothing is known; one outside
    what a scan of a tooth can have is not believed. Raises InputRefused for a typed one that cannot be.
    """
    low, high = _range()
    believed = stored is not None and all(math.isfinite(x) and low <= x <= high for x in stored)
    placeholder = stored is not None and all(x == 1 for x in stored)
    if entered is not None:
        return entered_scale(entered, 3), against(entered, stored if believed and not placeholder else None)
    if stored is None:
        return NO_SCALE, (f"The file states no spacing: {VOXELS_ONLY}.",)
    if placeholder:
        return NO_SCALE, (f"The file states a spacing of 1, which stands for none: {VOXELS_ONLY}.",)
    if not believed:
        said = " × ".join(f"{x:g}" for x in stored)
        return NO_SCALE, (f"The file states a spacing of {said} mm, which no scan of a tooth has: {VOXELS_ONLY}.",)
    off = tables.rule("scan_spacing_off").value
    return Scale(tuple(float(x) for x in stored), trust, 1 - off, 1 + off), ()


def _range(name: str = "voxel_range_mm") -> tuple[float, float]:
    rule = tables.rule(name)
    return rule.low or 0.0, rule.high or math.inf


def entered_scale(spacing: Sequence[float], count: int, allowed: str = "voxel_range_mm") -> Scale:
    """A spacing that was typed. Raises InputRefused for one that no such picture has."""
    low, high = _range(allowed)
    if len(spacing) != count:
        raise InputRefused("spacing", Said(f"{len(spacing)} numbers"), f"{count}, one for each side")
    for x in spacing:
        if not (math.isfinite(x) and low <= x <= high):
            raise InputRefused(
                "spacing", Said(f"{x:g} mm"), f"one step of a picture of a tooth, {low:g} to {high:g} mm"
            )
    off = tables.rule("scan_spacing_off").value
    return Scale(tuple(float(x) for x in spacing), Trust.ENTERED, 1 - off, 1 + off)


def against(entered: Sequence[float], stored: Sequence[float] | None) -> tuple[str, ...]:
    if stored is None or all(abs(a - b) <= 0.01 * b for a, b in zip(entered, stored, strict=True)):
        return ()
    said = " × ".join(f"{x:g}" for x in stored)
    return (f"The spacing you gave is used; the file states {said} mm.",)


def lying(to_patient: FloatArray | None) -> tuple[str, ...]:
    """What a reader should know of how a scan is stored: feet up, or as its mirror image; its directions say which."""
    if to_patient is None:
        return ()
    axes = to_patient[:3, :3]
    upright = axes[2, int(np.argmax(np.abs(axes[2])))] > 0
    cautions = []
    if not upright:
        cautions.append("The scan is stored feet up: its slices count from the head down. It is shown head up.")
    if np.linalg.det(axes) < 0:
        cautions.append("The scan is stored as its mirror image. It is shown as the patient is, by its own directions.")
    return tuple(cautions)

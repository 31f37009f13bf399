"""What the script needs to show a picture: where its slices are, how its planes lie, how its greys begin."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from rootfill.clinic.kept_picture import FILM, KeptPicture
from rootfill.clinic.picture_planes import planes


def reading(case: int, one: KeptPicture) -> dict[str, Any]:
    """Sizes, steps and points along x, y, z; grey values as they are kept."""
    read = one.read
    spacing = read.scale.spacing_mm
    size, step = [*reversed(read.shape)], [*(spacing or (1.0,) * len(read.shape))]
    if read.kind == FILM:
        size, step = [*size, 1], [*step, step[0]]
    return {
        "slices": f"/cases/{case}/pictures/{one.key}/slices",
        "size": size,
        "step": step,
        "unit": "mm" if spacing else "pixels" if read.kind == FILM else "voxels",
        "bits": read.bits,
        "zero": read.grey_zero,
        "gain": read.grey_step,
        "least": read.least,
        "most": read.most,
        "black": read.black,
        "white": read.white,
        "planes": [asdict(plane) for plane in planes(one)],
    }

"""Volumes as NRRD: a text header, then gzip; the same volume gives the same bytes."""

from __future__ import annotations

import gzip
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rootfill.errors import InputRefused

KINDS = {"int16": "int16", "uint16": "uint16", "uint8": "uint8"}


def nrrd(values: NDArray[Any], spacing_mm: tuple[float, float, float], remark: str) -> bytes:
    """A volume (z, y, x) with voxel sizes x, y, z [mm] as an attached NRRD.

    Raises InputRefused for grey values of another kind than 8 or 16 bit whole numbers.
    """
    kind = KINDS.get(values.dtype.name)
    if kind is None or values.ndim != 3:
        raise InputRefused("values", str(values.dtype), "a volume of 8 or 16 bit whole numbers can be written")
    z, y, x = values.shape
    directions = " ".join(
        "(" + ",".join(repr(float(s)) if k == row else "0" for k in range(3)) + ")" for row, s in enumerate(spacing_mm)
    )
    lines = (
        "NRRD0004",
        f"# {' '.join(remark.split())}",
        f"type: {kind}",
        "dimension: 3",
        "space: left-posterior-superior",
        f"sizes: {x} {y} {z}",
        f"space directions: {directions}",
        "kinds: domain domain domain",
        "endian: little",
        "encoding: gzip",
        "space origin: (0,0,0)",
    )
    raw = np.ascontiguousarray(values, dtype=values.dtype.newbyteorder("<")).tobytes()
    return ("\n".join(lines) + "\n\n").encode() + gzip.compress(raw, compresslevel=4, mtime=0)

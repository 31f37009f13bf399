"""The section along a found canal: the scan cut along its line and laid out straight, the orifice at the top."""

from __future__ import annotations

import numpy as np

from rootfill.clinic.find_canals import found_in
from rootfill.clinic.keep_picture import picture
from rootfill.clinic.ports import Clinic
from rootfill.errors import NotFound
from rootfill.images.model import Grey

ROWS = 240
"""Rows of the section, evenly spaced from the orifice down to ``BEYOND`` times the canal's length."""
BEYOND = 1.1
HALF = 60
"""Columns to either side of the canal, as far apart as the rows."""


def section(clinic: Clinic, case: int, key: int, number: int) -> Grey:
    """Kept grey values of shape (``ROWS``, 2 ``HALF`` + 1), linear between voxels. Raises NotFound."""
    from scipy import ndimage  # loads much that no other page needs

    from rootfill.images.scan.picture import frames

    one = picture(clinic, case, key)
    found = found_in(one)
    if not 0 <= number < len(found["canals"]):
        raise NotFound("There is no such canal in this picture here: load the page again.")
    step = np.array(found["step"])
    line = np.array(found["canals"][number]["line"], dtype=float)[::-1] * step
    s = np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))))
    at = np.linspace(0.0, float(s[-1]) * BEYOND, ROWS)
    way = line[-1] - line[max(-4, -len(line))]
    ahead = np.maximum(at - s[-1], 0.0)[:, None] * way / np.linalg.norm(way)
    points = np.stack([np.interp(at, s, line[:, k]) for k in range(3)], axis=1) + ahead
    _, across, _ = frames(points)
    aside = np.arange(-HALF, HALF + 1) * (at[1] - at[0])
    index = (points[:, None] + aside[None, :, None] * across[:, None]) / step
    low = np.maximum(np.floor(index.min(axis=(0, 1))).astype(int) - 1, 0)
    high = np.maximum(np.ceil(index.max(axis=(0, 1))).astype(int) + 2, low + 1)
    values = np.load(clinic.pictures.path(one.file), mmap_mode="r", allow_pickle=False).reshape(one.read.shape)
    box = np.ascontiguousarray(values[low[2] : high[2], low[1] : high[1], low[0] : high[0]])
    return np.asarray(ndimage.map_coordinates(box, np.moveaxis(index - low, -1, 0)[::-1], order=1, mode="nearest"))

"""Angles of a traced canal and its length from the reference to the radiographic apex."""

from __future__ import annotations

import math

import numpy as np

from rootfill import tables
from rootfill.images.film.model import Lines, Marks, along_px
from rootfill.images.film.place import gap_px
from rootfill.tooth import Centreline
from rootfill.units import FloatArray

PIECES = 10
"""A line followed on the picture is broken into so many pieces for its angles."""


def lines_of(marks: Marks, axis: FloatArray | None, apex: FloatArray, stray_px: float) -> Lines:
    """Angles of the canal pointed at, else of the filling's axis (n, 2), apical end first; lengths in pixels."""
    traced = marks.canal if marks.canal is not None and len(marks.canal) > 2 else None
    line = traced if traced is not None else None if axis is None else pieces(axis)
    length = None
    if marks.reference is not None:
        length = to_reference_px(apex, marks.canal if marks.canal is not None else axis, marks.reference)
    if line is None or len(line) < 3:
        return Lines(None, None, None, length)
    found = Centreline(line)
    stray_px = max(stray_px, tables.rule("film_leaves_share").value * found.length_mm)
    radius = found.tightest_mm()
    return Lines(found.schneider_deg(stray_px), found.central_deg(), radius if math.isfinite(radius) else None, length)


def to_reference_px(apex: FloatArray, axis: FloatArray | None, reference: FloatArray) -> float:
    """From the radiographic apex along the canal to its coronal end, and from there straight to the reference."""
    if axis is None or len(axis) < 2:
        return float(np.linalg.norm(reference - apex))
    along = float(along_px(axis)[-1]) + gap_px(axis[0], apex, axis)
    return along + float(np.linalg.norm(reference - axis[-1]))


def pieces(axis: FloatArray) -> FloatArray:
    """The same line by a few points, the coronal quarter as one straight piece: it gives the coronal axis."""
    run = along_px(axis)
    at = np.append(np.linspace(0.0, 0.75 * run[-1], PIECES), run[-1])
    return np.column_stack([np.interp(at, run, axis[:, k]) for k in (0, 1)])

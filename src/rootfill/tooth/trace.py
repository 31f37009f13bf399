"""A canal's bends from its trace on one film or two, or from the centreline in a volume."""

from __future__ import annotations

import math

import numpy as np

from rootfill.tooth.centreline import Centreline
from rootfill.tooth.curve import Arc, Curve
from rootfill.units import FloatArray

PIECE_MM = 1.0
"""Length over which a trace is taken to bend evenly, mm; shorter bends are noise of tracing (our choice)."""
_LEAST_DEG = 0.5


def from_two_films(first_mm: FloatArray, second_mm: FloatArray, between_deg: float, points: int = 60) -> FloatArray:
    """A canal in space, shape (points, 3) [mm], from its traces on two films.

    Each trace has shape (n, 2): sideways and along the tooth, made end first, the second coordinate rising
    towards the crown. The films are taken with the beam turned by ``between_deg`` about the tooth's long
    axis, so that at one height u₂ = x cos θ + y sin θ while u₁ = x. Raises ValueError when the films are
    less than 5° apart or a trace does not rise.
    """
    turn = math.radians(between_deg)
    if abs(math.sin(turn)) < math.sin(math.radians(5)):
        raise ValueError("two films say more than one only when they are at least 5 degrees apart")
    if any(np.any(np.diff(trace[:, 1]) <= 0) for trace in (first_mm, second_mm)):
        raise ValueError("a trace rises from the made end towards the crown")
    top = min(first_mm[-1, 1] - first_mm[0, 1], second_mm[-1, 1] - second_mm[0, 1])
    height = np.linspace(0.0, top, points)
    x, u = (np.interp(height, t[:, 1] - t[0, 1], t[:, 0] - t[0, 0]) for t in (first_mm, second_mm))
    y = (u - x * math.cos(turn)) / math.sin(turn)
    return np.column_stack((x, y, height))


def in_its_plane(points_mm: FloatArray) -> tuple[FloatArray, float]:
    """The plane that lies nearest to points in space, shape (n, 2), and how far the farthest lies off it [mm].

    What lies off the plane is not modelled: reach is computed in the plane.
    """
    centred = points_mm - points_mm.mean(axis=0)
    _, _, axes = np.linalg.svd(centred, full_matrices=False)
    off = centred @ axes[2] if axes.shape[0] > 2 else np.zeros(len(points_mm))
    return centred @ axes[:2].T, float(np.abs(off).max())


def curve_from(points_mm: FloatArray, piece_mm: float = PIECE_MM) -> Curve:
    """Arcs of a plane trace, shape (n, 2), made end first: each piece turns by what the trace turns there.

    Pieces that turn by less than half a degree are straight. The arcs add up to the turning of the trace.
    """
    line = Centreline(points_mm)
    count = max(math.floor(line.length_mm / piece_mm), 2)
    ends = np.linspace(0.0, line.length_mm, count + 1)
    heading = _headings(points_mm, (ends[:-1] + ends[1:]) / 2)
    starts = (ends[:-2] + ends[1:-1]) / 2
    length = line.length_mm / count
    arcs = [
        Arc(float(turn), length / math.radians(abs(turn)), float(start))
        for start, turn in zip(starts, np.degrees(np.diff(heading)), strict=True)
        if abs(turn) >= _LEAST_DEG
    ]
    return Curve(tuple(arcs))


def _headings(points_mm: FloatArray, at_mm: FloatArray) -> FloatArray:
    """Direction of the trace [rad] at stations, from chords a quarter of a piece either way."""
    steps = np.linalg.norm(np.diff(points_mm, axis=0), axis=1)
    along = np.concatenate(([0.0], np.cumsum(steps)))
    reach = (at_mm[1] - at_mm[0]) / 4

    def place(s: FloatArray) -> FloatArray:
        return np.column_stack([np.interp(s, along, points_mm[:, k]) for k in (0, 1)])

    chord = place(at_mm + reach) - place(at_mm - reach)
    return np.unwrap(np.arctan2(chord[:, 0], chord[:, 1]))

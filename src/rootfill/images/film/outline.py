"""The outline of a root about its tip, and the radiographic apex on it: found where the picture shows it.

Rays run out from a place inside the root. On each, every radius is weighed by how much the grey falls from the tooth
to the dark line of the ligament and rises again to the bright line of the socket; the outline is the path over all
rays that gathers most, by dynamic programming.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from rootfill.images.film.profile import across, sampled
from rootfill.units import FloatArray

OPEN_DEG = 105.0
RAY_DEG = 1.5
RADIUS_MM = 0.04
LEAST_MM, MOST_MM = 0.5, 6.0
INSIDE_MM, LINE_MM, WALL_MM = 0.35, 0.2, 0.2
"""Stretches compared: of the tooth, of the dark line outside it, of the bright line beyond that."""
DEEPER_MM = (0.5, 0.25)
"""A stretch further inside: dark there, the bright line before it is the socket's and no tooth."""
WALL_WORTH = 0.7
STEEPEST = 5
"""Steps of radius from ray to ray at most."""
BEND_COST = 0.25
"""Cost of one step, as a share of the typical best weight of a ray."""
BACK_MM = 1.6
"""The rays start so far inside the tip."""
CAP_MM = 0.6
"""The tip is smoothed over so much to either side."""
SAME_MM = 0.25
"""Apices found from two places are the same within this."""
RIVAL = 0.8
"""Share of a tip's clearness from which another one is its rival."""
CLEAR = 3.2
"""A tip whose weight stands out less than this over that of any place is not shown."""


@dataclass(frozen=True, eq=False)
class Tip:
    """The tip of a root: its apex [px], the outline (n, 2) about it, how clearly it stands out, and whether it was

    found from several places inside the root.
    """

    apex: FloatArray
    outline: FloatArray
    clear: float
    agreed: bool = False

    @property
    def shown(self) -> bool:
        """Whether it stands out enough to be believed."""
        return self.agreed and self.clear >= CLEAR


def clearest(tips: list[Tip], step_mm: float) -> Tip | None:
    """The tip that stands out most among those found again from another place.

    It is not agreed upon where another one was found from as many places and stands out nearly as much.
    """
    if not tips:
        return None
    same = np.array([[np.linalg.norm(a.apex - b.apex) * step_mm <= SAME_MM for b in tips] for a in tips])
    count, clear = same.sum(axis=1), np.array([t.clear for t in tips])
    best = int(np.lexsort((clear, count > 1))[-1])
    rivals = ~same[best] & (count >= count[best]) & (clear >= RIVAL * clear[best])
    return replace(tips[best], agreed=bool(count[best] > 1 and not rivals.any()))


def tip_of(grey: FloatArray, inside: FloatArray, way: FloatArray, step_mm: float) -> Tip | None:
    """The tip of the root in direction ``way`` from a place inside it."""
    centre, tip = inside, None
    for _ in range(3):
        found = _outline(grey, centre, way, step_mm)
        if found is None:
            return tip
        apex = _farthest(found[0], way, step_mm)
        tip = Tip(apex, found[0], found[1])
        centre = apex - way * BACK_MM / step_mm
    return tip


def _outline(grey: FloatArray, centre: FloatArray, way: FloatArray, step_mm: float) -> tuple[FloatArray, float] | None:
    turns = np.radians(np.arange(-OPEN_DEG, OPEN_DEG + RAY_DEG / 2, RAY_DEG))
    radii = np.arange(LEAST_MM, MOST_MM, RADIUS_MM)
    rays = np.cos(turns)[:, None] * way + np.sin(turns)[:, None] * across(way)
    weight = _weights(grey, centre, rays, radii, step_mm)
    best = weight.max(axis=1)
    typical = float(np.median(best[best > 0])) if (best > 0).any() else 0.0
    if typical <= 0:
        return None
    path = _path(weight, BEND_COST * typical)
    r = _between(weight, path, radii)
    middle = np.abs(turns) < np.radians(60)
    chosen = weight[np.arange(len(path)), path][middle]
    clear = float(np.mean(chosen) / np.std(weight[middle]))
    return centre + rays * (r / step_mm)[:, None], clear


def _weights(grey: FloatArray, centre: FloatArray, rays: FloatArray, radii: FloatArray, step_mm: float) -> FloatArray:
    """How much each radius of each ray looks like an outline, (rays, radii)."""
    fine = np.arange(LEAST_MM - DEEPER_MM[0] - 0.1, MOST_MM + LINE_MM + WALL_MM + 0.1, RADIUS_MM)
    points = centre + rays[:, None, :] * (fine / step_mm)[None, :, None]
    values = sampled(grey, points)
    total = np.concatenate((np.zeros((len(rays), 1)), np.cumsum(values, axis=1)), axis=1)

    def mean(low: float, high: float) -> FloatArray:
        i = np.rint((radii + low - fine[0]) / RADIUS_MM).astype(int)
        j = np.rint((radii + high - fine[0]) / RADIUS_MM).astype(int)
        return np.asarray((total[:, j] - total[:, i]) / (j - i))

    line = mean(0, LINE_MM)
    tooth = np.minimum(mean(-INSIDE_MM, 0), mean(-DEEPER_MM[0], -DEEPER_MM[1]))
    wall = mean(LINE_MM, LINE_MM + WALL_MM)
    weight = tooth - line + WALL_WORTH * np.minimum(wall - line, tooth - line)
    return np.maximum(weight, 0.0)


def _path(weight: FloatArray, cost: float) -> FloatArray:
    """Index of the radius on each ray, along the path that gathers most less its bends."""
    steps = np.arange(-STEEPEST, STEEPEST + 1)
    total = weight[0].copy()
    came = np.zeros(weight.shape, dtype=int)
    for k in range(1, len(weight)):
        padded = np.pad(total, STEEPEST, constant_values=-np.inf)
        moved = np.stack([padded[STEEPEST + s : STEEPEST + s + total.size] - cost * abs(s) for s in steps])
        choice = np.argmax(moved, axis=0)
        came[k] = np.arange(total.size) + steps[choice]
        total = moved[choice, np.arange(total.size)] + weight[k]
    path = np.empty(len(weight), dtype=int)
    path[-1] = int(np.argmax(total))
    for k in range(len(weight) - 1, 0, -1):
        path[k - 1] = came[k, path[k]]
    return path


def _between(weight: FloatArray, path: FloatArray, radii: FloatArray) -> FloatArray:
    """Radii of a path between the samples, by a parabola through three of them."""
    rows = np.arange(len(path))
    inner = np.clip(path, 1, len(radii) - 2).astype(int)
    a, b, c = (weight[rows, inner + d] for d in (-1, 0, 1))
    bend = a - 2 * b + c
    off = np.where(bend < 0, 0.5 * (a - c) / np.where(bend < 0, bend, 1.0), 0.0)
    return np.asarray(radii[inner] + np.clip(off, -0.5, 0.5) * RADIUS_MM)


def _farthest(outline: FloatArray, way: FloatArray, step_mm: float) -> FloatArray:
    """Place of the outline farthest in a direction, smoothed over the cap by a parabola."""
    ahead, side = outline @ way, outline @ across(way)
    top = int(np.argmax(ahead))
    near = np.abs(side - side[top]) <= CAP_MM / step_mm
    near &= ahead > ahead[top] - CAP_MM / step_mm
    if near.sum() < 5:
        return np.asarray(outline[top])
    a, b, c = np.polyfit(side[near] - side[top], ahead[near], 2)
    at = float(np.clip(-b / (2 * a), -CAP_MM / step_mm, CAP_MM / step_mm)) if a < 0 else 0.0
    return np.asarray((side[top] + at) * across(way) + (a * at**2 + b * at + c) * way)

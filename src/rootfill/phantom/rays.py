"""Where straight rays enter and leave a tooth's bodies: one stretch each, by fixed points of frozen ellipses.

A stretch is (in, out) [mm along the ray]; where a ray misses, both are 0. Bodies are convex in section and rays run
across them (within some 40 degrees of level), so a ray crosses each body once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rootfill.phantom.shapes import Egg, Loft, Tube
from rootfill.units import FloatArray

Stretch = tuple[FloatArray, FloatArray]

ROUNDS = 6
"""Fixed-point steps; each shrinks the error by the slope of the surface times the slope of the ray."""
ROOM_MM = 0.05
FAR_MM = 1e4
_DUST = 1e-9


@dataclass(frozen=True, eq=False)
class Rays:
    """Straight lines: starts (3, n) [mm] and unit directions (3, n)."""

    start: FloatArray
    way: FloatArray

    def some(self, which: NDArray[Any]) -> Rays:
        """Those of a mask or of indices."""
        return Rays(self.start[:, which], self.way[:, which])

    def moved(self, by_mm: FloatArray) -> Rays:
        """The same lines seen from a body that stands ``by_mm`` away from its own frame."""
        return Rays(self.start - by_mm[:, None], self.way)


def loft_stretch(body: Loft, rays: Rays) -> Stretch:
    """Inside a loft, flat or rounded below, flat above."""
    return _in_box(body.box, rays, partial(_loft, body))


def tube_stretch(tube: Tube, rays: Rays, thinner_mm: float = 0.0) -> Stretch:
    """Inside a tube between the planes across its ends, or inside one thinner all around."""
    return _in_box(tube.box, rays, partial(_tube, tube, thinner_mm))


def egg_stretch(egg: Egg, rays: Rays) -> Stretch:
    """Inside an egg: one quadratic, exact."""
    m = egg.axes @ (rays.start - egg.centre_mm[:, None]) / egg.half_mm[:, None]
    w = egg.axes @ rays.way / egg.half_mm[:, None]
    a, b, c = (w * w).sum(axis=0), (m * w).sum(axis=0), (m * m).sum(axis=0) - 1
    apart = b * b - a * c
    reach = np.sqrt(np.maximum(apart, 0))
    return _kept((-b - reach) / a, (-b + reach) / a, apart > 0)


def box_stretch(low: FloatArray, high: FloatArray, rays: Rays) -> Stretch:
    """Inside an upright box."""
    way = np.where(np.abs(rays.way) < _DUST, _DUST, rays.way)
    one, other = (low[:, None] - rays.start) / way, (high[:, None] - rays.start) / way
    first, last = np.minimum(one, other).max(axis=0), np.maximum(one, other).min(axis=0)
    return _kept(first, last, last > first)


def half_space(rays: Rays, point: FloatArray, outward: FloatArray) -> Stretch:
    """On the inner side of a plane; ends that are not there lie far off."""
    slope = outward @ rays.way
    level = np.abs(slope) < _DUST
    at = (outward @ (point[:, None] - rays.start)) / np.where(level, 1.0, slope)
    inside = outward @ (rays.start - point[:, None]) <= 0
    first = np.where(level, np.where(inside, -FAR_MM, FAR_MM), np.where(slope > 0, -FAR_MM, at))
    last = np.where(level, FAR_MM, np.where(slope > 0, at, FAR_MM))
    return first, last


def both(one: Stretch, other: Stretch) -> Stretch:
    """Where both are."""
    first, last = np.maximum(one[0], other[0]), np.minimum(one[1], other[1])
    return _kept(first, last, last > first)


def _kept(first: FloatArray, last: FloatArray, there: NDArray[np.bool_]) -> Stretch:
    return np.where(there, first, 0.0), np.where(there, last, 0.0)


def _in_box(box: FloatArray, rays: Rays, inner: Callable[[Rays, FloatArray], Stretch]) -> Stretch:
    """Only for rays that pass the box; they start from the middle of their way through it."""
    first, last = box_stretch(box[0] - ROOM_MM, box[1] + ROOM_MM, rays)
    here = np.flatnonzero(last > first)
    found = np.zeros((2, first.size))
    if here.size:
        found[:, here] = inner(rays.some(here), (first[here] + last[here]) / 2)
    return found[0], found[1]


def _loft(body: Loft, rays: Rays, middle: FloatArray) -> Stretch:
    middle, apart = _settled(partial(_loft_step, body, rays), middle, 0.0)
    ends = [_settled(partial(_loft_step, body, rays), middle, side)[0] for side in (-1.0, 1.0)]
    top = half_space(rays, np.array([0, 0, body.z_mm[-1]]), np.array([0.0, 0.0, 1.0]))
    foot = half_space(rays, np.array([0, 0, body.z_mm[0]]), np.array([0.0, 0.0, -1.0]))
    return both(_kept(ends[0], ends[1], apart > 0), both(top, foot))


def _settled(step: Callable[[FloatArray, float], Stretch], t: FloatArray, side: float) -> Stretch:
    """The side's crossing, or the nearest approach (0), after all rounds; how far from missing."""
    apart = t
    for _ in range(ROUNDS):
        t, apart = step(t, side)
    return t, apart


def _loft_step(body: Loft, rays: Rays, t: FloatArray, side: float) -> Stretch:
    """The side's crossing with the oblique cone, or egg, that touches the body at the height now at."""
    z = rays.start[2] + rays.way[2] * t
    (cx, cy, a, b), (dcx, dcy, da, db) = body.unrounded(z)
    low = z < body.z_mm[0] + body.round_mm
    round_mm = body.round_mm or 1.0
    half = np.array([a, b, np.where(low, round_mm, np.inf)])
    centre = np.array([cx, cy, np.full_like(z, body.z_mm[0] + round_mm)])
    lean = np.array([dcx * rays.way[2], dcy * rays.way[2], np.zeros_like(z)])
    w = (rays.way - lean) / half
    m = (rays.start + t * rays.way - centre) / half - t * w
    grow = (da / a + db / b) / 2 * rays.way[2]
    return _crossing(m, w, side, 1 - grow * t, grow)


def _crossing(
    m: FloatArray, w: FloatArray, side: float, one: FloatArray | float = 1.0, grow: FloatArray | float = 0.0
) -> Stretch:
    """Where |m + t w| = ``one`` + t ``grow`` on that side; the discriminant, below 0 where it never is."""
    a, b, c = (w * w).sum(axis=0) - grow * grow, (m * w).sum(axis=0) - one * grow, (m * m).sum(axis=0) - one * one
    apart = b * b - a * c
    return (-b + side * np.sqrt(np.maximum(apart, 0))) / a, apart


def _tube(tube: Tube, thinner_mm: float, rays: Rays, middle: FloatArray) -> Stretch:
    ends = []
    for side in (0.0, -1.0, 1.0):
        at = (tube.station(rays.start[2] + rays.way[2] * middle) - tube.s_mm[0]) / tube.step_mm
        for _ in range(ROUNDS):
            point, along, wide, half = tube.frame(tube.s_mm[0] + at * tube.step_mm)
            away = rays.start - point
            t, apart = _crossing(*_across(along, wide, np.maximum(half - thinner_mm, 1e-4), away, rays.way), side)
            rest = ((away + t * rays.way) * along).sum(axis=0)
            at = np.clip(at + rest / tube.step_mm, 0, len(tube.s_mm) - 1)
        ends.append((t, apart))
    found = _kept(ends[1][0], ends[2][0], ends[0][1] > 0)
    for k, sign in ((0, -1.0), (-1, 1.0)):
        point, along, _, _ = tube.frame(tube.s_mm[[k]])
        found = both(found, half_space(rays, point[:, 0], sign * along[:, 0]))
    return found


def _across(along: FloatArray, wide: FloatArray, half: FloatArray, away: FloatArray, way: FloatArray) -> Stretch:
    """Places and directions in the section, each axis in its half axes."""
    narrow = np.cross(along, wide, axis=0)
    return (
        np.array([(away * narrow).sum(axis=0), (away * wide).sum(axis=0)]) / half,
        np.array([(way * narrow).sum(axis=0), (way * wide).sum(axis=0)]) / half,
    )

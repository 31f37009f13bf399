"""Teeth drawn by chance, wide but plausible: one to four canals, curved, oval, joined, with an isthmus."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from rootfill.errors import InputRefused
from rootfill.phantom.lay import PAST_MM, Bend, Girth, Widths, block, foramen_height_mm, path_in_root, root_body, tube
from rootfill.phantom.shapes import Loft, Sheet
from rootfill.phantom.tooth import Canal, Isthmus, Join, Root, Tooth
from rootfill.units import FloatArray

LAYOUTS = {1: (("root", 1),), 2: (("root", 2),), 3: (("mesial", 2), ("distal", 1)), 4: (("mesial", 2), ("distal", 2))}
"""Roots and canals in each, by the number of canals."""
APART = (("buccal", 1), ("palatal", 1))
MOST_CANALS = 4
SIDES = ("B", "L")
REACH_MM = 0.4
"""How far a canal runs up into the chamber."""


@dataclass(frozen=True)
class Wish:
    """What is asked of a tooth drawn by chance."""

    canals: int = 1
    curved: bool = False
    oval: bool = False
    joined: bool = False
    isthmus: bool = False
    prepared: bool = False
    chamber: bool = True
    blind: bool = False

    def __post_init__(self) -> None:
        if not 1 <= self.canals <= MOST_CANALS:
            raise InputRefused("canals", self.canals, f"1 to {MOST_CANALS} canals can be made")
        if self.canals == 1 and (self.joined or self.isthmus):
            raise InputRefused("canals", 1, "a join or an isthmus needs two canals or more")


def random_tooth(rng: np.random.Generator, canals: int = 1, **asked: bool) -> Tooth:
    """A tooth drawn by chance; ``asked``: curved, oval, joined, isthmus, prepared, chamber (on by default), blind.

    The same state of ``rng`` gives the same tooth. Raises InputRefused for what cannot be made.
    """
    wish = Wish(canals, **asked)
    layout: Sequence[tuple[str, int]] = LAYOUTS[canals]
    if canals == 2 and not (wish.joined or wish.isthmus) and rng.random() < 0.5:
        layout = APART
    length = rng.uniform(11.0, 14.5)
    furcation = rng.uniform(0.62, 0.72) * length if len(layout) > 1 else 0.0
    floor = furcation + rng.uniform(1.2, 2.2) if furcation else length - rng.uniform(0.5, 1.5)
    top = floor + (rng.uniform(3.5, 4.5) if wish.chamber else 0.0)
    roots = _roots(rng, wish, layout, furcation, top)
    laid = [c for root, (_, count) in zip(roots, layout, strict=True) for c in _canals(rng, wish, root, count, floor)]
    joined = _isthmuses(rng, laid, floor) if wish.isthmus else ()
    trunk = _trunk(roots, furcation, top) if furcation else None
    tooth = Tooth(roots, tuple(laid), top, trunk, isthmuses=joined)
    return _crowned(rng, tooth, floor) if wish.chamber else tooth


def _roots(
    rng: np.random.Generator, wish: Wish, layout: Sequence[tuple[str, int]], furcation: float, top: float
) -> tuple[Root, ...]:
    made = []
    for k, (name, canals) in enumerate(layout):
        at, lean = (0.0, 0.0), (0.0, 0.0)
        apex = float(rng.uniform(0, 0.8)) if len(layout) > 1 else 0.0
        if len(layout) > 1:
            side = 1 if k else -1
            at, lean = (side * rng.uniform(2.7, 3.1), 0.0), (-side * rng.uniform(0.02, 0.1), 0.0)
        flat = rng.uniform(1.6, 1.9) if canals > 1 else rng.uniform(1.25, 1.6) if wish.oval else rng.uniform(1.0, 1.25)
        wide = rng.uniform(1.55, 1.85) if len(layout) > 1 else rng.uniform(1.9, 2.5)
        girth = Girth(rng.uniform(0.8, 0.95), wide, furcation or 10.0, flat)
        body = root_body(girth, _bend(rng, wish, lean), apex, top, at)
        made.append(Root(name, body))
    return tuple(made)


def _bend(rng: np.random.Generator, wish: Wish, lean: tuple[float, float]) -> Bend:
    angle = rng.uniform(20, 40) if wish.curved else rng.uniform(0, 8)
    return Bend(float(angle), float(rng.uniform(5.0, 7.0)), float(rng.uniform(0, 360)), lean)


def _trunk(roots: Sequence[Root], furcation: float, top: float) -> Loft:
    """The body that holds roots together: about all of them from the furcation up."""
    boxes = [root.body.section(np.linspace(furcation, top, 9)) for root in roots]
    low = np.min([(b[:2] - b[2:]).min(axis=1) for b in boxes], axis=0)
    high = np.max([(b[:2] + b[2:]).max(axis=1) for b in boxes], axis=0)
    centre, half = (low + high) / 2, (high - low) / 2 * [1.02, 1.1]
    return block(furcation, top, (float(centre[0]), float(centre[1])), (float(half[0]), float(half[1])))


def _canals(rng: np.random.Generator, wish: Wish, root: Root, count: int, floor: float) -> list[Canal]:
    names = [root.name] if count == 1 else [f"{root.name} {side}" for side in SIDES]
    first = _canal(rng, wish, root, names[0], (0, count), floor)
    if count == 1:
        return [first]
    if wish.joined:
        return [first, _joining(rng, wish, root, names[1], first, floor)]
    return [first, _canal(rng, wish, root, names[1], (1, count), floor)]


def _canal(rng: np.random.Generator, wish: Wish, root: Root, name: str, seat: tuple[int, int], floor: float) -> Canal:
    """A canal from its foramen on the root's surface up; two of them lie on either side."""
    which, count = seat
    body, alone = root.body, count == 1 or wish.joined
    share_xy = np.zeros(2) if count == 1 else _apart(rng, which)
    if wish.blind:
        height, low_xy = rng.uniform(1.3, 1.6), share_xy
    else:
        azimuth = rng.uniform(0, 2 * np.pi) if alone else np.radians(-90 + 180 * which + rng.uniform(-25, 25))
        height = foramen_height_mm(body, azimuth, rng.uniform(0.15, 0.9) if alone else rng.uniform(0.75, 1.0))
        _, _, a, b = body.section(np.array([body.z_mm[0] + height]))[:, 0]
        low_xy = np.array([a * np.cos(azimuth), b * np.sin(azimuth)])
    path = path_in_root(body, height, low_xy, share_xy, floor, float(rng.uniform(2.5, 3.5)))
    made, length = tube(path, _widths(rng, wish), 90.0, floor)
    made = made.cut(0, np.inf) if wish.blind else made
    return Canal(name, root.name, made, length, blind=wish.blind)


def _apart(rng: np.random.Generator, which: int) -> FloatArray:
    """Where one of two canals lies beside the root's axis, as shares of its half axes."""
    return np.array([rng.uniform(-0.1, 0.1), (1 if which else -1) * rng.uniform(0.36, 0.46)])


def _joining(rng: np.random.Generator, wish: Wish, root: Root, name: str, first: Canal, floor: float) -> Canal:
    """A canal that runs into ``first`` a few mm above its end."""
    at = float(rng.uniform(2.0, 4.5))
    point = first.tube.frame(np.array([at]))[0][:, 0]
    axis = root.body.section(point[2:3])[:2, 0]
    height = float(point[2] - root.body.z_mm[0])
    path = path_in_root(root.body, height, point[:2] - axis, _apart(rng, 1), floor, 6.0)
    plain = _widths(rng, wish)
    narrow = 2 * float(first.tube.frame(np.array([at]))[3][0, 0]) * rng.uniform(0.75, 0.95)
    made, length = tube(path, replace(plain, narrow_mm=narrow, waist=0.0), 90.0, floor)
    return Canal(name, root.name, made.cut(0, np.inf), length, Join(first.name, at))


def _widths(rng: np.random.Generator, wish: Wish) -> Widths:
    """Widths as nature makes them, or as a file does: round, a straight taper, unless the canal is oval beyond it."""
    end, mid = (
        (rng.uniform(1.2, 1.8), rng.uniform(2.2, 3.0)) if wish.oval else (rng.uniform(1, 1.4), rng.uniform(1, 1.7))
    )
    if wish.prepared:
        size, taper = rng.choice([0.25, 0.30, 0.35, 0.40]), rng.choice([0.04, 0.05, 0.06])
        return Widths(float(size), float(taper), 1.0, float(mid * 0.75) if wish.oval else 1.0)
    taper = rng.uniform(0.02, 0.035) if wish.oval else rng.uniform(0.025, 0.05)
    return Widths(
        float(rng.uniform(0.22, 0.36)), float(taper), float(end), float(mid), float(rng.uniform(0, 0.25)), 0.9
    )


def _isthmuses(rng: np.random.Generator, laid: Sequence[Canal], floor: float) -> tuple[Isthmus, ...]:
    """A sheet in the first root that has two canals."""
    one, other = next((a, b) for a, b in pairwise(laid) if a.root == b.root)
    low = max(float(c.tube.frame(np.zeros(1))[0][2, 0]) for c in (one, other)) + float(rng.uniform(1.5, 3.0))
    high = min(low + float(rng.uniform(1.5, 4.0)), floor - 1.5)
    sheet = Sheet(one.tube, other.tube, low, high, float(rng.uniform(0.08, 0.2)))
    return (Isthmus((one.name, other.name), sheet),)


def _crowned(rng: np.random.Generator, tooth: Tooth, floor: float) -> Tooth:
    """The same tooth with a pulp chamber over the orifices and a coat of enamel."""
    seats = [c.tube.frame(np.array([c.length_mm])) for c in tooth.canals]
    low = np.min([point[:2, 0] - half.max() for point, _, _, half in seats], axis=0)
    high = np.max([point[:2, 0] + half.max() for point, _, _, half in seats], axis=0)
    roof = floor + float(rng.uniform(1.2, 2.0))
    centre, half = (low + high) / 2, (high - low) / 2 * 1.15 + 0.25
    room = block(floor, roof, (float(centre[0]), float(centre[1])), (float(half[0]), float(half[1])))
    canals = tuple(replace(c, tube=c.tube.cut(-PAST_MM, c.length_mm + REACH_MM)) for c in tooth.canals)
    return replace(tooth, canals=canals, chamber=room, neck_mm=floor - 0.5, enamel_mm=float(rng.uniform(0.8, 1.3)))

"""A tooth whose shape is known: roots, canals, chamber, filling, and what lies at any point of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from rootfill.phantom.shapes import Egg, Loft, Sheet, Tube, near
from rootfill.units import FloatArray

Labels = NDArray[np.uint8]


class Stuff(IntEnum):
    """What a point is made of."""

    OUTSIDE = 0
    LIGAMENT = 1
    DENTINE = 2
    ENAMEL = 3
    PULP = 4
    CORE = 5
    SEALER = 6
    VOID = 7


@dataclass(frozen=True)
class Root:
    """A root: its outer surface, apex down."""

    name: str
    body: Loft

    @property
    def apex(self) -> FloatArray:
        """The anatomical apex, the lowest point [mm]."""
        return np.array([*self.body.centre_mm[:, 0], self.body.z_mm[0]])


@dataclass(frozen=True)
class Join:
    """Where a canal ends in another one: arc length from the other one's end [mm]."""

    into: str
    at_s_mm: float


@dataclass(frozen=True)
class Canal:
    """A canal: arc length runs from its end (0: foramen, join or blind end) to its orifice (``length_mm``).

    The tube runs on past both so that it opens; what lies outside the tooth is not canal.
    """

    name: str
    root: str
    tube: Tube
    length_mm: float
    join: Join | None = None
    blind: bool = False


@dataclass(frozen=True)
class Isthmus:
    """A thin sheet between two canals."""

    between: tuple[str, str]
    sheet: Sheet


@dataclass(frozen=True)
class Void:
    """A known hole in the filling of a canal: an egg cut by the canal's wall; inside, or at the wall."""

    canal: str
    s_mm: float
    egg: Egg
    at_wall: bool


@dataclass(frozen=True)
class Filling:
    """The filling of a canal from ``end_s_mm`` (negative: beyond the end) to ``top_s_mm``; a film at the wall.

    ``puff``: sealer beyond the foramen, or none.
    """

    canal: str
    end_s_mm: float
    top_s_mm: float
    film_mm: float
    voids: tuple[Void, ...] = ()
    puff: Egg | None = None


@dataclass(frozen=True)
class Tooth:
    """A whole tooth in its own frame: mm, z from the apices up; the facts of it never change.

    ``trunk`` holds the roots together from the furcation up (none for one root), ``top_mm`` is the cut or the top
    of its dentine, ``enamel_mm`` the coat above ``neck_mm``. Raises ValueError for names that are not there.
    """

    roots: tuple[Root, ...]
    canals: tuple[Canal, ...]
    top_mm: float
    trunk: Loft | None = None
    chamber: Loft | None = None
    isthmuses: tuple[Isthmus, ...] = ()
    fillings: tuple[Filling, ...] = ()
    neck_mm: float = 0.0
    enamel_mm: float = 0.0

    def __post_init__(self) -> None:
        names, roots = {c.name for c in self.canals}, {r.name for r in self.roots}
        asked = {f.canal for f in self.fillings} | {n for i in self.isthmuses for n in i.between}
        asked |= {c.join.into for c in self.canals if c.join}
        if not asked <= names or not {c.root for c in self.canals} <= roots or len(names) != len(self.canals):
            raise ValueError("a name of a canal or root that is not there, or there twice")

    @property
    def bodies(self) -> tuple[Loft, ...]:
        """Every body of dentine."""
        return (*(r.body for r in self.roots), *((self.trunk,) if self.trunk else ()))

    @property
    def orifice_z_mm(self) -> float:
        """Height of the chamber's floor, or of the cut [mm]."""
        return float(self.chamber.z_mm[0]) if self.chamber else self.top_mm

    @property
    def box(self) -> FloatArray:
        """Corners of a box about the tooth, shape (2, 3) [mm]."""
        boxes = np.array([b.box for b in self.bodies])
        coat = self.enamel_mm
        return np.array([boxes[:, 0].min(axis=0) - [coat, coat, 0], boxes[:, 1].max(axis=0) + coat])

    def canal(self, name: str) -> Canal:
        """The canal of that name."""
        return next(c for c in self.canals if c.name == name)

    def root(self, name: str) -> Root:
        """The root of that name."""
        return next(r for r in self.roots if r.name == name)

    def outside(self, points: FloatArray) -> FloatArray:
        """Signed distance [mm] to the surface of the dentine with its canals closed; negative inside."""
        return nearest(self.bodies, points, max(0.5, 1.2 * self.enamel_mm))

    def hollow(self, points: FloatArray) -> FloatArray:
        """Signed distance [mm] to the pulp space, uncut by the tooth's surface."""
        holes: list[Loft | Tube | Sheet | Egg] = [*(c.tube for c in self.canals), *(i.sheet for i in self.isthmuses)]
        return nearest([*holes, *((self.chamber,) if self.chamber else ())], points)


def nearest(shapes: Sequence[Loft | Tube | Sheet | Egg], points: FloatArray, reach_mm: float = 0.3) -> FloatArray:
    """Signed distance to the union of shapes, right up to ``reach_mm`` outside, farther on too small [mm]."""
    found = near(shapes[0], points, reach_mm)
    for shape in shapes[1:]:
        found = np.minimum(found, near(shape, points, reach_mm))
    return found


LIGAMENT_MM = 0.2
"""Width of the ligament's gap; read of living roots, from memory."""


def look(tooth: Tooth, points: FloatArray) -> tuple[Labels, FloatArray]:
    """What lies at points (3, n), and about how far from there to anything else [mm], first order."""
    outside, hollow = tooth.outside(points), tooth.hollow(points)
    label = np.where(outside < 0, Stuff.DENTINE, np.where(outside < LIGAMENT_MM, Stuff.LIGAMENT, Stuff.OUTSIDE))
    clear = np.minimum(np.abs(outside), np.abs(outside - LIGAMENT_MM))
    if tooth.enamel_mm:
        coat = np.maximum(outside - tooth.enamel_mm, tooth.neck_mm - points[2])
        label = np.where((coat < 0) & (outside >= 0), Stuff.ENAMEL, label)
        clear = np.minimum(clear, np.abs(coat))
    solid = (label == Stuff.DENTINE) | (label == Stuff.ENAMEL)
    label = np.where(solid & (hollow < 0), Stuff.PULP, label).astype(np.uint8)
    clear = np.minimum(clear, np.abs(hollow))
    for filling in tooth.fillings:
        clear = np.minimum(clear, _fill(tooth, filling, points, label))
    return label, clear


def _fill(tooth: Tooth, filling: Filling, points: FloatArray, label: Labels) -> FloatArray:
    """Write a filling into the labels; the distance to its own borders."""
    tube = tooth.canal(filling.canal).tube
    clear = np.full(points.shape[1], np.inf)
    body = near(tube, points)
    here = np.flatnonzero(body < 0.3)
    if here.size:
        some = points[:, here]
        s, rest, _, _ = tube.place(some)
        ends = np.maximum(filling.end_s_mm - s - rest, s + rest - filling.top_s_mm)
        core = np.maximum(tube.distance(some, filling.film_mm), ends)
        inside = (label[here] == Stuff.PULP) | (s + rest < 0.05)
        label[here[inside & (body[here] < 0) & (ends < 0)]] = Stuff.SEALER
        label[here[inside & (core < 0)]] = Stuff.CORE
        clear[here] = np.minimum(np.abs(ends), np.abs(core))
    for void in filling.voids:
        hole = near(void.egg, points)
        label[(hole < 0) & ((label == Stuff.SEALER) | (label == Stuff.CORE))] = Stuff.VOID
        clear = np.minimum(clear, np.abs(hole))
    if filling.puff:
        blob = near(filling.puff, points)
        free = (label == Stuff.LIGAMENT) | (label == Stuff.OUTSIDE) | (label == Stuff.PULP)
        label[(blob < 0) & free] = Stuff.SEALER
        clear = np.minimum(clear, np.abs(blob))
    return clear

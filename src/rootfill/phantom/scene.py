"""What a film sees: a tooth in bone, perhaps a metal crown, a file in a canal, a neighbour; and what lies on a ray."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from rootfill.errors import InputRefused
from rootfill.phantom.rays import Rays, Stretch, both, box_stretch, egg_stretch, half_space, loft_stretch, tube_stretch
from rootfill.phantom.shapes import Loft, Tube
from rootfill.phantom.tooth import LIGAMENT_MM, Filling, Tooth
from rootfill.units import FloatArray


class Part(IntEnum):
    """What a stretch of a ray runs through; the later one wins, as :func:`_part` says."""

    SOFT = 0
    BONE = 1
    LAMINA = 2
    LIGAMENT = 3
    ENAMEL = 4
    DENTINE = 5
    PULP = 6
    SEALER = 7
    CORE = 8
    VOID = 9
    METAL = 10


ATTENUATION = {
    Part.SOFT: 0.0,
    Part.BONE: 0.045,
    Part.LAMINA: 0.12,
    Part.LIGAMENT: 0.0,
    Part.ENAMEL: 0.30,
    Part.DENTINE: 0.16,
    Part.PULP: 0.0,
    Part.SEALER: 0.9,
    Part.CORE: 1.2,
    Part.VOID: 0.0,
    Part.METAL: 3.5,
}
"""Per mm, over that of soft tissue; our choice, in the order films show."""

LAMINA_MM = 0.25
BONE_HALF_MM = 5.0
BONE_FAR_MM = 80.0
AROUND_MM = 2.0
AROUND = np.array([[-AROUND_MM] * 3, [AROUND_MM] * 3])
CREST_MM = 1.5
"""Bone ends so far below the neck."""
PAST_FORAMEN_MM = 0.05
"""A filling stands outside the root only below this distance from the canal's end."""

Bools = NDArray[np.bool_]


@dataclass(frozen=True)
class Rod:
    """A file in a canal: from its tip, ``tip_s_mm`` from the canal's end, ``length_mm`` along the axis."""

    canal: str
    tip_s_mm: float
    length_mm: float
    width_mm: float = 0.2


@dataclass(frozen=True, eq=False)
class Scene:
    """A tooth and what stands about it. ``neighbour`` stands ``beside_mm`` away (x, y, z).

    Raises InputRefused for an isthmus, which no film of ours shows, and for a file longer than its canal.
    """

    tooth: Tooth
    bone: bool = True
    metal_crown: bool = False
    file: Rod | None = None
    neighbour: Tooth | None = None
    beside_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)

    def __post_init__(self) -> None:
        if self.tooth.isthmuses:
            raise InputRefused("--with", "isthmus", "a film shows none: make a scan of it")
        if self.file and self.file.tip_s_mm + self.file.length_mm > self.tooth.canal(self.file.canal).tube.s_mm[-1]:
            raise InputRefused("file", self.file.length_mm, "shorter than its canal")

    @property
    def crest_mm(self) -> float:
        """Height to which bone stands."""
        return (self.tooth.neck_mm or self.tooth.top_mm) - CREST_MM

    @property
    def boxes(self) -> FloatArray:
        """Corners of boxes about each tooth and all that stands out of it, (teeth, 2, 3) [mm]."""
        past = [f.puff.box for f in self.tooth.fillings if f.puff]
        below = -min((f.end_s_mm for f in self.tooth.fillings), default=0.0) + AROUND_MM
        boxes = np.array([self.tooth.box + AROUND, *past])
        own = np.array([boxes[:, 0].min(axis=0) - [0, 0, max(below, 0.0)], boxes[:, 1].max(axis=0)])
        if self.neighbour is None:
            return own[None]
        beside = self.neighbour.box + AROUND + np.array(self.beside_mm)
        return np.array([own, beside])


def grown(body: Loft, by_mm: float, top_mm: float | None = None) -> Loft:
    """A loft thicker by so much all around, and longer below if rounded there; up to another height if asked."""
    step = float(body.z_mm[1] - body.z_mm[0])
    low = body.z_mm[0] - (by_mm if body.round_mm else 0)
    high = body.z_mm[-1] if top_mm is None else top_mm
    z = np.linspace(low, high, max(2, round((high - low) / step) + 1))
    row, _ = body.unrounded(z)
    return Loft(z, row[:2], row[2:] + by_mm, body.round_mm + by_mm if body.round_mm else 0.0)


def extended(tube: Tube, low_mm: float) -> Tube:
    """The same tube run on straight below its end to arc length ``low_mm``, as wide as at its end."""
    more = round((tube.s_mm[0] - low_mm) / tube.step_mm) + 1
    if more < 2:
        return tube
    point, along, wide, half = (row[:, 0] for row in tube.frame(tube.s_mm[:1]))
    s = tube.s_mm[0] - tube.step_mm * np.arange(more, 0, -1)
    return Tube(
        np.concatenate([s, tube.s_mm]),
        np.concatenate([point[:, None] + along[:, None] * (s - tube.s_mm[0]), tube.curve_mm], axis=1),
        np.concatenate([np.repeat(wide[:, None], more, axis=1), tube.wide], axis=1),
        np.concatenate([np.repeat(half[:, None], more, axis=1), tube.half_mm], axis=1),
    )


def rod_tube(tooth: Tooth, rod: Rod) -> Tube:
    """The file as a tube about its canal's axis."""
    tube = extended(tooth.canal(rod.canal).tube, rod.tip_s_mm)
    s = np.linspace(rod.tip_s_mm, rod.tip_s_mm + rod.length_mm, max(3, round(rod.length_mm / 0.02)))
    point, _, wide, _ = tube.frame(s)
    return Tube(s, point, wide, np.full((2, s.size), rod.width_mm / 2))


def bone_stretch(scene: Scene, rays: Rays) -> Stretch:
    """A slab of bone below its crest, or none."""
    low = np.array([-BONE_FAR_MM, -BONE_HALF_MM, -BONE_FAR_MM])
    high = np.array([BONE_FAR_MM, BONE_HALF_MM, scene.crest_mm])
    return box_stretch(low, high if scene.bone else low, rays)


def stretches(scene: Scene, rays: Rays) -> dict[str, list[Stretch]]:
    """Everything a block of rays meets, by what it is."""
    found: dict[str, list[Stretch]] = defaultdict(list)
    found["bone"].append(bone_stretch(scene, rays))
    _tooth(scene.tooth, rays, found, "crown" if scene.metal_crown else "coat")
    if scene.neighbour:
        _tooth(scene.neighbour, rays.moved(np.array(scene.beside_mm)), found, "coat")
    if scene.file:
        found["file"].append(tube_stretch(rod_tube(scene.tooth, scene.file), rays))
    return found


def _tooth(tooth: Tooth, rays: Rays, found: dict[str, list[Stretch]], coat: str) -> None:
    for body in tooth.bodies:
        found["body"].append(loft_stretch(body, rays))
        found["ligament"].append(loft_stretch(grown(body, LIGAMENT_MM), rays))
        found["lamina"].append(loft_stretch(grown(body, LIGAMENT_MM + LAMINA_MM), rays))
        if tooth.enamel_mm:
            above = half_space(rays, np.array([0, 0, tooth.neck_mm]), np.array([0.0, 0.0, -1.0]))
            shell = grown(body, tooth.enamel_mm, tooth.top_mm + tooth.enamel_mm)
            found[coat].append(both(loft_stretch(shell, rays), above))
    found["hollow"] += [tube_stretch(canal.tube, rays) for canal in tooth.canals]
    if tooth.chamber:
        found["hollow"].append(loft_stretch(tooth.chamber, rays))
    for filling in tooth.fillings:
        _filling(tooth, filling, rays, found)


def _filling(tooth: Tooth, filling: Filling, rays: Rays, found: dict[str, list[Stretch]]) -> None:
    tube = extended(tooth.canal(filling.canal).tube, filling.end_s_mm)
    point, along, _, _ = tube.frame(np.array([filling.end_s_mm, filling.top_s_mm, PAST_FORAMEN_MM]))
    between = both(half_space(rays, point[:, 0], -along[:, 0]), half_space(rays, point[:, 1], along[:, 1]))
    whole = both(tube_stretch(tube, rays), between)
    found["fill"].append(whole)
    found["beyond"].append(both(whole, half_space(rays, point[:, 2], along[:, 2])))
    found["core"].append(both(tube_stretch(tube, rays, filling.film_mm), between))
    found["void"] += [egg_stretch(void.egg, rays) for void in filling.voids]
    if filling.puff:
        found["puff"].append(egg_stretch(filling.puff, rays))


def lengths(found: dict[str, list[Stretch]]) -> FloatArray:
    """How far each ray runs through each :class:`Part` [mm], shape (parts, n); soft tissue is not counted.

    Rays are cut wherever anything begins or ends; each piece is one part.
    """
    count = found["bone"][0][0].size
    found = {what: [s for s in some if (s[1] > s[0]).any()] for what, some in found.items()}
    every = [stretch for some in found.values() for stretch in some]
    if not every:
        return np.zeros((len(Part), count))
    cuts = np.sort(np.array([end for stretch in every for end in stretch]), axis=0)
    middle = (cuts[1:] + cuts[:-1]) / 2
    inside = {what: _inside(some, middle) for what, some in found.items()}
    part = _part(inside, middle.shape)
    size = np.diff(cuts, axis=0)
    return np.array([(size * (part == kind)).sum(axis=0) if kind else np.zeros(size.shape[1]) for kind in Part])


def _inside(some: list[Stretch], middle: FloatArray) -> Bools:
    held = np.zeros(middle.shape, dtype=bool)
    for first, last in some:
        held |= (middle > first) & (middle < last)
    return held


def _part(inside: dict[str, Bools], shape: tuple[int, ...]) -> NDArray[np.uint8]:
    """What each piece is, the later word winning."""
    none = np.zeros(shape, dtype=bool)
    part = np.zeros(shape, dtype=np.uint8)
    bone, solid = inside.get("bone", none), inside.get("body", none) | inside.get("coat", none)
    solid |= inside.get("crown", none)
    part[bone] = Part.BONE
    part[bone & inside.get("lamina", none)] = Part.LAMINA
    part[bone & inside.get("ligament", none)] = Part.LIGAMENT
    part[inside.get("coat", none)] = Part.ENAMEL
    part[inside.get("crown", none)] = Part.METAL
    part[inside.get("body", none)] = Part.DENTINE
    hollow = solid & inside.get("hollow", none)
    part[hollow] = Part.PULP
    free = hollow | inside.get("beyond", none)
    part[inside.get("fill", none) & free] = Part.SEALER
    part[inside.get("core", none) & free] = Part.CORE
    part[inside.get("void", none) & ((part == Part.SEALER) | (part == Part.CORE))] = Part.VOID
    part[inside.get("puff", none) & (~solid | hollow) & (part != Part.CORE)] = Part.SEALER
    part[inside.get("file", none)] = Part.METAL
    return part

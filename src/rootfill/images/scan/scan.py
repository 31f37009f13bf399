"""A scan in, a tooth out: roots, canals, joins, isthmuses, each measured."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from rootfill.errors import InputRefused, Said
from rootfill.images.model import Scale, Trust, Volume
from rootfill.images.scan.levels import Cuts, Levels, Node, levels_of
from rootfill.images.scan.model import Scanned
from rootfill.images.scan.sliced import Sliced
from rootfill.images.scan.strands import connected
from rootfill.images.scan.tooth import followed, tooth_of
from rootfill.images.scan.view import View, views_of
from rootfill.images.scan.voxels import in_voxels
from rootfill.units import FloatArray

TOOTH_MM = 24.0
"""A scan without a scale is looked at as if its longest side were so long, and its lengths then given in voxels."""

WIDE = 5.0
"""Pixels across from which on the middle of a hollow shows its own grey."""

KeepGoing = Callable[[float], None]


def scan_volume(
    volume: Volume,
    seeds: Sequence[Sequence[float]] = (),
    threshold: float | None = None,
    keep_going: KeepGoing = lambda _: None,
) -> Scanned:
    """Find the tooth that holds the seeds (voxel indices x, y, z), or the largest hard body, and its canals.

    ``threshold`` is the grey of the edge between hard and hollow where the clinician sets it. ``keep_going`` is told
    the share done, 0 to 1, and may raise to stop. Raises InputRefused where there is no tooth or no canal.
    """
    at = np.asarray(seeds, dtype=float).reshape(-1, 3)
    _check_seeds(at, volume)
    if not volume.scale.known:
        assumed = TOOTH_MM / max(volume.values.shape)
        as_if = replace(volume, scale=Scale((assumed,) * 3, Trust.ENTERED))
        return in_voxels(scan_volume(as_if, seeds, threshold, keep_going), assumed, volume)
    views = views_of(volume, at, threshold)

    def told(before: int) -> KeepGoing:
        return lambda share: keep_going(0.6 * (before + share) / len(views))

    ways = [followed(volume, _sliced(view, at, told(i))) for i, view in enumerate(views)]
    best = max(ways, key=lambda way: way.slender)
    return tooth_of(volume, best, lambda share: keep_going(0.6 + 0.4 * share))


def _check_seeds(at: FloatArray, volume: Volume) -> None:
    size = np.array(volume.values.shape[::-1])
    for seed in at:
        if not (np.all(seed >= 0) and np.all(seed <= size - 1)):
            said = ", ".join(f"{x:g}" for x in seed)
            most = ", ".join(str(n - 1) for n in size)
            raise InputRefused("seed", Said(said), f"a voxel of the scan, from 0, 0, 0 to {most}")


def _sliced(view: View, seeds: FloatArray, keep_going: KeepGoing) -> Sliced:
    """Slices cut once with the grey outside taken for the canals' own, and anew where theirs is another."""
    greys = view.greys
    cuts = Cuts(greys.threshold, greys.threshold, greys.hard, greys.soft)
    levels = levels_of(view.levels, cuts, lambda share: keep_going(share / 2))
    bodies = _bodies(levels, view, seeds)
    if _stands_on_its_head(levels, bodies):
        view, levels, bodies = view.turned(), levels.turned(), bodies[::-1]
    lumen = _lumen(levels, bodies, view)
    if lumen is None or abs(lumen - greys.soft) < 0.1 * greys.contrast:
        return Sliced(view, levels, bodies, cuts)
    cuts = Cuts(greys.threshold, (greys.hard + lumen) / 2, greys.hard, lumen)
    levels = levels_of(view.levels, cuts, lambda share: keep_going(0.5 + share / 2))
    return Sliced(view, levels, _bodies(levels, view, seeds), cuts)


def _stands_on_its_head(levels: Levels, bodies: list[Node]) -> bool:
    """Whether the crown lies at the first levels.

    Canals widen towards the crown and open into the chamber: the hollow's largest sections lie in its half towards the
    crown. Without a hollow, the crown is the half with the larger sections of dentine.
    """
    mine = {id(node) for node in bodies}
    hollows = connected(node for level in levels.hollows for node in level if id(node.body) in mine)
    nodes = max(hollows, key=lambda group: sum(node.area for node in group), default=bodies)
    level, area = np.array([(node.level, node.area) for node in nodes], dtype=float).T
    return bool(np.average(level, weights=area**2) < (level.min() + level.max()) / 2)


def _bodies(levels: Levels, view: View, seeds: FloatArray) -> list[Node]:
    """The connected bodies about the first seed, or the largest."""
    groups = connected(node for level in levels.bodies for node in level)
    if not groups:
        raise InputRefused("the scan", Said("without anything hard in it"), "choose one that holds a tooth")
    if not len(seeds):
        return max(groups, key=lambda group: sum(node.area for node in group))
    level, row, column = view.place(seeds[0])

    def away(group: list[Node]) -> float:
        return min(
            float(abs(n.level - level)) + max(0.0, math.dist(n.centre, (row, column)) - n.wide / 2) for n in group
        )

    return min(groups, key=lambda group: (round(away(group)), -sum(node.area for node in group)))


def _lumen(levels: Levels, bodies: list[Node], view: View) -> float | None:
    """Grey in the middle of the widest tenth of the hollows, where they are wide enough to show it; else None."""
    mine = {id(node) for node in bodies}
    wide = sorted(
        (node for level in levels.hollows for node in level if id(node.body) in mine and node.narrow >= WIDE),
        key=lambda node: -node.narrow,
    )
    widest = wide[: max(3, len(wide) // 10)]
    grey = [float(view.levels[n.level, round(n.centre[0]), round(n.centre[1])]) for n in widest]
    return float(np.median(grey)) if len(grey) >= 3 else None

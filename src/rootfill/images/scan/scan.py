"""A scan in, a tooth out: roots, canals, joins, isthmuses, each measured."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

from rootfill.errors import InputRefused, Said
from rootfill.images.model import Volume
from rootfill.images.scan.levels import Cuts, Levels, Node, levels_of
from rootfill.images.scan.model import Scanned
from rootfill.images.scan.sliced import Sliced
from rootfill.images.scan.strands import connected
from rootfill.images.scan.tooth import tooth_of
from rootfill.images.scan.view import View, view_of
from rootfill.units import FloatArray

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
    view = view_of(volume, at, threshold)
    found = _levels(view, at, lambda share: keep_going(0.6 * share))
    return tooth_of(volume, view, found, lambda share: keep_going(0.6 + 0.4 * share))


def _check_seeds(at: FloatArray, volume: Volume) -> None:
    size = np.array(volume.values.shape[::-1])
    for seed in at:
        if not (np.all(seed >= 0) and np.all(seed <= size - 1)):
            said = ", ".join(f"{x:g}" for x in seed)
            most = ", ".join(str(n - 1) for n in size)
            raise InputRefused("seed", Said(said), f"a voxel of the scan, from 0, 0, 0 to {most}")


def _levels(view: View, seeds: FloatArray, keep_going: KeepGoing) -> Sliced:
    """Slices cut once with the grey outside taken for the canals' own, and anew where theirs is another."""
    greys = view.greys
    cuts = Cuts(greys.threshold, greys.threshold, greys.hard, greys.soft)
    levels = levels_of(view.levels, cuts, lambda share: keep_going(share / 2))
    bodies = _bodies(levels, view, seeds)
    lumen = _lumen(levels, bodies, view)
    if lumen is None or abs(lumen - greys.soft) < 0.1 * greys.contrast:
        return Sliced(levels, bodies, cuts)
    cuts = Cuts(greys.threshold, (greys.hard + lumen) / 2, greys.hard, lumen)
    levels = levels_of(view.levels, cuts, lambda share: keep_going(0.5 + share / 2))
    return Sliced(levels, _bodies(levels, view, seeds), cuts)


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
    """Grey in the middle of hollows wide enough to show it; None where none is."""
    mine = {id(node) for node in bodies}
    wide = [
        float(view.levels[node.level, round(node.centre[0]), round(node.centre[1])])
        for level in levels.hollows
        for node in level
        if id(node.body) in mine and node.narrow >= 5
    ]
    return float(np.median(wide)) if len(wide) >= 3 else None

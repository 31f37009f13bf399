"""Canals filled, with voids of known place and size; and what is true of such a filling."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from rootfill.phantom.shapes import Egg, Tube
from rootfill.phantom.tooth import Canal, Filling, Tooth, Void
from rootfill.phantom.truth import canal_mm3
from rootfill.units import FloatArray

CELLS = 60
"""Cells along each axis of a void when its volume is counted."""
THIRDS = ("apical", "middle", "coronal")
FILL_MEANS = {
    "end_s_mm": "Where the filling ends, from the canal's end; negative: beyond it.",
    "void_mm3": "Volume of a void inside the canal.",
    "void_percent": "Voids by volume of the whole prepared canal, and of each third of its length; what lies below the "
    "filling's end or above its top is no void: unfilled_apical_mm3, unfilled_coronal_mm3.",
    "inside_percent": "The share of voids with filling all around; wall_percent: of voids that touch the wall.",
}


def filled(tooth: Tooth, rng: np.random.Generator, voids: int = 2, short_mm: float | None = None) -> Tooth:
    """The same tooth with every canal filled: ``voids`` in each, every second at the wall.

    ``short_mm``: how far short of the canal's end (negative beyond), by chance 0 to 1.5 when None.
    """
    made = []
    for canal in tooth.canals:
        short = float(rng.uniform(0, 1.5)) if short_mm is None else short_mm
        end = 0.0 if canal.join else max(short, 0.0) if canal.blind else short
        top = canal.length_mm - float(rng.uniform(0, 1.0))
        holes = _voids(rng, canal, max(end, 0.0), top, voids)
        made.append(Filling(canal.name, end, top, float(rng.uniform(0.015, 0.04)), holes))
    return replace(tooth, fillings=tuple(made))


def _voids(rng: np.random.Generator, canal: Canal, low: float, top: float, count: int) -> tuple[Void, ...]:
    """Voids in stretches of their own, so that no two overlap."""
    start = low + 0.5 if canal.join is None else low + 2.0
    edges = np.linspace(start, max(top - 0.5, start + 0.1), count + 1)
    return tuple(_void(rng, canal, edges[k], edges[k + 1], bool(k % 2)) for k in range(count))


def _void(rng: np.random.Generator, canal: Canal, low: float, high: float, at_wall: bool) -> Void:
    along_mm = float(min(rng.uniform(0.12, 0.4), 0.45 * (high - low)))
    s = float(rng.uniform(low + along_mm, high - along_mm))
    point, along, wide, half = (row[:, 0] for row in canal.tube.frame(np.array([s])))
    narrow, share = np.cross(along, wide), rng.uniform(0.35, 0.65)
    middle = point + (half[0] * 0.95 * narrow if at_wall else 0.0)
    axes = np.array([narrow, wide, along])
    return Void(canal.name, s, Egg(middle, axes, np.array([half[0] * share, half[0] * share, along_mm])), at_wall)


def filling_truth(tooth: Tooth) -> dict[str, Any]:
    """What is true of the fillings of a tooth: ends, voids, percentages by third, inside and at the wall."""
    canals = [_filling_facts(tooth, filling) for filling in tooth.fillings]
    total = sum(canal_mm3(tooth.canal(f.canal)) for f in tooth.fillings)
    voids = [v for facts in canals for v in facts["voids"]]
    return {
        "means": FILL_MEANS,
        "canals": canals,
        "void_percent": _percent(sum(v["void_mm3"] for v in voids), total),
        "inside_percent": _percent(sum(v["void_mm3"] for v in voids if not v["at_wall"]), total),
        "wall_percent": _percent(sum(v["void_mm3"] for v in voids if v["at_wall"]), total),
    }


def _filling_facts(tooth: Tooth, filling: Filling) -> dict[str, Any]:
    canal = tooth.canal(filling.canal)
    edges = np.linspace(0, canal.length_mm, 4)
    counted = [(void, *_counted(canal.tube, filling, void)) for void in filling.voids]
    by_third = np.zeros(3)
    for _, volume, s in counted:
        if s.size:
            by_third += np.histogram(np.clip(s, 0, canal.length_mm), edges)[0] * volume / s.size
    volumes = [canal_mm3(canal, edges[k], edges[k + 1]) for k in range(3)]
    return {
        "canal": canal.name,
        "end_s_mm": filling.end_s_mm,
        "top_s_mm": filling.top_s_mm,
        "film_mm": filling.film_mm,
        "canal_mm3": sum(volumes),
        "unfilled_apical_mm3": canal_mm3(canal, 0, max(filling.end_s_mm, 0)),
        "unfilled_coronal_mm3": canal_mm3(canal, filling.top_s_mm, canal.length_mm),
        "void_percent": {
            "all": _percent(float(by_third.sum()), sum(volumes)),
            **{name: _percent(float(v), of) for name, v, of in zip(THIRDS, by_third, volumes, strict=True)},
        },
        "voids": [
            {
                "s_mm": void.s_mm,
                "centre_mm": void.egg.centre_mm.tolist(),
                "half_axes_mm": void.egg.half_mm.tolist(),
                "at_wall": void.at_wall,
                "void_mm3": volume,
            }
            for void, volume, _ in counted
        ],
    }


def _counted(tube: Tube, filling: Filling, void: Void) -> tuple[float, FloatArray]:
    """Volume of a void inside its canal [mm³] and the distances from the end of its cells."""
    ticks = (np.arange(CELLS) + 0.5) / CELLS * 2 - 1
    unit = np.stack(np.meshgrid(ticks, ticks, ticks, indexing="ij")).reshape(3, -1)
    unit = unit[:, (unit**2).sum(axis=0) < 1]
    egg = void.egg
    points = egg.centre_mm[:, None] + egg.axes.T @ (unit * egg.half_mm[:, None])
    s, rest, _, _ = tube.place(points)
    s = s + rest
    inside = (tube.distance(points) < 0) & (s > filling.end_s_mm) & (s < filling.top_s_mm)
    return egg.volume_mm3 * float(inside.mean()), s[inside]


def _percent(part: float, whole: float) -> float:
    return round(100 * part / whole, 5)

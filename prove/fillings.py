"""Voids of fillings out of two scans of phantoms that do not lie the same way, against the truth."""

from __future__ import annotations

import time
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from rootfill.errors import InputRefused
from rootfill.images import Scale, Trust, Volume
from rootfill.images.filling import check_filling
from rootfill.phantom import MICRO, Greys, Grid, Scan, Scanner, Tooth, filled, grid_of, paint, random_tooth, turned

COVERS = [
    "src/rootfill/images/filling",
    "src/rootfill/images/model.py",
    "src/rootfill/phantom",
    "prove/fillings.py",
]

KINDS: tuple[dict[str, Any], ...] = (
    {"voxel": 0.02},
    {"voxel": 0.02, "curved": True},
    {"voxel": 0.02, "oval": True},
    {"voxel": 0.018},
)
"""What is asked of each pair of scans."""

LENGTH_MM, HALF_MM = 2.8, 0.5
"""The crop: so much of a canal from its end up, so far to either side of it."""
VOIDS = 12
"""Voids in the whole canal, of which the crop holds some."""
TURN_DEG = 12.0
WITHIN = 0.3
"""Void percent may be off by so much."""
SHARES = 10_000.0


@dataclass(frozen=True)
class Pair:
    """One pair of scans compared: true and found percentages, whether the interval held, seconds."""

    true: float
    found: float
    held: bool
    seconds: float


def run(seed: int) -> dict[str, Any]:
    """Compare a pair of every kind."""
    pairs, refused = [], 0
    for number, kind in enumerate(KINDS):
        try:
            pairs.append(_pair(np.random.default_rng([seed, 88, number]), **kind))
        except InputRefused:
            refused += 1
    off = np.array([pair.found - pair.true for pair in pairs])
    return {
        "pairs": len(pairs),
        "refused": refused,
        "true_percent": [round(pair.true, 3) for pair in pairs],
        "off_percent": [round(float(x), 3) for x in off],
        "bias_percent": round(float(off.mean()), 3) if pairs else None,
        "interval_covers": sum(pair.held for pair in pairs),
        "seconds_median": round(float(np.median([pair.seconds for pair in pairs])), 1) if pairs else None,
        "passed": not refused and bool((np.abs(off) <= WITHIN).all()),
    }


def _pair(rng: np.random.Generator, voxel: float, **asked: bool) -> Pair:
    tooth = random_tooth(rng, 1, prepared=True, chamber=False, **asked)
    full = filled(tooth, rng, voids=VOIDS)
    scanner = replace(MICRO.with_voxel(voxel), margin_mm=0.0)
    ends = tooth.canals[0].tube.frame(np.array([0.0, LENGTH_MM]))[0]
    low, high = ends.min(axis=1) - [HALF_MM, HALF_MM, 0.3], ends.max(axis=1)
    high[:2] += HALF_MM
    box = np.array([low, high])
    grid = grid_of(tooth, scanner, None, box)
    axis = rng.normal(size=3)
    turn = turned(float(rng.uniform(-TURN_DEG, TURN_DEG)), (float(axis[0]), float(axis[1]), float(axis[2])))
    other = grid_of(full, scanner, turn, box + rng.uniform(-0.1, 0.1, size=3))
    before = paint(tooth, scanner, rng, grid)
    after = paint(full, replace(scanner, slope=5000.0, intercept=12000.0), rng, other)
    true = 100 * _amount(full, scanner, grid, Greys(*(0.0,) * 7, 1.0)) / _amount(tooth, scanner, grid, _pulp())
    started = time.perf_counter()
    percents = check_filling(_volume(before), _volume(after)).percents
    assert percents is not None
    held = percents.all.low <= true <= percents.all.high
    return Pair(true, percents.all.percent, held, time.perf_counter() - started)


def _pulp() -> Greys:
    return Greys(0.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0)


def _amount(tooth: Tooth, scanner: Scanner, grid: Grid, greys: Greys) -> float:
    """Voxels' worth of one stuff in the crop, painted without blur and noise."""
    plain = replace(scanner, blur_mm=0.0, noise=0.0, cupping=0.0, slope=SHARES, intercept=0.0, cut=1, greys=greys)
    return float(paint(tooth, plain, np.random.default_rng(0), grid).values.sum(dtype=float)) / SHARES


def _volume(scan: Scan) -> Volume:
    """The scan as it would have been read."""
    x, y, z = (float(v) for v in scan.grid.voxel_mm)
    return Volume(scan.values, Scale((x, y, z), Trust.PATIENT))

"""Canals out of scans of phantoms: every one found, none invented, lengths, widths and joins against the truth."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Any

import numpy as np

from rootfill.errors import InputRefused
from rootfill.images import Scale, Trust, Volume
from rootfill.images.scan import Scanned, ScannedCanal, scan_volume
from rootfill.phantom import CBCT, Canal, Grid, Scan, Tooth, grid_of, paint, random_tooth, turned
from rootfill.units import FloatArray

COVERS = ["src/rootfill/images/scan", "src/rootfill/images/model.py", "src/rootfill/phantom", "prove/scans.py"]

KINDS: tuple[dict[str, Any], ...] = (
    {"canals": 1},
    {"canals": 2},
    {"canals": 3},
    {"canals": 4},
    {"canals": 1, "curved": True},
    {"canals": 3, "curved": True},
    {"canals": 2, "joined": True},
    {"canals": 2, "isthmus": True},
    {"canals": 1, "oval": True, "prepared": True},
    {"canals": 2, "prepared": True},
    {"canals": 1, "chamber": False},
)
"""What is asked of the teeth, each kind with every seed."""

EACH = 2
TILT_DEG = 25.0
MATCHED_MM = 1.5
"""An orifice found further from the true one is another canal's."""

WITHIN_MM = 0.2
WIDTH_VOXELS = 0.5
JOIN_VOXELS = 2.0
"""A voxel pair."""


@dataclass(frozen=True, eq=False)
class Measured:
    """One true canal beside the one found: error, stated error, stretch under two voxels, errors of widths [voxels].

    ``end_off`` and ``orifice_off``: how far beyond the true end and orifice those found lie, along the canal [mm].
    ``join_off``: how far above the true join the one found lies [voxels].
    """

    name: str
    end_off: float
    orifice_off: float
    error: float
    stated: float
    thin: float
    widths: FloatArray
    join_off: float | None

    @property
    def over(self) -> bool:
        """Whether the length misses by more than is allowed."""
        return abs(self.error) > WITHIN_MM + self.thin

    @property
    def join_over(self) -> bool:
        """Whether the join misses by more than is allowed."""
        return self.join_off is not None and abs(self.join_off) > JOIN_VOXELS


def run(seed: int) -> dict[str, Any]:
    """Scan phantoms of every kind and compare."""
    found: list[Measured] = []
    misses: list[dict[str, Any]] = []
    true = missed = invented = refused = 0
    seconds = []
    for kind in KINDS:
        for k in range(EACH):
            rng = np.random.default_rng([seed, 77, KINDS.index(kind), k])
            tooth, scan = phantom(rng, **kind)
            true += len(tooth.canals)
            started = time.perf_counter()
            try:
                scanned = scan_volume(volume_of(scan))
            except InputRefused:
                refused += 1
                missed += len(tooth.canals)
                continue
            seconds.append(time.perf_counter() - started)
            matched, extra = compared(tooth, scan, scanned)
            found += matched
            misses += [_miss(m, {**kind, "tooth": k}) for m in matched if m.over or m.join_over]
            missed += len(tooth.canals) - len(matched)
            invented += extra
    counts = {"canals": true, "missed": missed, "invented": invented, "refused": refused}
    return {**_told(found, counts, seconds), "misses": misses}


def _miss(measured: Measured, tooth: dict[str, Any]) -> dict[str, Any]:
    """A canal whose length or join is off by more than the limit, and where."""
    return {
        **tooth,
        "canal": measured.name,
        "error_mm": round(measured.error, 3),
        "end_off_mm": round(measured.end_off, 3),
        "orifice_off_mm": round(measured.orifice_off, 3),
        "join_off_voxels": None if measured.join_off is None else round(measured.join_off, 1),
    }


def phantom(rng: np.random.Generator, canals: int, **asked: bool) -> tuple[Tooth, Scan]:
    """An invented tooth and its scan, tilted by chance."""
    tooth = random_tooth(rng, canals, **asked)
    axis = rng.normal(size=3)
    turn = turned(float(rng.uniform(0, TILT_DEG)), (float(axis[0]), float(axis[1]), float(axis[2])))
    return tooth, paint(tooth, CBCT, rng, grid_of(tooth, CBCT, turn))


def volume_of(scan: Scan) -> Volume:
    """The scan as it would have been read."""
    x, y, z = (float(v) for v in scan.grid.voxel_mm)
    return Volume(scan.values, Scale((x, y, z), Trust.PATIENT))


def compared(tooth: Tooth, scan: Scan, scanned: Scanned) -> tuple[list[Measured], int]:
    """True canals beside those found, and how many were found that are none."""
    left = list(scanned.canals)
    matched = []
    for canal in tooth.canals:
        ends = scan.grid.indices(canal.tube.frame(np.array([0.0, canal.length_mm]))[0])
        near = [float(np.linalg.norm((c.orifice - ends[:, 1]) * scan.grid.voxel_mm)) for c in left]
        if not near or min(near) > MATCHED_MM:
            continue
        matched.append(_measured(tooth, canal, left.pop(int(np.argmin(near))), scan.grid))
    return matched, len(left)


def _measured(tooth: Tooth, canal: Canal, found: ScannedCanal, grid: Grid) -> Measured:
    voxel = float(np.max(grid.voxel_mm))
    lowest = tooth.canal(canal.join.into) if canal.join else canal
    below = canal.join.at_s_mm if canal.join else 0.0
    s = np.linspace(0.0, canal.length_mm, 400)
    narrow, wide = 2 * canal.tube.frame(s)[3]
    thin = s[narrow < 2 * voxel]
    table = found.stations
    at = table.s - below
    shown = (at > 0) & (np.interp(at, s, narrow) >= 3 * voxel)
    off = [table.narrow - np.interp(at, s, narrow), table.wide - np.interp(at, s, wide)]
    return Measured(
        name=canal.name,
        end_off=-_beyond(lowest, 0.0, grid.points(found.line[:1].T)),
        orifice_off=_beyond(canal, canal.length_mm, grid.points(found.line[-1:].T)),
        error=found.length - canal.length_mm - below,
        stated=found.length_error,
        thin=below + (float(thin.max()) if thin.size else 0.0) if canal.join is None else below,
        widths=np.concatenate([x[shown] for x in off]) / voxel,
        join_off=None if canal.join is None or found.join is None else (found.join.at - below) / voxel,
    )


def _beyond(canal: Canal, s_mm: float, point: FloatArray) -> float:
    """How far a point (3, 1) lies past a place of a canal in the direction of its orifice [mm]."""
    there, along, _, _ = canal.tube.frame(np.array([s_mm]))
    return float(((point - there) * along).sum())


def _told(found: list[Measured], counts: dict[str, int], seconds: list[float]) -> dict[str, Any]:
    error = np.array([m.error for m in found])
    over = np.array([m.over for m in found])
    covered = float(np.mean(np.abs(error) <= [m.stated for m in found]))
    widths = float(np.sqrt(np.mean(np.concatenate([m.widths for m in found]) ** 2)))
    joins = [abs(m.join_off) for m in found if m.join_off is not None]
    return {
        **counts,
        "length_error_mm": {str(q): round(float(np.percentile(error, q)), 3) for q in (0, 5, 25, 50, 75, 95, 100)},
        "length_over_limit": int(over.sum()),
        "length_interval_covers": round(covered, 3),
        "width_rms_voxels": round(widths, 3),
        "join_off_voxels": [round(x, 1) for x in sorted(joins)],
        "seconds_median": round(float(np.median(seconds)), 2),
        "passed": not (counts["missed"] or counts["invented"] or over.any()) and widths <= WIDTH_VOXELS,
    }

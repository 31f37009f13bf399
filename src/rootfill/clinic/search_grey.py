"""Canals looked for in a file of kept grey values; runs in a process of its own, since it loads much."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from rootfill.clinic.kept import Fields
from rootfill.clinic.ports import Unsearched
from rootfill.clinic.scan_result import error_mm
from rootfill.images import Volume
from rootfill.images.scan import Scanned, ScannedCanal, scan_volume
from rootfill.units import FloatArray


def search_grey(asked: Unsearched) -> Fields:
    """What is found, as ``found_canals`` holds it. Raises InputRefused."""
    values = np.load(asked.file, mmap_mode="r", allow_pickle=False).reshape(asked.shape)
    volume = Volume(values, asked.scale)
    return found_data(scan_volume(volume, asked.seeds, asked.edge), volume, asked.seeds, asked.edge)


def found_data(scanned: Scanned, volume: Volume, seeds: Sequence[Sequence[float]], edge: float | None) -> Fields:
    """What is kept of a scan. ``edge`` is the kept grey between canal and dentine where the clinician set it."""
    return {
        "canals": [_canal(canal, volume) for canal in scanned.canals],
        "seeds": [[float(x) for x in seed] for seed in seeds],
        "edge": round(float(scanned.threshold)),
        "edge_set": edge is not None,
        "step": [float(x) for x in volume.step_mm],
        "warnings": list(scanned.cautions),
    }


def _canal(canal: ScannedCanal, volume: Volume) -> dict[str, Any]:
    table = canal.stations
    return {
        "line": _rounded(canal.line),
        "length": round(float(canal.length), 3),
        "error": round(error_mm(canal, volume), 3),
        "stations": _rounded(np.stack((table.s, table.narrow, table.wide, table.wall), axis=1)),
        "seen_from": round(float(canal.seen_from), 3),
        "thin_below": round(float(canal.thin_below), 3),
        "blind": bool(canal.blind),
        "joins": None if canal.join is None else canal.join.into,
        "name": "",
        "end_set": None,
    }


def _rounded(values: FloatArray) -> list[Any]:
    return [[None if np.isnan(x) else round(float(x), 3) for x in row] for row in values]

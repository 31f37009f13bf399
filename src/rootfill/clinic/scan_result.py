"""A scanned tooth as scan.json: in mm where the scan's scale is known, and always in voxels."""

from __future__ import annotations

import json
from typing import Any

import numpy as np

from rootfill.images import Volume
from rootfill.images.scan import Scanned, ScannedCanal, ScannedRoot
from rootfill.units import FloatArray


def scan_json(scanned: Scanned, volume: Volume) -> str:
    """The result as JSON."""
    return json.dumps(scan_data(scanned, volume), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def scan_data(scanned: Scanned, volume: Volume) -> dict[str, Any]:
    """The result as plain data. Points are voxel indices [x, y, z], and again in mm, index times spacing."""
    known, step = volume.scale.known, volume.step_mm
    cell = float(step.prod())
    return {
        "voxel_mm": list(volume.scale.spacing_mm) if volume.scale.spacing_mm else None,
        "calibration": {
            "source": volume.scale.trust.value,
            "low": volume.scale.low if known else None,
            "high": volume.scale.high if known else None,
        },
        "roots": [_root(root, step, cell, known) for root in scanned.roots],
        "canals": [_canal(canal, volume) for canal in scanned.canals],
        "isthmuses": [
            {
                "canals": list(isthmus.canals),
                "low_s_mm": _mm(isthmus.low, known),
                "high_s_mm": _mm(isthmus.high, known),
            }
            for isthmus in scanned.isthmuses
        ],
        "pulp_volume_mm3": _mm(scanned.pulp_volume, known),
        "pulp_volume_voxels": _rounded(scanned.pulp_volume / cell),
        "blur_voxels": _rounded(scanned.blur),
        "noise": _rounded(scanned.noise),
        "threshold": _rounded(scanned.threshold),
        "warnings": list(scanned.cautions),
    }


def _root(root: ScannedRoot, step: FloatArray, cell: float, known: bool) -> dict[str, Any]:
    return {
        "volume_mm3": _mm(root.volume, known),
        "volume_voxels": _rounded(root.volume / cell),
        "apex": _listed(root.apex),
        "apex_mm": _listed(root.apex * step) if known else None,
    }


def _canal(canal: ScannedCanal, volume: Volume) -> dict[str, Any]:
    known, step = volume.scale.known, volume.step_mm
    line = canal.line[::-1]
    table = canal.stations
    rows = np.stack((table.s, table.narrow, table.wide, table.wall), axis=1)
    in_voxels = float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())
    return {
        "root": canal.root,
        "end": _listed(canal.end),
        "end_mm": _listed(canal.end * step) if known else None,
        "orifice": _listed(canal.orifice),
        "orifice_mm": _listed(canal.orifice * step) if known else None,
        "centreline": _listed(line),
        "centreline_mm": _listed(line * step) if known else None,
        "length_mm": _mm(canal.length, known),
        "length_error_mm": _mm(error_mm(canal, volume), known),
        "length_voxels": _rounded(in_voxels),
        "length_error_voxels": _rounded(canal.length_error / canal.length * in_voxels),
        "profile": _listed(rows) if known else None,
        "profile_voxels": None if known else _listed(rows),
        "wall_by_direction_mm": _listed(table.walls) if known else None,
        "extrapolated_below_s_mm": _mm(canal.seen_from, known),
        "extrapolated_below_share": _rounded(canal.seen_from / canal.length),
        "under_two_voxels_below_s_mm": _mm(canal.thin_below, known),
        "ends_inside": canal.blind,
        "joins": None if canal.join is None else {"canal": canal.join.into, "at_s_mm": _mm(canal.join.at, known)},
        "parts_from": canal.parts_from,
    }


def error_mm(canal: ScannedCanal, volume: Volume) -> float:
    """Half the 90 % interval of a canal's length, the scale's own error in it."""
    by_scale = canal.length * max(volume.scale.high - 1, 1 - volume.scale.low)
    return float(np.hypot(canal.length_error, by_scale))


def _mm(value: float, known: bool) -> float | None:
    return _rounded(value) if known else None


def _rounded(value: float) -> float:
    return round(float(value), 4)


def _listed(values: FloatArray) -> list[Any]:
    """Nested lists, numbers to four decimals, null for what is not known."""
    if values.ndim > 1:
        return [_listed(row) for row in values]
    return [None if np.isnan(x) else _rounded(x) for x in values]

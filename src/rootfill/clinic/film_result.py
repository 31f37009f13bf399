"""A checked film as film.json: in mm where there is a scale, and always in pixels."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import Any

import numpy as np

from rootfill.clinic.check_film import FilmResult
from rootfill.images.film import FilmVoid, pixel_mm
from rootfill.units import Estimate, FloatArray


def film_json(result: FilmResult) -> str:
    """The result as JSON."""
    return json.dumps(film_data(result), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def film_data(result: FilmResult) -> dict[str, Any]:
    """The result as plain data. Points are pixels [x, y], the middle of the first at 0, 0."""
    check, calibration = result.check, result.calibration
    way = check.apex - check.end if check.band is None else check.band.ahead
    mm = pixel_mm(calibration, way) if calibration.known and np.any(way) else None
    lines, beyond = check.lines, check.beyond
    return {
        "end_to_apex_mm": None if result.end_to_apex is None else _rounded(result.end_to_apex.value),
        "end_to_apex_px": _rounded(check.gap_px),
        "class": result.kind,
        "class_sure": result.end_to_apex is not None and len(result.may_be) == 1,
        "class_may_be": list(result.may_be),
        "end_to_apex": _estimate(result.end_to_apex),
        "end_to_foramen": _estimate(result.end_to_foramen),
        "end": _listed(check.end),
        "apex": _listed(check.apex),
        "end_found": check.end_found,
        "apex_found": check.apex_found,
        "calibration": {
            "source": calibration.says,
            "pixel_mm": None if calibration.spacing_mm is None else [_rounded(x, 6) for x in calibration.spacing_mm],
            "low": _rounded(calibration.low) if calibration.known else None,
            "high": _rounded(calibration.high) if calibration.known else None,
        },
        "voids": None if check.voids is None else [_void(void, mm) for void in check.voids],
        "smallest_void_mm": _times(check.smallest_void_px, mm),
        "smallest_void_px": _or_none(check.smallest_void_px),
        "density": [{"s_mm": _times(s, mm), "s_px": _rounded(s), "share": _rounded(d)} for s, d in check.density],
        "taper_ok": check.taper_ok,
        "beyond": {
            "core_mm": _times(beyond.core, mm),
            "core_px": _rounded(beyond.core),
            "sealer_mm": _times(beyond.sealer, mm),
            "sealer_px": _or_none(beyond.sealer),
        },
        "schneider_deg": _or_none(lines.schneider_deg, 1),
        "central_deg": _or_none(lines.central_deg, 1),
        "radius_mm": _times(lines.radius_px, mm),
        "radius_px": _or_none(lines.radius_px),
        "length_mm": None if result.length is None else _rounded(result.length.value),
        "length_px": _or_none(lines.length_px),
        "length": _estimate(result.length),
        "before": None if result.before is None else asdict(result.before),
        "urgent": list(result.urgent),
        "warnings": list(result.warnings),
    }


def _void(void: FilmVoid, mm: float | None) -> dict[str, Any]:
    return {
        "s_mm": _times(void.s, mm),
        "length_mm": _times(void.length, mm),
        "width_mm": _times(void.width, mm),
        "s_px": _rounded(void.s),
        "length_px": _rounded(void.length),
        "width_px": _rounded(void.width),
        "at_edge": void.at_edge,
    }


def _estimate(estimate: Estimate | None) -> dict[str, Any] | None:
    if estimate is None:
        return None
    return {key: _rounded(x) if isinstance(x, float) else x for key, x in asdict(estimate).items()}


def _times(px: float | None, mm: float | None) -> float | None:
    return None if px is None or mm is None else _rounded(px * mm)


def _or_none(value: float | None, places: int = 4) -> float | None:
    return None if value is None else _rounded(value, places)


def _rounded(value: float, places: int = 4) -> float:
    return round(float(value), places) + 0.0


def _listed(point: FloatArray) -> list[float]:
    return [_rounded(x, 2) for x in point]

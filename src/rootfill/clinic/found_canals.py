"""Canals found in a kept scan, as they are kept with it: lines, widths, names and ends given by the clinician.

Plain data throughout, so that a row can hold it. Points are voxel indices (x, y, z); a line runs from the end that the
picture suggests to the orifice; lengths are in mm, or in voxels where the scan has no scale.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from rootfill.clinic.kept import Fields
from rootfill.errors import InputRefused
from rootfill.units import FloatArray

FARTHEST = 0.25
"""Share of a canal's length by which an end may be set beyond the one suggested, or beside the line."""


SAME = 0.1
"""Share of a canal's length within which orifices of two searches are one canal's."""


def with_name(found: Fields, number: int, name: str) -> dict[str, Any]:
    """The canal of that number called so; another one of this name loses it, as one canal is found once."""
    _check(found, number)
    named = [{**canal, "name": "" if name and canal["name"] == name else canal["name"]} for canal in found["canals"]]
    named[number]["name"] = name
    return {**found, "canals": named}


def with_end(found: Fields, number: int, point: Sequence[float] | None) -> dict[str, Any]:
    """The end of a canal set at a voxel, or again the one suggested. Raises InputRefused for one far from the canal."""
    _check(found, number)
    canals = list(found["canals"])
    end = None if point is None else end_at(canals[number], found["step"], point)
    canals[number] = {**canals[number], "end_set": end}
    return {**found, "canals": canals}


def carried_over(found: Fields, before: Fields | None) -> dict[str, Any]:
    """What was named and set by hand stays with the canals that are found again, by the nearest orifice.

    An end that lies on no canal any more is not used, and a warning says so; nothing is moved.
    """
    canals, warnings = [dict(canal) for canal in found["canals"]], list(found["warnings"])
    step = np.array(found["step"])
    for was in before["canals"] if before is not None else ():
        if not was["name"] and was["end_set"] is None:
            continue
        orifice = np.array(was["line"][-1]) * step
        away = [float(np.linalg.norm(np.array(c["line"][-1]) * step - orifice)) for c in canals]
        nearest = int(np.argmin(away)) if away else 0
        if not away or away[nearest] > SAME * float(was["length"]):
            warnings.append(f"{was['name'] or 'A canal that you set the end of'} was not found again.")
            continue
        canals[nearest]["name"] = canals[nearest]["name"] or was["name"]
        if was["end_set"] is not None:
            try:
                canals[nearest]["end_set"] = end_at(canals[nearest], found["step"], was["end_set"]["point"])
            except InputRefused:
                warnings.append(f"The end you set of canal {nearest + 1} lies far from it now: it is not used.")
    return {**found, "canals": canals, "warnings": warnings}


def end_at(canal: Fields, step: Sequence[float], point: Sequence[float]) -> dict[str, Any]:
    """An end set by hand: the point, and how far above the suggested end it lies along the canal, below it negative.

    The nearest place of the line counts. Beyond the suggested end the canal runs straight on to the point itself.
    Raises InputRefused where the point is no part of the canal.
    """
    line, at = np.array(canal["line"]) * np.array(step), np.array(point, dtype=float) * np.array(step)
    above, away = _along(line, at)
    beyond = float(np.dot(at - line[0], _way(line)))
    length = float(canal["length"])
    if above == 0 and beyond > away / 2:
        above, away = -away, 0.0
    if away > FARTHEST * length or not -FARTHEST * length <= above < length:
        raise InputRefused("the end", None, "put the cross on the canal, near its end, and set it again")
    return {"point": [float(x) for x in point], "above": round(above, 3)}


def length_of(canal: Fields) -> float:
    """From the orifice along the centreline to the end set, or to the one suggested."""
    return float(canal["length"]) - (canal["end_set"]["above"] if canal["end_set"] else 0.0)


def stations_of(canal: Fields) -> FloatArray:
    """(n, 4): station from the end that counts, narrow, wide, thinnest wall (NaN where unknown); none below the end."""
    table = np.array(canal["stations"], dtype=float).reshape(-1, 4)
    above = canal["end_set"]["above"] if canal["end_set"] else 0.0
    table[:, 0] -= above
    return np.asarray(table[table[:, 0] >= 0])


def narrowest(canal: Fields) -> tuple[float, float] | None:
    """Station from the end that counts and width where the canal is narrowest, of what spans two voxels and is seen."""
    table = stations_of(canal)
    above = canal["end_set"]["above"] if canal["end_set"] else 0.0
    reliable = table[table[:, 0] + above >= max(canal["seen_from"], canal["thin_below"])]
    if not len(reliable):
        return None
    s, narrow = reliable[np.argmin(reliable[:, 1]), :2]
    return float(s), float(narrow)


def _along(line: FloatArray, at: FloatArray) -> tuple[float, float]:
    """Length from the line's first point to the place nearest to ``at``, and the distance between them."""
    legs = np.diff(line, axis=0)
    squared = np.maximum((legs**2).sum(axis=1), 1e-12)
    share = np.clip(((at - line[:-1]) * legs).sum(axis=1) / squared, 0.0, 1.0)
    away = np.linalg.norm(line[:-1] + share[:, None] * legs - at, axis=1)
    nearest = int(np.argmin(away))
    sizes = np.sqrt(squared)
    return float(sizes[:nearest].sum() + share[nearest] * sizes[nearest]), float(away[nearest])


def _way(line: FloatArray) -> FloatArray:
    """Unit vector in which the canal runs out of its suggested end."""
    inner = line[min(3, len(line) - 1)]
    way = line[0] - inner
    return np.asarray(way / max(float(np.linalg.norm(way)), 1e-12))


def _check(found: Fields, number: int) -> None:
    if not 0 <= number < len(found["canals"]):
        raise InputRefused("the canal", number + 1, "choose one of the list; load the page again")

"""The canals of a kept scan as the page says and draws them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from rootfill.clinic.along_canal import HALF, ROWS
from rootfill.clinic.found_canals import length_of, narrowest
from rootfill.clinic.kept import Fields, KeptCase
from rootfill.clinic.kept_picture import VOLUME, KeptPicture
from rootfill.clinic.picture_words import scale_words
from rootfill.units import FloatArray


@dataclass(frozen=True)
class CanalLine:
    """A canal in the list: all of it in words."""

    name: str
    length: str
    interval: str
    narrowest: str
    end_set: str
    suggested: str
    notes: tuple[str, ...]


@dataclass(frozen=True)
class CanalsView:
    """``drawn`` goes to the script: per canal its line as voxels, half widths in voxels along x, and its ends."""

    looked: bool
    lines: tuple[CanalLine, ...]
    names: tuple[str, ...]
    scale: str
    warnings: tuple[str, ...]
    edge: int
    edge_set: bool
    seed: str
    unit: str
    drawn: list[dict[str, Any]]


def canals_view(one: KeptPicture, kept: KeptCase) -> CanalsView | None:
    """None for a film, in which no canal is looked for."""
    if one.read.kind != VOLUME:
        return None
    found = one.canals or {"canals": [], "warnings": [], "edge": (one.read.black + one.read.white) // 2}
    unit, here = scale_words(one).unit, f"/cases/{kept.key}/pictures/{one.key}/canals"
    return CanalsView(
        looked=one.canals is not None,
        lines=tuple(_line(canal, unit) for canal in found["canals"]),
        names=tuple(str(row.entered.get("name", "")) for row in kept.canals if row.entered.get("name")),
        scale=scale_words(one).source,
        warnings=tuple(found["warnings"]),
        edge=int(found["edge"]),
        edge_set=bool(found.get("edge_set")),
        seed=", ".join(f"{x:.0f}" for x in found["seeds"][0]) if found.get("seeds") else "",
        unit=unit,
        drawn=[_drawn(canal, found["step"], i, here) for i, canal in enumerate(found["canals"])],
    )


def _line(canal: Fields, unit: str) -> CanalLine:
    length, error = length_of(canal), float(canal["error"])
    thin, end = narrowest(canal), canal["end_set"]
    notes = []
    if canal["seen_from"] > 0:
        notes.append(f"Its last {canal['seen_from']:.1f} {unit} are not seen: its direction is carried on, dashed.")
    if canal["blind"]:
        notes.append("It ends inside the dentine.")
    if canal["joins"] is not None:
        notes.append(f"It joins canal {canal['joins'] + 1}.")
    return CanalLine(
        name=canal["name"],
        length=f"{length:.1f} {unit}",
        interval=f"{max(length - error, 0):.1f} to {length + error:.1f}",
        narrowest=f"{thin[1]:.2f} {unit} wide, {thin[0]:.1f} above the end" if thin else "too thin to be measured",
        end_set="" if not end else _moved(end["above"], unit),
        suggested=f"{canal['length']:.1f} {unit}",
        notes=tuple(notes),
    )


def _moved(above: float, unit: str) -> str:
    way = "above" if above >= 0 else "below"
    return f"end set by you, {abs(above):.1f} {unit} {way} the end the picture suggests"


def _drawn(canal: Fields, step: Sequence[float], number: int, address: str) -> dict[str, Any]:
    line = np.array(canal["line"], dtype=float)
    s = _stations(line * np.array(step), float(canal["length"]))
    table = np.array(canal["stations"], dtype=float).reshape(-1, 4)
    half = [np.interp(s, table[:, 0], table[:, k]) / 2 / step[0] for k in (1, 2)]
    return {
        "label": canal["name"] or f"canal {number + 1}",
        "line": line.round(2).tolist(),
        "narrow": half[0].round(2).tolist(),
        "wide": half[1].round(2).tolist(),
        "unseen": int(np.count_nonzero(s < canal["seen_from"])),
        "s": s.round(3).tolist(),
        "length": canal["length"],
        "along": f"{address}/{number}/along",
        "rows": ROWS,
        "columns": 2 * HALF + 1,
        "above": canal["end_set"]["above"] if canal["end_set"] else None,
        "end": canal["end_set"]["point"] if canal["end_set"] else None,
    }


def _stations(line: FloatArray, length: float) -> FloatArray:
    """Station of each point of a line, in the lengths that are said."""
    run = np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))))
    return np.asarray(run * (length / run[-1]) if run[-1] > 0 else run)

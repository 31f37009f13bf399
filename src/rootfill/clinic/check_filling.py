"""Two scans in, before and after filling; the filling's voids out, as data and as lines to read."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rootfill.clinic.urgent import urgent_path
from rootfill.images import Volume
from rootfill.images.filling import Checked, Figure, check_filling
from rootfill.images.filling.model import THIRDS
from rootfill.images.read import read_volume

READING = 0.1
"""Share of the time that goes into reading each scan."""


@dataclass(frozen=True, eq=False)
class FillingResult:
    """What was found, the prepared scan it was found in, and what is urgent."""

    checked: Checked
    volume: Volume
    urgent: tuple[str, ...]


def check_files(
    prepared: Path,
    filled: Path,
    spacing_mm: tuple[Sequence[float] | None, Sequence[float] | None] = (None, None),
    seeds: Sequence[Sequence[float]] = (),
    tooth: int | None = None,
    keep_going: Callable[[float], None] = lambda _: None,
) -> FillingResult:
    """Read both scans and compare them; ``tooth`` in ISO 3950. Raises InputRefused."""
    urgent_path(tooth, 1.0)  # a tooth there is not is refused before the long work
    first = read_volume(prepared, spacing_mm[0], progress=lambda share: keep_going(READING * share))
    second = read_volume(filled, spacing_mm[1], progress=lambda share: keep_going(READING * (1 + share)))
    found = check_filling(first, second, seeds, lambda share: keep_going(2 * READING + (1 - 2 * READING) * share))
    beyond = found.beyond.length if found.beyond is not None and first.scale.known else 0.0
    return FillingResult(found, first, urgent_path(tooth, beyond))


def filling_json(result: FillingResult) -> str:
    """The result as JSON."""
    return json.dumps(filling_data(result), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def filling_data(result: FillingResult) -> dict[str, Any]:
    """The result as plain data: percent of the prepared canal's volume; null where the voxels cannot carry it."""
    found, known = result.checked, result.volume.scale.known
    parts, laid, beyond = found.percents, found.laid, found.beyond
    figures = None if parts is None else {"all": parts.all, **dict(zip(THIRDS, parts.thirds, strict=True))}
    return {
        "void_percent": None if figures is None else {name: _rounded(one.percent) for name, one in figures.items()},
        "inside_percent": None if parts is None else _rounded(parts.inside.percent),
        "wall_percent": None if parts is None else _rounded(parts.wall.percent),
        "unfilled_percent": None if parts is None else _rounded(parts.unfilled),
        "interval": None
        if parts is None or figures is None
        else {
            "void_percent": {name: _ends(one) for name, one in figures.items()},
            "inside_percent": _ends(parts.inside),
            "wall_percent": _ends(parts.wall),
        },
        "per_mm": None
        if parts is None
        else [
            {
                "from_mm": _rounded(row.from_mm),
                "to_mm": _rounded(row.to_mm),
                "void_percent": _rounded(row.void),
                "unfilled_percent": _rounded(row.unfilled),
            }
            for row in parts.per_mm
        ],
        "beyond": None
        if beyond is None or not known
        else {"length_mm": _rounded(beyond.length), "volume_mm3": _rounded(beyond.volume)},
        "beyond_voxels": None if beyond is None else _rounded(beyond.volume / float(result.volume.step_mm.prod())),
        "canal_length_mm": _rounded(found.length) if known and found.length is not None else None,
        "canal_voxels": None if found.canal_voxels is None else _rounded(found.canal_voxels),
        "void_voxels": None if found.void_voxels is None else _rounded(found.void_voxels),
        "voxel_mm": list(result.volume.scale.spacing_mm) if result.volume.scale.spacing_mm else None,
        "smallest_void_mm3": round(found.smallest, 9) if known else None,
        "registration": None
        if laid is None
        else {
            "shift_mm": _rounded(laid.shift) if known else None,
            "angle_deg": _rounded(laid.angle_deg),
            "residual_mm": _rounded(laid.residual) if known else None,
            "residual_voxels": _rounded(laid.residual / float(result.volume.step_mm.max())),
        },
        "urgent": list(result.urgent),
        "warnings": list(found.warnings),
    }


def filling_lines(result: FillingResult) -> list[str]:
    """The result as lines to read, the urgent first."""
    found, volume = result.checked, result.volume
    known = volume.scale.known
    unit = "mm" if known else "voxels"
    lines = [f"! {sentence}" for sentence in result.urgent]
    shape = " × ".join(str(n) for n in volume.values.shape[::-1])
    size = " × ".join(f"{x:g}" for x in volume.step_mm)
    lines.append(f"{shape} voxels of {size} {unit} ({volume.scale.trust.value})")
    if found.laid is not None:
        laid = found.laid
        moved = f"filled scan shifted by {laid.shift:.2f} {unit} and turned by {laid.angle_deg:.1f}°"
        lines.append(f"{moved}; surfaces {laid.residual:.3f} {unit} apart once aligned")
    if found.percents is not None:
        parts = found.percents
        lines.append(f"voids      {_said(parts.all)} of the prepared canal, {found.length:.1f} mm long")
        lines += [f"  {name:8} {_said(one)}" for name, one in zip(THIRDS, parts.thirds, strict=True)]
        lines.append(f"  inside   {_said(parts.inside)}")
        lines.append(f"  wall     {_said(parts.wall)}")
        lines.append(f"not filled {parts.unfilled:.1f} %, below the filling's end and above its top")
        lines.append(f"voids under {found.smallest:.2g} mm³ are not counted")
    elif found.void_voxels is not None and found.canal_voxels is not None:
        lines.append(f"canal {found.canal_voxels:.0f} voxels, voids {found.void_voxels:.0f} voxels")
    if found.beyond is not None:
        volume_said = f"{found.beyond.volume:.3f} {unit}³"
        lines.append(f"beyond the end: {found.beyond.length:.2f} {unit} of filling, {volume_said}")
    return lines + [f"! {sentence}" for sentence in found.warnings]


def _said(figure: Figure) -> str:
    return f"{figure.percent:5.2f} % ({figure.low:.2f} to {figure.high:.2f})"


def _ends(figure: Figure) -> list[float]:
    return [_rounded(figure.low), _rounded(figure.high)]


def _rounded(value: float) -> float:
    return round(float(value), 4)

"""The command ``scan``: roots and canals of a tooth from a scan, on the terminal, as JSON, into a case."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rootfill import clinic
from rootfill.cli.files import read_bytes, write_all
from rootfill.cli.progress import progress
from rootfill.errors import InputRefused
from rootfill.units import parse_number

if TYPE_CHECKING:
    from rootfill.clinic.scan_volume import ScanResult

Points = Annotated[list[str] | None, typer.Option("--seed", metavar="x,y,z", help="a voxel in the tooth; repeatable")]
Spacing = Annotated[
    str | None, typer.Option("--spacing", metavar="MM", help="size of a voxel: one number, or x,y,z; outranks the file")
]


def scan(
    volume: Annotated[Path, typer.Argument(metavar="VOLUME", help="scan: a file, a folder, a zip")],
    seed: Points = None,
    spacing: Spacing = None,
    threshold: Annotated[
        float | None, typer.Option(help="grey of the edge of dentine; found from the scan by default")
    ] = None,
    json_to: Annotated[
        Path | None, typer.Option("--json", metavar="FILE", help="write scan.json here; - prints it")
    ] = None,
    case: Annotated[Path | None, typer.Option("--case", metavar="CASE", help="case file the canals drop into")] = None,
    canal: Annotated[
        list[str] | None,
        typer.Option("--canal", metavar="NAME=N", help="which scanned canal is which of the case; repeatable"),
    ] = None,
) -> None:
    """Find roots and canals in a scan: lengths, widths, walls, joins."""
    from rootfill.clinic.scan_result import scan_json
    from rootfill.clinic.scan_volume import scan_file

    seeds = [numbers(text, "seed", (3,)) for text in seed or ()]
    with progress("scan") as keep_going:
        found = scan_file(volume, seeds, spacing_of(spacing), threshold, keep_going)
    files = {}
    if case is not None:
        files[case] = _dropped(case, found, canal or ()).encode()
    if json_to is not None and str(json_to) != "-":
        files[json_to] = scan_json(found.scanned, found.volume).encode()
    if files:
        write_all(files, keep=[volume])
    if str(json_to) == "-":
        sys.stdout.write(scan_json(found.scanned, found.volume))
    else:
        _show(found, files)


def numbers(text: str, field: str, counts: tuple[int, ...], such: str = "120,96,40") -> list[float]:
    """Numbers typed with points, commas between. Raises InputRefused."""
    parts = text.split(",")
    try:
        if len(parts) not in counts:
            raise ValueError
        return [parse_number(part) for part in parts]
    except ValueError:
        wanted = " or ".join(str(n) for n in counts)
        raise InputRefused(field, text, f"{wanted} numbers with commas between, such as {such}") from None


def spacing_of(text: str | None) -> list[float] | None:
    """A spacing typed as one number or three."""
    if text is None:
        return None
    typed = numbers(text, "spacing", (1, 3), "0.2 or 0.2,0.2,0.25")
    return typed * 3 if len(typed) == 1 else typed


def _dropped(case: Path, found: ScanResult, canals: list[str] | tuple[()]) -> str:
    from rootfill.clinic.drop_canals import drop_canals

    if not found.volume.scale.known:
        raise InputRefused("spacing", None, "a case is in mm: give --spacing")
    named = {}
    for text in canals:
        name, _, number = text.rpartition("=")
        if not name or not number.isdecimal():
            raise InputRefused("canal", text, "a canal of the case and the number of a scanned one, such as MB=1")
        named[name] = int(number)
    return drop_canals(clinic.text_of(read_bytes(case), str(case)), found.scanned, named)


def _show(found: ScanResult, written: dict[Path, bytes]) -> None:
    sys.stdout.write(
        "\n".join((*_lines(found), *(f"! {x}" for x in found.scanned.cautions), *(f"written {x}" for x in written)))
        + "\n"
    )


def _up(error: float) -> str:
    """An error, never rounded to less than it is: one decimal."""
    return f"{-(-error * 10 // 1) / 10:.1f}"


def _lines(found: ScanResult) -> list[str]:
    from rootfill.clinic.scan_result import error_mm

    scanned, volume = found.scanned, found.volume
    unit = "mm" if volume.scale.known else "voxels"
    shape = " × ".join(str(n) for n in volume.values.shape[::-1])
    size = " × ".join(f"{x:g}" for x in volume.step_mm)
    lines = [f"{shape} voxels of {size} {unit} ({volume.scale.trust.value})"]
    for i, canal in enumerate(scanned.canals, 1):
        table = canal.stations
        wide = f"{table.narrow[0]:.2f} {unit} at the end, {table.narrow[-1]:.2f} at the orifice"
        length = f"{canal.length:.1f} {unit} ± {_up(error_mm(canal, volume))}"
        lines.append(f"canal {i}  root {canal.root + 1}  length {length}, {wide}")
        if canal.join is not None:
            lines.append(f"         joins canal {canal.join.into + 1} {canal.join.at:.1f} {unit} from the end")
    for isthmus in scanned.isthmuses:
        between = " and ".join(str(number + 1) for number in isthmus.canals)
        lines.append(f"isthmus  between canals {between}, {isthmus.low:.1f} to {isthmus.high:.1f} {unit} from the end")
    lines.append(
        f"pulp space {scanned.pulp_volume:.1f} {unit}³; roots "
        + ", ".join(f"{r.volume:.0f} {unit}³" for r in scanned.roots)
    )
    return lines

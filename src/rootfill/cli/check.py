"""The command ``check``: voids of a filling from scans before and after, on the terminal or as JSON."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from rootfill.cli.files import write_all
from rootfill.cli.progress import progress
from rootfill.cli.scan import numbers, spacing_of

Spacing = Annotated[
    str | None,
    typer.Option("--spacing", metavar="MM", help="size of a voxel of both: one number, or x,y,z; outranks the files"),
]


def check(
    prepared: Annotated[Path, typer.Argument(metavar="PREPARED", help="scan after preparation: file, folder, zip")],
    filled: Annotated[Path, typer.Argument(metavar="FILLED", help="scan after filling; need not lie the same way")],
    spacing: Spacing = None,
    filled_spacing: Annotated[
        str | None, typer.Option("--filled-spacing", metavar="MM", help="size of a voxel of FILLED, where it differs")
    ] = None,
    seed: Annotated[
        list[str] | None,
        typer.Option("--seed", metavar="x,y,z", help="a voxel in the empty canal of PREPARED; repeatable"),
    ] = None,
    tooth: Annotated[int | None, typer.Option("--tooth", help="the tooth, ISO 3950: what lies near its end")] = None,
    json_to: Annotated[
        Path | None, typer.Option("--json", metavar="FILE", help="write check.json here; - prints it")
    ] = None,
) -> None:
    """Measure the voids of a filling from scans before and after it."""
    from rootfill.clinic.check_filling import check_files, filling_json, filling_lines

    seeds = [numbers(text, "seed", (3,)) for text in seed or ()]
    first = spacing_of(spacing)
    second = first if filled_spacing is None else spacing_of(filled_spacing)
    with progress("check") as keep_going:
        found = check_files(prepared, filled, (first, second), seeds, tooth, keep_going)
    if str(json_to) == "-":
        sys.stdout.write(filling_json(found))
        return
    if json_to is not None:
        write_all({json_to: filling_json(found).encode()}, keep=[prepared, filled])
    lines = filling_lines(found) + ([f"written {json_to}"] if json_to is not None else [])
    sys.stdout.write("\n".join(lines) + "\n")

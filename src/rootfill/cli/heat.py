"""The command ``heat``: how warm a section gets, on the terminal or as JSON."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from rootfill import clinic
from rootfill.cli.files import read_bytes, write_all

if TYPE_CHECKING:
    from rootfill.clinic.heat_section import HeatResult


def heat(
    section: Annotated[Path, typer.Argument(metavar="SECTION", help="section file, TOML; - reads standard input")],
    json_to: Annotated[
        Path | None, typer.Option("--json", metavar="FILE", help="write the result here; - prints it")
    ] = None,
) -> None:
    """Compute how warm a filling and the surface of its root get."""
    from rootfill.clinic.heat_section import heat_json, heat_section

    found = heat_section(clinic.text_of(read_bytes(section), str(section)))
    if str(json_to) == "-":
        sys.stdout.write(heat_json(found))
        return
    if json_to is not None:
        write_all({json_to: heat_json(found).encode()}, keep=[section])
    _show(found)


def _show(result: HeatResult) -> None:
    """Peak rise with its error, the filling ahead of the tip, what the run cost, the cautions."""
    sys.stdout.write("\n".join((*_lines(result), *(f"! {caution}" for caution in result.cautions))) + "\n")


def _lines(result: HeatResult) -> tuple[str, ...]:
    at = f"{result.at_s_mm:.1f} mm from the end, {result.at_time_s:.1f} s after the start"
    ahead = ", ".join(f"{far} mm: {'–' if c is None else f'{c:.1f} °C'}" for far, c in result.ahead_c.items())
    soft = ", ".join(f"{c} °C to {far:.1f} mm" for c, far in result.softened_ahead_mm.items())
    dose = "none given" if result.cem43_min is None else f"{result.cem43_min:.2g} min"
    return (
        f"peak rise on the root's surface  {result.surface_rise_c:.1f} °C (± {_up(result.error_c)}), {at}",
        f"on the axis, below the tip       {ahead}",
        f"warmed ahead of the tip          {soft}",
        f"largest dose on the surface      {dose} at 43 °C",
        f"heat not accounted for           {result.energy_error:.0e} of all; computed in {result.wall_s:.2f} s",
    )


def _up(error_c: float) -> str:
    """An error, never rounded to less than it is: two decimals."""
    return f"{-(-error_c * 100 // 1) / 100:.2f}"

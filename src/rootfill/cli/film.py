"""The command ``film``: a filling on a radiograph, on the terminal or as JSON."""

import sys
from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from rootfill.cli.files import write_all
from rootfill.cli.scan import numbers
from rootfill.units import Estimate, shown

if TYPE_CHECKING:
    from rootfill.clinic.check_film import FilmResult, Pointed


def _text(name: str, metavar: str, says: str) -> Any:
    return typer.Option(name, metavar=metavar, help=says)


@dataclass(frozen=True)
class Asked:
    """What the command takes; its fields are its options, read as they stand."""

    image: Annotated[Path, typer.Argument(metavar="IMAGE", help="film: DICOM, PNG, JPEG or TIFF")]
    apex: Annotated[str | None, _text("--apex", "x,y", "radiographic apex, in pixels; never moved")] = None
    end: Annotated[str | None, _text("--end", "x,y", "apical end of the filling, in pixels; never moved")] = None
    canal: Annotated[list[str] | None, _text("--canal", "x,y", "a point of the canal, apical first; repeatable")] = None
    reference: Annotated[str | None, _text("--reference", "x,y", "where lengths are read from")] = None
    ruler: Annotated[str | None, _text("--ruler", "x1,y1,x2,y2,MM", "two points a known length apart")] = None
    file_line: Annotated[
        str | None, _text("--file-line", "x1,y1,…,MM", "a file of known length in the canal, from tip to stop")
    ] = None
    spacing: Annotated[str | None, _text("--spacing", "MM", "size of a pixel at the tooth: one number, or x,y")] = None
    tooth: Annotated[str | None, _text("--tooth", "NN", "tooth number, ISO 3950")] = None
    before: Annotated[Path | None, _text("--before", "IMAGE", "a film of the same tooth before filling")] = None
    json_to: Annotated[Path | None, _text("--json", "FILE", "write film.json here; - prints it")] = None


def _from_options(run: Callable[[Asked], None]) -> Callable[..., None]:
    """A command whose options are the fields of :class:`Asked`."""

    @wraps(Asked)
    def command(*values: Any, **typed: Any) -> None:
        run(Asked(*values, **typed))

    command.__doc__ = run.__doc__
    command.__name__ = run.__name__
    return command


@_from_options
def film(asked: Asked) -> None:
    """Check a filling on a film: where it ends, voids, taper, what lies beyond the apex."""
    from rootfill.clinic.check_film import check_film_file
    from rootfill.clinic.film_result import film_json

    found = check_film_file(asked.image, _pointed(asked))
    if str(asked.json_to) == "-":
        sys.stdout.write(film_json(found))
        return
    if asked.json_to is not None:
        write_all({asked.json_to: film_json(found).encode()}, keep=[asked.image])
    sys.stdout.write("\n".join((*_lines(found), *(f"! {x}" for x in (*found.urgent, *found.warnings)))) + "\n")


def _pointed(asked: Asked) -> "Pointed":
    from rootfill.clinic.check_film import Pointed, marks_of

    canal = [numbers(text, "canal", (2,), "310,420") for text in asked.canal or ()]
    marks = marks_of(_point(asked.apex, "apex"), _point(asked.end, "end"), canal, _point(asked.reference, "reference"))
    spacing = None if asked.spacing is None else numbers(asked.spacing, "spacing", (1, 2), "0.03 or 0.03,0.03")
    return Pointed(
        marks,
        None if asked.ruler is None else _line(numbers(asked.ruler, "ruler", (5,), "310,420,310,700,10")),
        None if asked.file_line is None else _line(numbers(asked.file_line, "file-line", ODD, "310,420,310,700,10")),
        spacing * 2 if spacing is not None and len(spacing) == 1 else spacing,
        asked.tooth,
        asked.before,
    )


ODD = tuple(range(5, 202, 2))


def _point(text: str | None, field: str) -> list[float] | None:
    return None if text is None else numbers(text, field, (2,), "310,420")


def _line(typed: list[float]) -> Any:
    """Points (n, 2) and the length in mm typed after them."""
    import numpy as np

    return np.array(typed[:-1]).reshape(-1, 2), typed[-1]


def _lines(found: "FilmResult") -> list[str]:
    check = found.check
    kind = " or ".join(found.may_be) or found.kind or "no class without a scale"
    where = _said(found.end_to_apex, check.gap_px)
    lines = [
        f"end of the filling to the radiographic apex  {where}  {kind}",
        f"end of the filling to where the foramen may be  {_said(found.end_to_foramen, None)}",
        f"scale  {found.calibration.says}",
    ]
    if check.lines.length_px is not None:
        lines.append(f"reference to radiographic apex  {_said(found.length, check.lines.length_px)}")
    if check.lines.schneider_deg is not None and check.lines.central_deg is not None:
        bend = f"Schneider {check.lines.schneider_deg:.0f}°, along the canal {check.lines.central_deg:.0f}°"
        lines.append(f"angle  {bend}")
    if check.voids is not None:
        lines.append(f"voids seen  {len(check.voids)}; taper {'goes on' if check.taper_ok else 'is broken'}")
    return lines


def _said(estimate: Estimate | None, px: float | None) -> str:
    if estimate is not None:
        return shown(estimate)
    return "not known without a scale" if px is None else f"{px:.0f} pixels"

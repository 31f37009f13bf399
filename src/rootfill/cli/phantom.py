"""The command ``phantom``: an invented tooth as scans, with the truth beside them."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from rootfill.cli.files import write_all

if TYPE_CHECKING:
    from rootfill.clinic.make_phantom import Order, PictureFiles


WORDS = (
    "curved, oval, joined, isthmus, filled; for a film no isthmus, but short, flush, over, puff, file, crown, "
    "neighbour, edge, upper, inverted, linear; as often as you like"
)


def phantom_command(make_pictures: Callable[[], PictureFiles]) -> Callable[..., None]:
    """The command, with whatever writes pictures."""

    def phantom(
        out: Annotated[Path, typer.Argument(metavar="OUT", help="folder to write into")],
        like: Annotated[str, typer.Option(help="cbct, micro or film")] = "cbct",
        canals: Annotated[int, typer.Option(help="1 to 4")] = 1,
        seed: Annotated[int, typer.Option(help="the same number gives the same tooth")] = 1,
        voxel: Annotated[float | None, typer.Option(metavar="MM", help="size of a voxel, or of a film's pixel")] = None,
        having: Annotated[
            list[str] | None,
            typer.Option("--with", metavar="WORD", help=WORDS),
        ] = None,
        tilt: Annotated[
            float, typer.Option(metavar="DEG", help="turn the tooth in the scan; tip the beam of a film")
        ] = 0.0,
        json_to: Annotated[
            Path | None, typer.Option("--json", metavar="FILE", help="write the truth here too; - prints it")
        ] = None,
    ) -> None:
        """Make an invented tooth: scans or a film, the truth beside them."""
        from rootfill.clinic.make_phantom import Order

        order = Order(like, canals, seed, voxel, frozenset(having or ()), tilt)
        _write(order, make_pictures(), out, json_to)

    return phantom


def _write(order: Order, pictures: PictureFiles, out: Path, json_to: Path | None) -> None:
    """Everything or nothing."""
    from rootfill.clinic.make_phantom import make_phantom, phantom_json

    files, truth = make_phantom(order, pictures)
    targets = {out / name: content for name, content in files.items()}
    if json_to is not None and str(json_to) != "-":
        targets[json_to] = phantom_json(truth).encode()
    write_all(targets)
    sys.stdout.write(phantom_json(truth) if str(json_to) == "-" else "\n".join((*_lines(truth), f"wrote {out}")) + "\n")


def _lines(truth: dict[str, Any]) -> list[str]:
    """A line for each canal, one for the voids."""
    if "pixel_object_mm" in truth:
        return [_on_film(canal) for canal in truth["canals"]]
    lines = [f"{c['name']}: {c['length_mm']:.2f} mm, {c['kind']}" for c in truth["canals"]]
    if "filling" in truth:
        lines.append(f"voids: {truth['filling']['void_percent']:.2f} % of the canals")
    return lines


def _on_film(canal: dict[str, Any]) -> str:
    """A canal as the film shows it."""
    said = f"{canal['name']}: {canal['length_mm']:.2f} mm long on the film"
    if canal["filling"] is None:
        return said
    gap = canal["filling"]["end_to_apex_mm"]
    return f"{said}, filled to {abs(gap):.2f} mm {'short of' if gap >= 0 else 'beyond'} the radiographic apex"

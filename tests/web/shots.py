"""Invented pictures, and a reader that takes an array file for one."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rootfill.clinic.kept import Fields
from rootfill.clinic.kept_picture import FILM, PictureRead
from rootfill.clinic.ports import Unread, Unsearched
from rootfill.clinic.read_picture import keep_grey
from rootfill.errors import InputRefused, NotKept, Said
from rootfill.images import NO_SCALE, Film, Scale, Trust, Volume

HEAD_UP = np.diag([1.0, 1.0, 1.0, 1.0])


class ArrayReader:
    """Takes .npy files: one of three axes is a scan, of two a film, several films of one size a scan."""

    def __init__(self, spacing_mm: float | None = 0.2) -> None:
        super().__init__()
        self.spacing_mm = spacing_mm
        self.before: Callable[[], None] = lambda: None

    def read_picture(self, unread: Unread, gone: Callable[[], bool]) -> PictureRead:
        self.before()
        if gone():
            raise NotKept("Given up.")
        values = _values(unread.source)
        axes = 2 if unread.kind == FILM else 3
        if values.ndim != axes:
            raise InputRefused("the picture", Said(f"an array of {values.ndim} axes"), f"a {unread.kind} has {axes}")
        scale = NO_SCALE if self.spacing_mm is None else Scale((self.spacing_mm,) * axes, Trust.PATIENT, 0.98, 1.02)
        if unread.spacing_mm is not None:
            scale = Scale(unread.spacing_mm, Trust.ENTERED)
        picture = Film(values, scale) if axes == 2 else Volume(values, scale, HEAD_UP)
        return keep_grey(picture, unread.target)


class Finds:
    """Has canals ready, wherever they are looked for; remembers what was asked."""

    def __init__(self) -> None:
        self.found: Fields = made_up()
        self.asked: list[Unsearched] = []

    def find_canals(self, asked: Unsearched, gone: Callable[[], bool]) -> Fields:
        if gone():
            raise NotKept("Given up.")
        self.asked.append(asked)
        return {**self.found, "seeds": [list(seed) for seed in asked.seeds], "edge_set": asked.edge is not None}


def made_up() -> dict[str, Any]:
    """Two straight canals of 10 mm along z, voxels of 0.2 mm: the first not seen over its last 1 mm."""
    line = [[8.0, 8.0, float(z)] for z in range(51)]
    one: dict[str, Any] = {
        "line": line,
        "length": 10.0,
        "error": 0.25,
        "stations": [[s / 2, 0.3 + 0.02 * s, 0.4 + 0.02 * s, None if s == 0 else 1.0] for s in range(21)],
        "seen_from": 1.0,
        "thin_below": 2.0,
        "blind": False,
        "joins": None,
        "name": "",
        "end_set": None,
    }
    other = {**one, "line": [[14.0, 8.0, z] for _, _, z in line], "seen_from": 0.0, "joins": 0}
    return {
        "canals": [one, other], "seeds": [], "edge": 900, "edge_set": False, "step": [0.2, 0.2, 0.2],
        "warnings": ["Invented for tests."],
    }  # fmt: skip


class Holds:
    """Has one picture ready, whatever came."""

    def __init__(self, picture: Volume | Film) -> None:
        self.picture = picture

    def read_picture(self, unread: Unread, _gone: Callable[[], bool]) -> PictureRead:
        return keep_grey(self.picture, unread.target)


def as_file(values: NDArray[Any]) -> bytes:
    held = io.BytesIO()
    np.save(held, values)
    return held.getvalue()


def ramps(shape: tuple[int, ...] = (6, 5, 4), dtype: str = "u2") -> NDArray[Any]:
    """Every voxel has a grey of its own: its place in the array."""
    return np.arange(np.prod(shape), dtype=dtype).reshape(shape)


def upload(*files: tuple[str, bytes], **texts: str) -> dict[str, Any]:
    """What a browser sends of the form."""
    return {"files": [("files", (name, content)) for name, content in files], "data": texts}


def _values(source: Path) -> NDArray[Any]:
    files = sorted(source.iterdir()) if source.is_dir() else [source]
    try:
        read = [np.load(file, allow_pickle=False) for file in files]
    except (ValueError, EOFError):
        raise InputRefused("the picture", Said("no picture"), "choose a scan or a film") from None
    return read[0] if len(read) == 1 else np.stack(read)

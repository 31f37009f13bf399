"""Plain pictures: TIFF, PNG, JPEG; one is a film, many are the slices of a volume."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np

from rootfill.errors import InputRefused, Said
from rootfill.images.model import NO_SCALE, Film, Grey, Volume
from rootfill.images.read.limits import check_size
from rootfill.images.read.scales import VOXELS_ONLY, volume_scale

NO_RESOLUTION = f"A plain picture states no scale that can be believed: {VOXELS_ONLY}."


def read_pages(paths: Sequence[Path], spacing_mm: Sequence[float] | None, progress: Callable[[float], None]) -> Volume:
    """A volume from pages in order: of one TIFF, or of one file each. Raises InputRefused."""
    pages = [(path, i) for path in paths for i in range(_count(path))]
    if len(pages) < 2:
        raise InputRefused(
            paths[0].name, Said("a single picture"), "a volume has two slices or more; a film is read as a film"
        )
    first = _page(*pages[0])
    check_size(paths[0].name, (*first.shape[::-1], len(pages)))
    values = np.empty((len(pages), *first.shape), dtype=first.dtype)
    for k, (path, i) in enumerate(pages):
        progress(k / len(pages))
        page = _page(path, i)
        if page.shape != first.shape or page.dtype != first.dtype:
            raise InputRefused(
                path.name, Said("of another size or depth than the first slice"), "choose the slices of one scan"
            )
        values[k] = page
    scale, cautions = volume_scale(None, spacing_mm)
    order = "Slices are taken in the order of their names or pages; nothing in them says which way is up."
    return Volume(values, scale, None, (*cautions, order))


def read_picture(path: Path) -> Film:
    """A film from a plain picture. Raises InputRefused."""
    return Film(
        _page(path, 0), NO_SCALE, (NO_RESOLUTION, "A plain picture is taken as bright where the tooth is dense.")
    )


def _opened(path: Path) -> Any:
    from PIL import Image, UnidentifiedImageError

    Image.MAX_IMAGE_PIXELS = None
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return Image.open(path)
    except (UnidentifiedImageError, OSError, ValueError, SyntaxError):
        raise InputRefused(
            path.name, Said("damaged or of a kind that is not read here"), "copy or export it again"
        ) from None


@contextmanager
def _in_a_sentence(path: Path) -> Iterator[None]:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield
    except Exception:  # a damaged picture makes its decoder raise anything
        raise InputRefused(path.name, Said("damaged or cut short"), "copy or export it again") from None


def _count(path: Path) -> int:
    with _opened(path) as picture, _in_a_sentence(path):
        return int(getattr(picture, "n_frames", 1))


def _page(path: Path, number: int) -> Grey:
    with _opened(path) as picture:
        check_size(path.name, picture.size)
        with _in_a_sentence(path):
            picture.seek(number)
            values = np.asarray(picture)
    return _grey(path, values, picture.mode)


def _grey(path: Path, values: Grey, mode: str) -> Grey:
    if values.ndim == 3 and values.shape[2] in (3, 4) and mode in ("RGB", "RGBA"):
        colour = values[..., :3]
        if (colour.max(axis=2) - colour.min(axis=2)).max() > 2:
            raise InputRefused(path.name, Said("in colour"), "choose a radiograph or a scan, not a photograph")
        return np.ascontiguousarray(values[..., 0])
    if values.ndim == 3 and values.shape[2] == 2:
        return np.ascontiguousarray(values[..., 0])
    if mode == "P" or values.ndim != 2:
        raise InputRefused(path.name, Said("in colour or with a palette"), "export it in greys")
    return values.astype(np.uint8) * 255 if values.dtype == bool else values

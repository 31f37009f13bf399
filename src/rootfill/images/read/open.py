"""A path to a scan or a film: by what it holds, to whoever reads it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from rootfill.errors import InputRefused, Said
from rootfill.images.model import Film, Volume
from rootfill.images.read.limits import MOST_FILES
from rootfill.images.read.packed import unpacked
from rootfill.images.read.scales import against, entered_scale, lying
from rootfill.images.read.what import Kind, kind_of

Progress = Callable[[float], None]
READ = "DICOM, NRRD, NIfTI, MetaImage, or slices as TIFF or PNG are read"
FILMS = "a film as DICOM, PNG, JPEG or TIFF is read"
INSTALL = "install rootfill[pictures] to read pictures"


def read_volume(
    path: Path,
    spacing_mm: Sequence[float] | None = None,
    *,
    series: str | None = None,
    progress: Progress = lambda _: None,
) -> Volume:
    """A scan from a file, a folder or a zip. ``spacing_mm`` (x, y, z) outranks what the files say.

    ``series`` picks one of several in a folder, by its number or identifier. Raises InputRefused.
    """
    try:
        return _checked(_volume(path, spacing_mm, series, progress))
    except ModuleNotFoundError as error:
        raise InputRefused("this installation", Said(f"without {error.name}"), INSTALL) from None
    except MemoryError:
        raise InputRefused(
            path.name, Said("too large for the memory of this machine"), "crop or export it coarser"
        ) from None


def read_film(path: Path, spacing_mm: Sequence[float] | None = None) -> Film:
    """A film from a file. ``spacing_mm`` (x, y) outranks what the file says. Raises InputRefused."""
    from rootfill.images.read import plain, projection

    try:
        kind = kind_of(path)
        if kind is Kind.ZIP:
            with unpacked(path) as folder:
                return read_film(_only_one(path, folder), spacing_mm)
        if kind is Kind.DICOM:
            film = projection.read_dicom_film(path)
        elif kind in (Kind.PNG, Kind.JPEG, Kind.TIFF):
            film = plain.read_picture(path)
        else:
            raise InputRefused(path.name, Said(kind.value), FILMS)
    except ModuleNotFoundError as error:
        raise InputRefused("this installation", Said(f"without {error.name}"), INSTALL) from None
    if min(film.values.shape) < 16:
        raise InputRefused(path.name, Said("too small to be a film"), FILMS)
    if spacing_mm is None:
        return film
    entered = entered_scale(spacing_mm, 2, "pixel_range_mm")
    return replace(film, scale=entered, cautions=(*film.cautions, *against(spacing_mm, film.scale.spacing_mm)))


def _only_one(path: Path, folder: Path) -> Path:
    """The one file of a zip."""
    files = sorted(folder.iterdir())
    if len(files) != 1:
        raise InputRefused(path.name, Said(f"a zip of {len(files)} files"), "a film is one picture: choose it alone")
    return files[0]


def _volume(path: Path, spacing_mm: Sequence[float] | None, series: str | None, progress: Progress) -> Volume:
    if path.is_dir():
        return _folder(path, spacing_mm, series, progress)
    kind = kind_of(path)
    if kind is Kind.ZIP:
        with unpacked(path) as folder:
            return _folder(folder, spacing_mm, series, progress)
    return _files(path, kind, [path], spacing_mm, series, progress)


def _folder(folder: Path, spacing_mm: Sequence[float] | None, series: str | None, progress: Progress) -> Volume:
    """The one scan in a folder and those below it."""
    paths = sorted(p for p in _walked(folder) if p.is_file())
    if len(paths) > MOST_FILES:
        raise InputRefused(folder.name, Said(f"a folder of more than {MOST_FILES} files"), "choose one scan alone")
    kinds: dict[Kind, list[Path]] = {}
    for path in paths:
        if path.stat().st_size and not path.name.startswith(".") and path.name.upper() != "DICOMDIR":
            kinds.setdefault(kind_of(path), []).append(path)
    for kind in (Kind.DICOM, Kind.NRRD, Kind.NIFTI, Kind.META, Kind.TIFF, Kind.PNG):
        if found := kinds.get(kind):
            return _files(folder, kind, found, spacing_mm, series, progress)
    raise InputRefused(folder.name or str(folder), Said("a folder without a scan in it"), READ)


def _walked(folder: Path) -> list[Path]:
    """Files of a folder and of folders in it; links are not followed."""
    found: list[Path] = []
    waiting = [folder]
    while waiting and len(found) <= MOST_FILES:
        for path in sorted(waiting.pop().iterdir()):
            if path.is_symlink():
                continue
            (waiting if path.is_dir() else found).append(path)
    return found


def _files(
    where: Path,
    kind: Kind,
    paths: Sequence[Path],
    spacing_mm: Sequence[float] | None,
    series: str | None,
    progress: Progress,
) -> Volume:
    from rootfill.images.read import itk, plain
    from rootfill.images.read import series as dicom_series

    if kind is Kind.DICOM:
        return dicom_series.read_series(paths, spacing_mm, series, progress)
    if kind in (Kind.TIFF, Kind.PNG):
        return plain.read_pages(paths, spacing_mm, progress)
    if kind in itk.READERS:
        if len(paths) > 1:
            raise InputRefused(where.name, Said(f"a folder of {len(paths)} scans"), "choose one of them")
        return itk.read_itk(paths[0], kind, spacing_mm)
    said = "a single picture" if kind is Kind.JPEG else kind.value
    raise InputRefused(where.name, Said(said), READ)


def _checked(volume: Volume) -> Volume:
    """A volume without values that are no numbers, doubles as floats. Raises InputRefused."""
    values = volume.values
    values = values.astype(values.dtype.newbyteorder("=")) if not values.dtype.isnative else values
    if values.dtype.kind == "f":
        if not all(np.isfinite(level).all() for level in values):
            raise InputRefused("the scan", Said("with values that are no numbers"), "export it again")
        values = values.astype(np.float32) if values.dtype.itemsize > 4 else values
    return replace(volume, values=values, cautions=(*volume.cautions, *lying(volume.to_patient)))

"""A zip laid out in a folder of its own for as long as it is read; its own names are never used to write."""

from __future__ import annotations

import tempfile
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath

from rootfill.errors import InputRefused, Said
from rootfill.images.read.limits import MOST_FILES, MOST_VOXELS

PIECE = 1 << 20


@contextmanager
def unpacked(path: Path) -> Iterator[Path]:
    """A folder with the files of a zip, flat. Raises InputRefused."""
    with tempfile.TemporaryDirectory(prefix="rootfill-zip-") as folder:
        try:
            with zipfile.ZipFile(path) as archive:
                _lay_out(path, archive, Path(folder))
        except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError):
            raise InputRefused(path.name, Said("a damaged or locked zip"), "pack it again without a password") from None
        yield Path(folder)


def _lay_out(path: Path, archive: zipfile.ZipFile, folder: Path) -> None:
    entries = [entry for entry in archive.infolist() if not entry.is_dir()]
    if not entries:
        raise InputRefused(path.name, Said("an empty zip"), "pack the scan's files into it")
    if len(entries) > MOST_FILES or sum(entry.file_size for entry in entries) > 2 * MOST_VOXELS:
        raise InputRefused(path.name, Said(f"a zip of {len(entries)} files that is too large"), "pack one scan alone")
    for number, entry in enumerate(sorted(entries, key=lambda entry: entry.filename)):
        with archive.open(entry) as source, (folder / _plain_name(entry.filename, number)).open("wb") as target:
            left = entry.file_size
            while piece := source.read(min(PIECE, left + 1)):
                left -= len(piece)
                if left < 0:
                    raise InputRefused(path.name, Said("a zip that holds more than it says"), "pack it again")
                target.write(piece)


def _plain_name(name: str, number: int) -> str:
    """The last part of a name where it is plain, kept for headers that name their data; else a number."""
    last = PurePosixPath(name.replace("\\", "/")).name
    plain = last.isascii() and last.replace(".", "").replace("_", "").replace("-", "").replace(" ", "").isalnum()
    return last if plain and not last.startswith(".") and len(last) < 100 else f"{number:05d}"

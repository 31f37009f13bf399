"""Files of grey values: one array each, mapped into memory to be read slice by slice.

A file is NAME.new until a row names it and NAME.npy from then on; what a kill leaves is told from what is kept by that
alone. Slices are read out of the one array as it is: once it lies in memory, a slice across the fastest axis of 512³
voxels takes 2 ms. Bricks were no faster, and a copy for each plane would cost three times the disk.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import math
import os
import re
import secrets
import sys
from collections.abc import Collection, Iterator
from pathlib import Path

import numpy as np

from rootfill import tables
from rootfill.clinic import ports
from rootfill.errors import NotFound
from rootfill.images.model import Grey
from rootfill.store.failures import OPENING, READING, WRITING, told
from rootfill.store.incoming import Incoming, is_held

MOST_OPEN = 4
_NAME = re.compile(r"[0-9a-f]{32}")
GONE = (
    "The grey values of this picture are no longer in the folder of the clinic, or not whole: put them back from a "
    "copy of it, or remove the picture and keep it again."
)


class PictureFiles:
    """See ``rootfill.clinic.ports.PictureFiles``."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._incoming = folder / "incoming"
        self._maps: dict[str, tuple[tuple[int, ...], Grey]] = {}

    @contextlib.contextmanager
    def incoming(self) -> Iterator[Incoming]:
        with told(WRITING):
            come = Incoming(self._incoming, secrets.token_hex(16))
        try:
            yield come
        finally:
            come.close()

    def keep(self, incoming: ports.Incoming) -> str:
        name = incoming.target.parent.name
        with told(WRITING):
            _to_disk(incoming.target)
            os.replace(incoming.target, self._folder / f"{name}.new")
            _to_disk(self._folder)
        return name

    def settle(self, file: str) -> None:
        with told(WRITING):
            os.replace(self._folder / f"{_checked(file)}.new", self._folder / f"{file}.npy")

    def leave(self, file: str) -> None:
        with contextlib.suppress(OSError, NotFound):
            os.utime(self.path(file))  # its time is counted from now on

    def remove(self, file: str) -> None:
        for kind in ("new", "npy"):
            with contextlib.suppress(OSError):
                (self._folder / f"{_checked(file)}.{kind}").unlink(missing_ok=True)

    def size(self, file: str) -> int:
        return self.path(file).stat().st_size

    def slice(self, file: str, shape: tuple[int, ...], axis: int, index: int) -> Grey:
        values = self._open(file)
        if values.size != math.prod(shape):
            raise NotFound(GONE)
        values = values.reshape(shape)
        if not (0 <= axis < values.ndim and 0 <= index < values.shape[axis]):
            raise NotFound(f"There is no slice {index} of this picture here: go back to the picture.")
        place = (slice(None),) * axis + (index,)
        return np.ascontiguousarray(values[place])

    def soon(self, file: str) -> None:
        if not hasattr(os, "posix_fadvise"):
            return
        with contextlib.suppress(OSError, NotFound), self.path(file).open("rb") as opened:
            os.posix_fadvise(opened.fileno(), 0, 0, os.POSIX_FADV_WILLNEED)

    def sweep(self, named: Collection[str], now: dt.datetime) -> None:
        with told(OPENING):
            held = {come.name for come in self._incoming.glob("*") if not _swept(come)}
            for path in self._folder.glob("*.new"):
                if path.stem in named:
                    self.settle(path.stem)
                elif path.stem not in held:
                    path.unlink(missing_ok=True)
            oldest = now.timestamp() - tables.rule("picture_removed_kept_d").value * 86400
            for path in self._folder.glob("*.npy"):
                if path.stem not in named and path.stat().st_mtime < oldest:
                    path.unlink(missing_ok=True)

    def _open(self, file: str) -> Grey:
        """Stays open for the next slice: to map it anew costs more than to read a slice out of it."""
        with told(READING):
            path = self.path(file)
            here = _stands(path)
            stood, values = self._maps.get(file, (None, None))
            if values is None or stood != here:
                values = _mapped(path)
                self._maps = dict([*self._maps.items(), (file, (here, values))][-MOST_OPEN:])
            return values

    def path(self, file: str) -> Path:
        """A file that was not settled yet is as good: its row is there. Raises NotFound."""
        for kind in ("npy", "new"):
            path = self._folder / f"{_checked(file)}.{kind}"
            if path.is_file():
                return path
        raise NotFound(GONE)


def open_pictures(folder: Path) -> PictureFiles:
    """The files of grey values in a folder, which is made when the first of them comes."""
    return PictureFiles(folder)


def _checked(file: str) -> str:
    if not _NAME.fullmatch(file):
        raise NotFound(GONE)
    return file


def _mapped(path: Path) -> Grey:
    try:
        values: Grey = np.load(path, mmap_mode="r", allow_pickle=False)
    except (ValueError, EOFError):
        raise NotFound(GONE) from None
    return values


def _stands(path: Path) -> tuple[int, ...]:
    """Changes when somebody puts another file there, or cuts it short."""
    found = path.stat()
    return found.st_ino, found.st_size, found.st_mtime_ns


def _swept(come: Path) -> bool:
    """Whether a place for what comes is gone now; one that another program holds stays."""
    if is_held(come):
        return False
    Incoming.clear(come)
    return True


def _to_disk(path: Path) -> None:
    if sys.platform == "win32":  # where a folder cannot be opened, and a file only to be written
        return
    number = os.open(path, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)

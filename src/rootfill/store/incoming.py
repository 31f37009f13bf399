"""What comes and is not kept yet: files under harmless names, in a folder locked while somebody writes there."""

from __future__ import annotations

import contextlib
import os
import shutil
import sys
from pathlib import Path
from typing import BinaryIO

from rootfill.errors import InputRefused, Said
from rootfill.store.failures import WRITING, told

if sys.platform != "win32":
    import fcntl

MOST_FILES = 5000
LONGEST_NAME = 100
_LOCK = "held"
_CAME = "came"


class Incoming:
    """See ``rootfill.clinic.ports.Incoming``."""

    def __init__(self, place: Path, name: str) -> None:
        self._folder = place / name
        (self._folder / _CAME).mkdir(mode=0o700, parents=True)
        self._lock = (self._folder / _LOCK).open("wb")
        _hold(self._lock)
        self._open: BinaryIO | None = None
        self._names: list[str] = []
        self._size = 0
        self._taken: set[str] = set()

    @property
    def target(self) -> Path:
        return self._folder / "grey"

    def begin(self, name: str) -> None:
        if len(self._names) == MOST_FILES:
            raise InputRefused("the picture", Said(f"more than {MOST_FILES} files"), "choose those of one series")
        harmless = harmless_name(name)
        if harmless.casefold() in self._taken:
            harmless = f"{len(self._names)}-{harmless}"
        self._taken.add(harmless.casefold())
        self._names.append(name)
        with told(WRITING):
            self._end()
            self._open = (self._folder / _CAME / harmless).open("xb")

    def write(self, block: bytes) -> None:
        with told(WRITING):
            if self._open is not None:
                self._open.write(block)
                self._size += len(block)

    def source(self) -> Path:
        with told(WRITING):
            self._end()
        files = sorted((self._folder / _CAME).iterdir())
        if not files or all(file.stat().st_size == 0 for file in files):
            raise InputRefused("the picture", Said("nothing") if not files else Said("empty"), "choose a file of it")
        return files[0] if len(files) == 1 else self._folder / _CAME

    def names(self) -> tuple[str, ...]:
        return tuple(self._names)

    def size(self) -> int:
        return self._size

    def close(self) -> None:
        """Nothing of what is still here stays."""
        with contextlib.suppress(OSError):
            self._end()
        self.clear(self._folder)
        self._lock.close()

    @staticmethod
    def clear(folder: Path) -> None:
        """Remove a place with all that is in it; what cannot be removed now is swept at the next start."""
        shutil.rmtree(folder, ignore_errors=True)

    def _end(self) -> None:
        opened, self._open = self._open, None
        if opened is not None:
            opened.close()


def is_held(folder: Path) -> bool:
    """Whether a program that still runs writes here."""
    try:
        with (folder / _LOCK).open("rb+") as lock:
            _hold(lock)
    except FileNotFoundError:
        return False
    except OSError:
        return True
    return False


def harmless_name(name: str) -> str:
    """A name that leads nowhere else: no folders, no signs that steer anything, not too long.

    >>> harmless_name("../../etc/passwd"), harmless_name("C:\\\\scans\\\\a b.nhdr"), harmless_name("..")
    ('passwd', 'a b.nhdr', 'file')
    """
    last = name.replace("\\", "/").rpartition("/")[2]
    shown = "".join(sign for sign in last if sign.isprintable() and sign not in ':*?"<>|')
    while len(os.fsencode(shown.encode("utf-8", "replace").decode())) > LONGEST_NAME:
        shown = shown[1:]  # the end tells more: numbers of slices, what kind of file
    return shown.strip(" .") or "file"


def _hold(lock: BinaryIO) -> None:
    """Raises OSError where another program holds it; elsewhere than on Unix, nothing is known of the others."""
    if sys.platform != "win32":
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)

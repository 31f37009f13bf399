"""Files in and out: a missing one is a sentence, a written one is whole or not there."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import BinaryIO

from rootfill import clinic
from rootfill.errors import InputRefused, Said


def read_bytes(path: Path) -> bytes:
    """Content of a file, or of standard input for '-'; never much more than a case file may hold.

    Raises InputRefused when it cannot be read.
    """
    if str(path) == "-":
        return _some(sys.stdin.buffer)
    try:
        with path.open("rb") as file:
            return _some(file)
    except (OSError, ValueError) as error:
        raise InputRefused(str(path), Said(f"not usable ({_why(error)})"), "name a file that can be read") from None


def _some(file: BinaryIO) -> bytes:
    return file.read(clinic.LARGEST_FILE + 1)


def write_all(files: Mapping[Path, bytes], keep: Iterable[Path] = ()) -> None:
    """Write files so that none is ever half there: all to temporary names first, then renamed.

    Raises InputRefused for a folder that cannot be written, for a target that is no ordinary file, and for
    one of ``keep``, the files the plan was made from.
    """
    for target in files:
        _check(target, keep)
    waiting: list[tuple[Path, Path]] = []
    try:
        for target, content in files.items():
            target.parent.mkdir(parents=True, exist_ok=True)
            waiting.append((_written(target, content), target))
        for temporary, target in waiting:
            temporary.replace(target)
    except OSError as error:
        for temporary, _ in waiting:
            temporary.unlink(missing_ok=True)
        where = str(error.filename or next(iter(files)).parent)
        raise InputRefused(where, Said(f"not usable ({_why(error)})"), "name a folder that can be written") from None


def _check(target: Path, keep: Iterable[Path]) -> None:
    if target.is_symlink() or (target.exists() and not target.is_file()):
        raise InputRefused(str(target), Said("no ordinary file"), "name a new file or an ordinary one")
    if any(target.exists() and kept.exists() and target.samefile(kept) for kept in keep):
        raise InputRefused(str(target), Said("the file the plan is made from"), "name another one")


def _written(target: Path, content: bytes) -> Path:
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        temporary.chmod(0o644)
    except OSError:
        temporary.unlink(missing_ok=True)
        raise
    return temporary


def _why(error: OSError | ValueError) -> str:
    return (getattr(error, "strerror", None) or "not a name of a file").lower()


class FolderShelf:
    """Tray files beside the case file."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def tray_text(self, name: str) -> str:
        """Text of a tray file; never outside the folder of the case, links followed. Raises InputRefused."""
        path = self.folder / (name if name.endswith(".toml") else f"{name}.toml")
        try:
            inside = path.resolve().is_relative_to(self.folder.resolve())
        except (OSError, ValueError):
            inside = False
        if not inside or not path.is_file():
            raise InputRefused("tray.file", name, "a tray file beside the case file")
        return clinic.text_of(read_bytes(path), f"tray.file {name}")

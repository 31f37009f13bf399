"""Files in and out: a missing one is a sentence, a written one is whole or not there."""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path

from rootfill.errors import InputRefused, Said


def read_bytes(path: Path) -> bytes:
    """Content of a file, or of standard input for '-'. Raises InputRefused when it cannot be read."""
    if str(path) == "-":
        return sys.stdin.buffer.read()
    try:
        return path.read_bytes()
    except OSError as error:
        raise InputRefused(str(path), Said(f"not usable ({_why(error)})"), "name a file that can be read") from None


def write_all(folder: Path, files: Mapping[str, bytes]) -> None:
    """Write files so that none is ever half there: all to temporary names first, then renamed."""
    waiting: list[tuple[Path, Path]] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in files.items():
            handle, temporary = tempfile.mkstemp(dir=folder, prefix=f".{name}.")
            waiting.append((Path(temporary), folder / name))
            with os.fdopen(handle, "wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            Path(temporary).chmod(0o644)
        for temporary_path, final in waiting:
            temporary_path.replace(final)
    except OSError as error:
        for temporary_path, _ in waiting:
            temporary_path.unlink(missing_ok=True)
        raise InputRefused(
            str(folder), Said(f"not usable ({_why(error)})"), "name a folder that can be written"
        ) from None


def _why(error: OSError) -> str:
    return (error.strerror or "not usable").lower()


class FolderShelf:
    """Tray files beside the case file."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def tray_text(self, name: str) -> str:
        """Text of a tray file; never outside the folder of the case. Raises InputRefused."""
        path = Path(name) if name.endswith(".toml") else Path(f"{name}.toml")
        if path.is_absolute() or ".." in path.parts:
            raise InputRefused("tray.file", name, "a tray file beside the case file")
        content = read_bytes(self.folder / path)
        try:
            return content.decode("utf-8-sig")
        except UnicodeDecodeError:
            raise InputRefused("tray.file", name, "save it as UTF-8 text") from None

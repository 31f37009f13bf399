"""The file of the records taken away while the program runs: nothing is said to be kept that would be gone."""

from __future__ import annotations

from pathlib import Path

import pytest

from rootfill.errors import NotKept
from rootfill.store import open_store


def test_nothing_is_said_to_be_kept_in_a_file_that_was_removed(tmp_path: Path) -> None:
    store = open_store(tmp_path / "clinic.sqlite3")
    store.records.set("notation", "iso3950")
    for path in tmp_path.iterdir():
        path.unlink()
    with pytest.raises(NotKept, match=r"Nothing was saved.*cannot be opened"):
        store.records.set("notation", "universal")
    store.close()


def test_nothing_is_said_to_be_kept_when_another_file_stands_there(tmp_path: Path) -> None:
    path = tmp_path / "clinic.sqlite3"
    store = open_store(path)
    content = path.read_bytes()
    path.rename(tmp_path / "old")
    path.write_bytes(content)
    with pytest.raises(NotKept, match="another file stands in its place"):
        store.records.set("notation", "universal")
    store.close()

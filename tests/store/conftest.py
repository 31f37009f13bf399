"""A store of its own for each test."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from rootfill.store import Store, open_store


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "kept" / "records.db"


@pytest.fixture(scope="session")
def empty(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A file in which nothing is kept yet."""
    made = tmp_path_factory.mktemp("empty") / "records.db"
    open_store(made).close()
    return made.read_bytes()


@pytest.fixture
def store(file: Path, empty: bytes) -> Iterator[Store]:
    file.parent.mkdir()
    file.write_bytes(empty)
    opened = open_store(file)
    yield opened
    opened.close()

"""The file, and how each connection to it is set."""

from __future__ import annotations

import os
import sqlite3
import stat
from contextlib import ExitStack, closing, nullcontext
from pathlib import Path

import pytest
from sqlalchemy import text

from rootfill.errors import NotKept
from rootfill.store import open_store
from rootfill.store.engine import WRITES, assert_set, open_engine
from tests.store.invented import begin

SET = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1, "busy_timeout": 5000}


def test_only_its_owner_may_read_the_file_its_journal_and_its_folder(file: Path) -> None:
    before = os.umask(0)
    try:
        store = open_store(file)
        begin(store)
        found = {path.name: stat.S_IMODE(path.stat().st_mode) for path in (file.parent, *file.parent.iterdir())}
        store.close()
    finally:
        os.umask(before)
    private = {"records.db", "records.db-wal", "records.db-shm"}
    assert found == {"kept": 0o700, **dict.fromkeys(private, 0o600)}


def test_a_file_that_others_could_read_is_closed_to_them(file: Path) -> None:
    open_store(file).close()
    file.chmod(0o644)
    open_store(file).close()
    assert stat.S_IMODE(file.stat().st_mode) == 0o600


def test_every_connection_is_set_as_it_must_be(store) -> None:
    with ExitStack() as stack:
        connections = [stack.enter_context(store.engine.connect()) for _ in range(8)]
        assert len({id(connection.connection.dbapi_connection) for connection in connections}) == 8
        for connection in connections:
            assert {name: connection.scalar(text(f"PRAGMA {name}")) for name in SET} == SET


def test_the_busy_timeout_is_the_patience_that_was_asked_for(file: Path) -> None:
    store = open_store(file, patience_s=0.25)
    with store.engine.connect() as connection:
        assert connection.scalar(text("PRAGMA busy_timeout")) == 250
    store.close()


@pytest.mark.parametrize(
    ("name", "wrong"),
    [("journal_mode", "delete"), ("synchronous", 1), ("foreign_keys", 0), ("busy_timeout", 4999)],
)
def test_a_connection_that_is_not_set_so_is_refused(file: Path, name: str, wrong: str | int) -> None:
    open_store(file).close()
    with closing(sqlite3.connect(file)) as connection:
        for setting, value in {**SET, name: wrong}.items():
            connection.execute(f"PRAGMA {setting} = {value}")
        with pytest.raises(NotKept, match=rf"{name} is {wrong}, not {SET[name]}.*choose a folder"):
            assert_set(connection, 5.0)
        connection.execute(f"PRAGMA {name} = {SET[name]}")
        assert_set(connection, 5.0)


def test_no_work_is_done_on_a_place_that_cannot_keep_a_journal() -> None:
    engine = open_engine(Path(":memory:"), 1.0)
    with pytest.raises(NotKept, match="journal_mode is memory"):
        engine.connect()


@pytest.mark.parametrize(("options", "held"), [(WRITES, True), ({}, False)])
def test_a_writer_takes_its_turn_before_it_reads_and_a_reader_takes_none(store, file, options, held) -> None:
    with store.engine.execution_options(**options).begin() as connection, closing(sqlite3.connect(file)) as other:
        connection.execute(text("SELECT 1"))
        other.execute("PRAGMA busy_timeout = 0")
        with pytest.raises(sqlite3.OperationalError, match="locked") if held else nullcontext():
            other.execute("BEGIN IMMEDIATE")

"""The one module that knows it is SQLite: its file, its connections, how a transaction begins."""

from __future__ import annotations

import json
import os
import sqlite3
import time
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event

from rootfill.errors import NotKept

PATIENCE_S = 5.0
"""How long a writer waits for another."""
SETTINGS = {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}
"""Pragmas that every connection must have: readers beside a writer, on disk at each commit, keys that point."""
WRITES = {"writes": True}
"""Options of a connection whose transactions write."""


def make_file(path: Path) -> None:
    """An empty file that only its owner may read, in a folder of the same kind; what is there already stays."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
    path.chmod(0o600)


def open_engine(path: Path, patience_s: float) -> Engine:
    """Connections to a file. Each raises NotKept when it is not as it must be."""
    engine = create_engine(
        URL.create("sqlite", database=str(path)), json_serializer=_json, connect_args={"timeout": patience_s}
    )

    def prepare(connection: sqlite3.Connection, _: object) -> None:
        connection.isolation_level = None  # the driver would begin by itself, too late and not IMMEDIATE
        _set(connection, patience_s)
        assert_set(connection, patience_s)

    event.listen(engine, "connect", prepare)
    event.listen(engine, "begin", _begin)
    return engine


def assert_set(connection: sqlite3.Connection, patience_s: float) -> None:
    """Read back how a connection is set. Raises NotKept where it is not as it must be."""
    for name, wanted in {**SETTINGS, "busy_timeout": _milliseconds(patience_s)}.items():
        found = connection.execute(f"PRAGMA {name}").fetchone()[0]
        if found != wanted:
            raise NotKept(
                f"The records cannot be kept safely in this place ({name} is {found}, not {wanted}): "
                "choose a folder on a disk of this machine."
            )


def _begin(connection: Connection) -> None:
    """A writer takes its turn at once: one that reads first and then writes could be refused half way."""
    writes = connection.get_execution_options().get("writes")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _set(connection: sqlite3.Connection, patience_s: float) -> None:
    connection.execute(f"PRAGMA busy_timeout = {_milliseconds(patience_s)}")
    for name, value in SETTINGS.items():
        _persist(connection, f"PRAGMA {name} = {value}", patience_s)


def _persist(connection: sqlite3.Connection, pragma: str, patience_s: float) -> None:
    """The journal's mode is the one lock for which SQLite itself does not wait."""
    until = time.monotonic() + patience_s
    while True:
        try:
            connection.execute(pragma)
            return
        except sqlite3.OperationalError as error:
            if error.sqlite_errorname != "SQLITE_BUSY" or time.monotonic() > until:
                raise
            time.sleep(0.01)


def _milliseconds(seconds: float) -> int:
    return round(seconds * 1000)


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)

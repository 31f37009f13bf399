"""Reading and writing: one transaction each, its failures told in sentences."""

from __future__ import annotations

import errno
import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Engine
from sqlalchemy.orm import Session, sessionmaker

from rootfill.store.engine import WRITES
from rootfill.store.failures import READING, WRITING, busy, told


class Transactions:
    """What every part of the store begins with."""

    def __init__(self, engine: Engine, patience_s: float) -> None:
        self._read = sessionmaker(engine)
        self._write = sessionmaker(engine.execution_options(**WRITES))
        self._turn = threading.Lock()
        self._patience_s = patience_s
        self._file = str(engine.url.database)
        self._number = os.stat(self._file).st_ino

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """Everything read within is of one moment. Raises NotKept where it cannot be read."""
        with told(READING), self._read() as session:
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """Everything written within is on disk at the end, or nothing. Raises NotKept."""
        with self._in_turn(), told(WRITING), self._write.begin() as session:
            yield session
            self._check_file()

    def _check_file(self) -> None:
        """A file that was removed takes everything as before, and is gone with the program."""
        if os.stat(self._file).st_ino != self._number:
            raise OSError(errno.ENOENT, "another file stands in its place")

    @contextmanager
    def _in_turn(self) -> Iterator[None]:
        """Threads take turns here: in the database they would sleep and ask again."""
        if not self._turn.acquire(timeout=self._patience_s):
            raise busy(WRITING)
        try:
            yield
        finally:
            self._turn.release()

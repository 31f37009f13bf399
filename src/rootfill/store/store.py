"""The store of a clinic, opened."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Engine
from sqlalchemy.exc import DatabaseError

from rootfill.clinic import ports
from rootfill.store.accounts import Accounts
from rootfill.store.engine import PATIENCE_S, make_file, open_engine
from rootfill.store.failures import OPENING, told
from rootfill.store.migrate import migrate, no_database
from rootfill.store.records import Records
from rootfill.store.transactions import Transactions


@dataclass(frozen=True)
class Store:
    """What is kept, and who may see it."""

    records: ports.Records
    accounts: ports.Accounts
    engine: Engine

    def close(self) -> None:
        """Let go of the file."""
        self.engine.dispose()


def open_store(path: Path, patience_s: float = PATIENCE_S) -> Store:
    """The store in a file, made where there is none. A writer waits ``patience_s`` [s] for another.

    Raises InputRefused for a file that is something else or of a newer version, NotKept where it cannot be opened.
    """
    with told(OPENING):
        make_file(path)
        engine = open_engine(path, patience_s)
        try:
            migrate(engine, path)
        except DatabaseError as error:
            engine.dispose()
            if getattr(error.orig, "sqlite_errorname", "") == "SQLITE_NOTADB":
                raise no_database(path) from None
            raise
        except BaseException:
            engine.dispose()
            raise
    transactions = Transactions(engine, patience_s)
    return Store(Records(transactions), Accounts(transactions), engine)

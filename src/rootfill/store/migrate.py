"""Bringing a file to the tables that this program knows, at opening."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from rootfill.errors import InputRefused
from rootfill.store.engine import WRITES

HEAD = "0002"
"""The newest step. Known here too, so that a file that is up to date opens without alembic."""
_FILE = "the file of records"


def migrate(engine: Engine, path: Path) -> None:
    """Make what is missing, in one transaction. Raises InputRefused for a file of something else, or a newer one."""
    with engine.connect() as connection:
        if step_of(connection, path) == HEAD:
            return
    with engine.execution_options(**WRITES).begin() as connection:
        step = step_of(connection, path)
        if step is not None and step > HEAD:
            raise InputRefused(_FILE, str(path), "a newer version of this program made it: use that one")
        _upgrade(connection)


def step_of(connection: Connection, path: Path) -> str | None:
    """The step a file has reached; None for an empty one."""
    tables = inspect(connection).get_table_names()
    if not tables:
        return None
    if "alembic_version" not in tables:
        raise InputRefused(_FILE, str(path), "it belongs to another program: choose another folder")
    return str(connection.scalar(text("SELECT version_num FROM alembic_version")))


def no_database(path: Path) -> InputRefused:
    """For a file that holds something else."""
    return InputRefused(_FILE, str(path), "it is no database: choose another folder, or put back the last copy of it")


def _upgrade(connection: Connection) -> None:
    from alembic import command
    from alembic.config import Config

    config = Config(attributes={"connection": connection})
    config.set_main_option("script_location", "rootfill.store:migrations")
    config.set_main_option("path_separator", "os")
    command.upgrade(config, "head")

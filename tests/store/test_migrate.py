"""Files made new, made by others, made by newer versions."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from contextlib import closing

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import inspect

from rootfill.clinic.kept import Edit
from rootfill.errors import InputRefused, NotKept
from rootfill.store import open_store
from rootfill.store.engine import WRITES, open_engine
from rootfill.store.migrate import HEAD
from rootfill.store.model import Base
from tests.store.invented import begin, everything, mark


def test_the_steps_make_exactly_the_tables_that_the_program_knows(store) -> None:
    with store.engine.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), Base.metadata) == []
        assert set(inspect(connection).get_table_names()) == {*Base.metadata.tables, "alembic_version"}


def test_the_newest_step_is_the_one_that_the_program_names() -> None:
    config = Config()
    config.set_main_option("script_location", "rootfill.store:migrations")
    config.set_main_option("path_separator", "os")
    assert ScriptDirectory.from_config(config).get_heads() == [HEAD]


def test_every_numbered_table_gives_a_number_once_only(store, file) -> None:
    with closing(sqlite3.connect(file)) as connection:
        made = dict(connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'table'"))
    numbered = {name for name, table in Base.metadata.tables.items() if "key" in table.c}
    assert {name for name, sql in made.items() if "AUTOINCREMENT" in sql} == numbered
    assert len(numbered) == 10


def test_what_was_kept_is_there_when_the_file_is_opened_again(file) -> None:
    store = open_store(file)
    begin(store)
    kept = everything(store)
    store.close()
    again = open_store(file)
    assert everything(again) == kept
    again.close()


def test_opening_a_file_that_is_up_to_date_needs_no_alembic(file) -> None:
    open_store(file).close()
    look = (
        "import sys; from pathlib import Path; from rootfill.store import open_store;"
        "open_store(Path(sys.argv[1])).close(); sys.exit('alembic' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", look, file], check=False).returncode == 0


def test_two_programs_that_start_at_once_make_one_file(file) -> None:
    begin_one = (
        "import sys; from pathlib import Path; from rootfill.store import open_store;"
        "from tests.store.invented import begin;"
        "store = open_store(Path(sys.argv[1])); begin(store, sys.argv[2]); store.close()"
    )
    programs = [subprocess.Popen([sys.executable, "-c", begin_one, file, name]) for name in ("A", "B")]
    assert [program.wait(60) for program in programs] == [0, 0]
    store = open_store(file)
    assert {line.id for line in store.records.cases("", 10, 0).lines} == {"A", "B"}
    store.close()


def test_a_file_of_a_newer_version_is_refused_and_left_alone(file) -> None:
    open_store(file).close()
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.execute("UPDATE alembic_version SET version_num = '0999'")
    before = file.read_bytes()
    with pytest.raises(InputRefused, match=r"; a newer version of this program made it: use that one"):
        open_store(file)
    assert file.read_bytes() == before


def test_a_database_of_another_program_is_refused(file) -> None:
    file.parent.mkdir()
    with closing(sqlite3.connect(file)) as connection, connection:
        connection.execute("CREATE TABLE theirs (a INTEGER)")
    with pytest.raises(InputRefused, match="it belongs to another program: choose another folder"):
        open_store(file)
    with closing(sqlite3.connect(file)) as connection:
        assert connection.execute("SELECT name FROM sqlite_master").fetchall() == [("theirs",)]


def test_a_file_that_is_no_database_is_refused_and_left_alone(file) -> None:
    file.parent.mkdir()
    file.write_text("A letter to the laboratory. " * 100, encoding="utf-8")
    before = file.read_bytes()
    with pytest.raises(InputRefused, match="it is no database: choose another folder"):
        open_store(file)
    assert file.read_bytes() == before


def test_a_folder_where_the_file_should_be_is_told_in_a_sentence(file) -> None:
    file.mkdir(parents=True)
    with pytest.raises(NotKept, match=r"^The records could not be opened, because the file cannot be opened .*folder"):
        open_store(file)


def test_the_command_line_loads_no_database_until_it_is_asked_for_one() -> None:
    look = "import sys, rootfill.app; sys.exit(bool({'sqlalchemy', 'sqlite3', 'alembic'} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", look], check=False).returncode == 0


def test_a_file_from_before_there_were_pictures_is_brought_up_with_all_that_is_in_it(file) -> None:
    file.parent.mkdir()
    engine = open_engine(file, 5.0)
    config = Config()
    config.set_main_option("script_location", "rootfill.store:migrations")
    config.set_main_option("path_separator", "os")
    with engine.execution_options(**WRITES).begin() as connection:
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
    engine.dispose()
    with closing(sqlite3.connect(file)) as old, old:
        now = "2026-11-24 09:30:15.000000"
        old.execute(
            "INSERT INTO cases VALUES (1, 'A-1', 'a-1', '36', 'iso3950', NULL, 1, ?, ?, ?)",
            (now, now, '{"case": {"id": "A-1", "tooth": 36, "notation": "iso3950"}}'),
        )
    store = open_store(file)
    kept = store.records.case(1)
    assert (kept.sections["case"]["id"], kept.pictures) == ("A-1", ())
    assert mark(store, kept, Edit("picture", None, None, {"file": "f"})).edits[0].key == 1
    assert store.records.picture_files() == {"f"}
    store.close()

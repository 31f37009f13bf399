"""Disks that are full, files that are held, commits that fail: nothing is kept, and it is said why."""

from __future__ import annotations

import errno
import os
import sqlite3
import subprocess
import sys
from contextlib import closing, contextmanager

import pytest
from sqlalchemy import event
from sqlalchemy.exc import OperationalError

from rootfill.clinic.kept import Edit
from rootfill.errors import NotKept
from rootfill.store import open_store
from tests.store.invented import AT, BY, LATER, begin, everything, length, mark

LONG = "x" * 200_000
CHANGES = {
    "add_case": lambda store, _: store.records.add_case({"patient": {"note": LONG}}, [], [], "new", BY, AT),
    "remove_case": lambda store, case: store.records.remove_case(case.key),
    "mark": lambda store, case: mark(store, case, length(case, 21, 22), Edit("patient", 0, None, {"note": LONG})),
    "undo": lambda store, case: store.records.undo(case.key, BY, LATER),
    "keep_plan": lambda store, case: store.records.keep_plan(case.key, {}, os.urandom(99_999).hex(), "p", AT),
    "keep_documents": lambda store, case: store.records.keep_documents(case.key, 1, {"card.pdf": LONG.encode()}, AT),
    "add_tray": lambda store, _: store.records.add_tray({"name": "u", "note": LONG}, AT),
    "change_tray": lambda store, _: store.records.change_tray(1, {"name": "t"}, {"name": "t", "note": LONG}, AT),
    "remove_tray": lambda store, _: store.records.remove_tray(1),
    "set": lambda store, _: store.records.set("notation", LONG),
    "add_user": lambda store, _: store.accounts.add_user("Bob", "owner", LONG, AT),
}
GROWING = [name for name in CHANGES if name not in ("remove_case", "undo", "remove_tray")]


@pytest.fixture
def case(store):
    """A case with something to take back, a plan and a tray."""
    begun = begin(store)
    mark(store, begun, length(begun, 20.5, 21))
    store.records.keep_plan(begun.key, {"n": 1}, "", "p", AT)
    store.records.add_tray({"name": "t"}, AT)
    return begun


@contextmanager
def heard(target, name, listener):
    event.listen(target, name, listener)
    try:
        yield
    finally:
        event.remove(target, name, listener)


@pytest.mark.parametrize(
    ("failure", "says"),
    [
        (OperationalError("COMMIT", {}, sqlite3.OperationalError("disk I/O error")), "the database failed"),
        (OSError(errno.ENOSPC, os.strerror(errno.ENOSPC)), "the disk is full: free some space, then enter it again"),
        (OSError(errno.EIO, os.strerror(errno.EIO)), "the file cannot be opened .*error"),
    ],
)
@pytest.mark.parametrize("change", CHANGES)
def test_where_the_commit_fails_nothing_is_kept_and_the_next_one_succeeds(store, case, change, failure, says) -> None:
    def fail(connection) -> None:
        raise failure

    before = everything(store)
    with heard(store.engine, "commit", fail), pytest.raises(NotKept, match=f"^Nothing was saved, because {says}"):
        CHANGES[change](store, case)
    assert everything(store) == before
    CHANGES[change](store, case)
    assert everything(store) != before


@pytest.mark.parametrize("change", GROWING)
def test_a_full_disk_keeps_nothing_and_when_there_is_space_again_the_store_goes_on(store, case, change) -> None:
    def full(connection, *_) -> None:
        pages = connection.execute("PRAGMA page_count").fetchone()[0]
        connection.execute(f"PRAGMA max_page_count = {pages}")

    def space_again(connection, *_) -> None:
        connection.execute("PRAGMA max_page_count = 1000000")

    before = everything(store)
    with heard(store.engine, "checkout", full):
        for _ in range(2):
            with pytest.raises(NotKept, match=r"^Nothing was saved, because the disk is full: free some space, then"):
                CHANGES[change](store, case)
        assert everything(store) == before
        assert store.records.case(case.key).revision == 2, "reading goes on"
    with heard(store.engine, "checkout", space_again):
        CHANGES[change](store, case)
    assert everything(store) != before


LIMITED = """
import resource, sys
from pathlib import Path
from rootfill.errors import NotKept
from rootfill.store import open_store
from tests.store.invented import everything, length, mark
from tests.store.test_failures import CHANGES

store = open_store(Path(sys.argv[1]))
case = store.records.case(1)
before, lifted = everything(store), resource.getrlimit(resource.RLIMIT_FSIZE)
resource.setrlimit(resource.RLIMIT_FSIZE, (Path(sys.argv[1]).stat().st_size, lifted[1]))
for _ in range(2):
    try:
        CHANGES["mark"](store, case)
    except NotKept as error:
        print(error)
assert everything(store) == before
resource.setrlimit(resource.RLIMIT_FSIZE, lifted)
CHANGES["mark"](store, case)
print(store.records.case(1).revision)
store.close()
"""


def test_a_file_that_the_system_lets_grow_no_further_keeps_nothing_and_later_goes_on(store, case, file) -> None:
    store.close()
    ran = subprocess.run([sys.executable, "-c", LIMITED, file], capture_output=True, text=True, check=True)
    *refused, revision = ran.stdout.splitlines()
    assert len(refused) == 2
    assert all(line.startswith("Nothing was saved, because the disk") for line in refused)
    assert revision == "3"
    with closing(sqlite3.connect(file)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchall() == [("ok",)]


@pytest.mark.parametrize("change", CHANGES)
def test_a_file_that_may_only_be_read_keeps_nothing_and_says_so(store, case, change) -> None:
    def only_read(connection, *_) -> None:
        connection.execute("PRAGMA query_only = 1")

    before = everything(store)
    with heard(store.engine, "checkout", only_read):
        with pytest.raises(NotKept, match="because the file may only be read: make the file and its folder writable"):
            CHANGES[change](store, case)
        assert everything(store) == before


def test_who_waits_too_long_for_another_writer_is_told_and_may_try_again(file) -> None:
    store = open_store(file, patience_s=0.1)
    case = begin(store)
    with closing(sqlite3.connect(file, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(NotKept, match="another writer held the records too long: wait a moment, then enter it"):
            mark(store, case, length(case, 20.5, 21))
        assert store.records.case(case.key) == case, "reading never waits"
        other.execute("ROLLBACK")
    mark(store, case, length(case, 20.5, 21))
    store.close()


def test_who_waits_a_little_for_another_writer_succeeds(store, file) -> None:
    case = begin(store)
    hold = (
        "import sqlite3, sys, time; c = sqlite3.connect(sys.argv[1], isolation_level=None);"
        "c.execute('BEGIN IMMEDIATE'); print('held', flush=True); time.sleep(0.3); c.execute('ROLLBACK')"
    )
    with subprocess.Popen([sys.executable, "-c", hold, file], stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == "held\n"
        mark(store, case, length(case, 20.5, 21))
    assert store.records.case(case.key).revision == 2


def test_a_damaged_file_is_told_in_a_sentence_when_it_is_read(file) -> None:
    store = open_store(file)
    begin(store)
    store.close()
    pages = file.read_bytes()
    file.write_bytes(pages[:4096] + b"\x55" * (len(pages) - 4096))
    with pytest.raises(NotKept, match=r"because the file is damaged: .*put back the last copy of the file"):
        open_store(file).records.case(1)


def test_a_wrong_use_of_the_database_stays_our_own_fault(store) -> None:
    with pytest.raises(Exception, match="NOT NULL constraint failed"):
        store.accounts.add_user("Ann", None, "hash", AT)

"""Several who write at once: each succeeds or is told, and nothing that was acknowledged is lost."""

from __future__ import annotations

import subprocess
import sys
import threading
import time

import pytest
from sqlalchemy import text

from rootfill.errors import ChangedMeanwhile, NotKept
from rootfill.store import Store
from rootfill.store.transactions import Transactions
from tests.store.invented import begin, length, mark


def count_up(store: Store, key: int, times: int) -> int:
    """Add one to the length of the first canal so many times; how often somebody else was first."""
    told = 0
    while times:
        case = store.records.case(key)
        seen = case.canals[0].entered["working_length_mm"]
        try:
            mark(store, case, length(case, seen, seen + 1))
            times -= 1
        except ChangedMeanwhile:
            told += 1
    return told


def in_threads(count, work) -> None:
    threads = [threading.Thread(target=work, args=(number,)) for number in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()


def test_threads_that_change_one_field_lose_none_of_each_others_changes(store) -> None:
    case, told = begin(store), []
    in_threads(4, lambda _: told.append(count_up(store, case.key, 15)))
    now = store.records.case(case.key)
    assert len(told) == 4
    assert now.canals[0].entered["working_length_mm"] == 20.5 + 4 * 15
    assert [m.number for m in store.records.marks(case.key, 99)] == list(range(1 + 4 * 15, 0, -1))


def test_programs_that_change_one_field_lose_none_of_each_others_changes(store, file) -> None:
    case = begin(store)
    program = (
        "import sys; from pathlib import Path; from rootfill.store import open_store;"
        "from tests.store.test_transactions import count_up;"
        "store = open_store(Path(sys.argv[1])); print(count_up(store, 1, 40)); store.close()"
    )
    others = [subprocess.Popen([sys.executable, "-c", program, file], stdout=subprocess.PIPE) for _ in range(2)]
    assert [other.wait(60) for other in others] == [0, 0]
    for other in others:
        other.communicate()
    assert store.records.case(case.key).canals[0].entered["working_length_mm"] == 20.5 + 80


def test_threads_that_write_different_cases_all_succeed(store) -> None:
    cases = [begin(store, f"C-{number}") for number in range(6)]
    in_threads(6, lambda number: count_up(store, cases[number].key, 10))
    assert {store.records.case(case.key).revision for case in cases} == {11}


def test_a_thread_that_waits_too_long_for_its_turn_is_told(store) -> None:
    transactions, told = Transactions(store.engine, 0.05), []

    def late(_) -> None:
        with pytest.raises(NotKept, match="because another writer held the records too long") as late:
            transactions.writing().__enter__()
        told.append(late)

    with transactions.writing():
        in_threads(2, late)
    assert len(told) == 2
    with transactions.writing() as session:
        assert session.scalar(text("SELECT 1")) == 1


def test_what_is_read_together_is_of_one_moment(store) -> None:
    case, stop, torn = begin(store), threading.Event(), []

    def look(_) -> None:
        while not stop.is_set():
            now = store.records.case(case.key)
            if now.canals[0].entered["working_length_mm"] - 20.5 != now.revision - 1:
                torn.append(now)
            time.sleep(0.001)

    def write() -> None:
        count_up(store, case.key, 20)
        stop.set()

    writer = threading.Thread(target=write)
    writer.start()
    in_threads(2, look)
    writer.join()
    assert torn == []

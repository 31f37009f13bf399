"""Killed while saving: every mark that was acknowledged is there, and none by half."""

from __future__ import annotations

import datetime as dt
import importlib
import os
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
from sqlalchemy import event

from rootfill.clinic.kept import Edit, KeptCase
from rootfill.clinic.ports import Records
from rootfill.store import open_store

COVERS = ["src/rootfill/store"]

KILLS = 170
PER_FILE = 10
"""Kills that one file has to bear; the first of them may strike while it is made."""
LONGEST_S = 0.1
BY, AT = "prove", dt.datetime(2026, 11, 24, tzinfo=dt.UTC)
WRITER = [sys.executable, "-c", "from prove.saving import start_writers; start_writers()"]
FAULTS = ("lost", "half", "unsound")


def run(seed: int) -> dict[str, Any]:
    """Kill a writer at random moments, each time open what it left, and look."""
    with tempfile.TemporaryDirectory() as folder:
        return kill_often(Path(folder), np.random.default_rng(seed), KILLS)


def kill_often(folder: Path, rng: np.random.Generator, kills: int) -> dict[str, Any]:
    """The figures of so many kills."""
    found: Counter[str] = Counter()
    with _writers() as writers:
        for number in range(kills):
            path = folder / str(number // PER_FILE) / "records.db"
            if number % PER_FILE == 0:
                promised = 0
            acknowledged = _killed(writers, path, float(rng.uniform(0, LONGEST_S)), begun=number % 2 == 1)
            found["acknowledged"] += len(acknowledged)
            promised = max(promised, *acknowledged, 0)
            there, faults = _look(path)
            found.update(faults, lost=max(promised - there, 0), kept_without_word=max(there - promised, 0))
            promised = max(promised, there)
    figures = {name: found[name] for name in ("acknowledged", "kept_without_word", *FAULTS)}
    passed = found["acknowledged"] >= kills // 2 and not any(found[fault] for fault in FAULTS)
    return {"kills": kills, **figures, "passed": passed}


def start_writers() -> None:
    """For each path that comes in, a child that writes there until it is killed: no child has to load anything."""
    importlib.import_module("alembic.command")

    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            try:
                _write(Path(line.strip()))
            finally:
                traceback.print_exc()
                os._exit(1)
        code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
        _say(f"ended {code}")


def _say(line: str) -> None:
    """A line in one piece, whatever is set for standard output: a writer may be killed within a print."""
    os.write(sys.stdout.fileno(), f"{line}\n".encode())


@contextmanager
def _writers() -> Iterator[subprocess.Popen[str]]:
    root = Path(__file__).parent.parent
    with subprocess.Popen(
        WRITER, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, bufsize=1, cwd=root
    ) as process:
        yield process


def _killed(writers: subprocess.Popen[str], path: Path, after_s: float, begun: bool) -> list[int]:
    """The marks that a writer acknowledged before it was killed, so long after its start or its first one."""
    assert writers.stdin is not None
    assert writers.stdout is not None
    writers.stdin.write(f"{path}\n")
    pid = int(writers.stdout.readline())
    first = [writers.stdout.readline()] if begun else []
    time.sleep(after_s)
    os.kill(pid, signal.SIGKILL)
    lines = first
    while not lines or not lines[-1].startswith("ended"):
        lines.append(writers.stdout.readline())
    if lines.pop() != f"ended {-signal.SIGKILL}\n":
        raise RuntimeError("a writer ended by itself, see what it said")
    return [int(line) for line in lines]


def _write(path: Path) -> None:
    """Mark after mark, each acknowledged; every fifth with a plan and a document."""
    _say(str(os.getpid()))
    store = open_store(path)
    event.listen(store.engine, "checkout", _often_into_the_file)
    kept = _case(store.records) or store.records.add_case({}, [], [{"name": "MB"}], "mark 0", BY, AT)
    number = kept.revision
    while True:
        store.records.mark(kept.key, _edits(kept, number), f"mark {number}", BY, AT)
        if number % 5 == 0:
            plan = store.records.keep_plan(kept.key, {"mark": number}, _text(number), "prove", AT)
            store.records.keep_documents(kept.key, plan.number, {"card.pdf": _text(number).encode()}, AT)
        _say(str(number))
        number += 1


def _often_into_the_file(connection: sqlite3.Connection, *_: object) -> None:
    """So that kills strike there too, not only in the journal."""
    connection.execute("PRAGMA wal_autocheckpoint = 20")


def _edits(kept: KeptCase, number: int) -> list[Edit]:
    """One number in three rows."""
    old = number - 1 or None
    return [
        Edit("patient", 0, {"note": old}, {"note": number}),
        Edit("canal", kept.canals[0].key, {"working_length_mm": old}, {"working_length_mm": number}),
        Edit("finding", None, None, {"value_mm": number, "by": _text(number)}),
    ]


def _text(number: int) -> str:
    return f"{number} " * 500


def _look(path: Path) -> tuple[int, Counter[str]]:
    """Open what was left, as the program would: how many marks are there, and what is wrong with them."""
    store = open_store(path)
    try:
        case = _case(store.records)
        there = 0 if case is None else case.revision - 1
        half = 0 if case is None else _half(store.records, case)
    finally:
        store.close()
    return there, Counter(half=half, unsound=not _sound(path))


def _half(records: Records, case: KeptCase) -> int:
    """Rows, marks, plans and documents that do not all speak of the same number of marks."""
    last = case.revision - 1
    marks = [mark.says for mark in records.marks(case.key, last + 2)]
    plan = records.newest_plan(case.key)
    documents = [records.document(case.key, line.key)[1].decode() for line in records.documents(case.key)]
    whole = (
        case.sections.get("patient", {}).get("note", 0) == last,
        case.canals[0].entered.get("working_length_mm", 0) == last,
        [row.entered["value_mm"] for row in case.findings] == list(range(1, last + 1)),
        marks == [f"mark {number}" for number in range(last, -1, -1)],
        plan is None or plan.plan == _text(plan.inputs["mark"]),
        set(documents) <= {_text(number) for number in range(5, last + 1, 5)},
    )
    return whole.count(False)


def _case(records: Records) -> KeptCase | None:
    lines = records.cases("", 1, 0).lines
    return records.case(lines[0].key) if lines else None


def _sound(path: Path) -> bool:
    connection = sqlite3.connect(path)
    try:
        checks = connection.execute("PRAGMA integrity_check").fetchall()
        return checks == [("ok",)] and not connection.execute("PRAGMA foreign_key_check").fetchall()
    finally:
        connection.close()

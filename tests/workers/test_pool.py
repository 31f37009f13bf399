"""Long work in processes of their own: the same plan, replaced when killed, gone with whoever started them."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import replace

import pytest

from rootfill.app import make_papers
from rootfill.clinic.casefile import generic_tray, read_case
from rootfill.clinic.plan_case import demo_case, full_plan
from rootfill.errors import InputRefused
from rootfill.plan.case import Case
from rootfill.workers import Pool


class NoShelf:
    """A shelf without tray files."""

    def tray_text(self, name: str) -> str:
        raise InputRefused("tray.file", name, "none here")


@pytest.fixture(scope="module")
def case() -> Case:
    return read_case(demo_case(), NoShelf())[0]


@pytest.fixture(scope="module")
def pool() -> Iterator[Pool]:
    made = Pool(make_papers)
    yield made
    made.close()


def children(pid: int) -> list[int]:
    """Processes started by this one, that are still there."""
    found = []
    for name in os.listdir("/proc"):
        if name.isdecimal():
            try:
                with open(f"/proc/{name}/stat", encoding="utf-8") as stat:
                    state, parent = stat.read().rpartition(")")[2].split()[:2]
            except OSError:
                continue
            if int(parent) == pid and state != "Z":
                found.append(int(name))
    return found


def test_a_plan_made_elsewhere_is_the_same_plan(pool: Pool, case: Case) -> None:
    assert pool.plan(case, generic_tray(), {}) == full_plan(case, generic_tray(), {})


def test_a_refusal_comes_back_as_one(pool: Pool, case: Case) -> None:
    with pytest.raises(InputRefused, match=r"tray\.cones"):
        pool.plan(case, replace(generic_tray(), cones=()), {})


def test_a_process_that_was_killed_is_replaced_and_the_work_done(pool: Pool, case: Case) -> None:
    pool.plan(case, generic_tray(), {})
    before = children(os.getpid())
    for process in pool._pool._processes or {}:
        os.kill(process, signal.SIGKILL)
    assert pool.plan(case, generic_tray(), {}).canals
    assert children(os.getpid()) != before


def test_the_processes_end_with_whoever_started_them_however_it_ended() -> None:
    code = (
        "import sys, time\nfrom rootfill.app import make_papers\nfrom rootfill.workers import Pool\n"
        "if __name__ == '__main__':\n    pool = Pool(make_papers)\n    pool._pool.submit(int).result()\n"
        "    print('ready', flush=True)\n    time.sleep(60)\n"
    )
    started = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE, text=True)
    assert started.stdout is not None
    assert started.stdout.readline() == "ready\n"
    workers = children(started.pid)
    assert workers
    started.kill()
    started.wait()
    started.stdout.close()
    for _ in range(100):
        if not any(os.path.exists(f"/proc/{w}") and w in alive() for w in workers):
            return
        time.sleep(0.1)
    raise AssertionError("the workers outlived their parent")


def alive() -> set[int]:
    """Processes that are there and no mere names."""
    found = set()
    for name in os.listdir("/proc"):
        if name.isdecimal():
            try:
                with open(f"/proc/{name}/stat", encoding="utf-8") as stat:
                    if stat.read().rpartition(")")[2].split()[0] != "Z":
                        found.add(int(name))
            except OSError:
                continue
    return found

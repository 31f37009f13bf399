"""A few worker processes that end when whoever started them does, however it ended."""

from __future__ import annotations

import datetime as dt
import multiprocessing
import tempfile
import threading
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import TypeVar

from rootfill.clinic.kept import Fields
from rootfill.clinic.kept_picture import PictureRead
from rootfill.clinic.plan_case import full_plan, make_documents
from rootfill.clinic.ports import Papers, Unread, Unsearched
from rootfill.clinic.read_picture import read_picture
from rootfill.plan.case import Case
from rootfill.plan.model import CanalPlan, Plan
from rootfill.tray.model import Tray
from rootfill.workers.apart import Apart, end_with_parent

T = TypeVar("T")


class Pool:
    """Work by processes; a process that died is replaced and the work done once more.

    ``make_papers`` is called in the process that needs documents; it must be a function of a module.
    """

    def __init__(self, make_papers: Callable[[], Papers], processes: int = 1) -> None:
        self._make_papers = make_papers
        self._processes = processes
        self._turn = threading.Lock()
        self._pool = self._started()
        self._reading = Apart()

    def plan(self, case: Case, tray: Tray, keep: Mapping[str, CanalPlan]) -> Plan:
        """The full plan. Raises InputRefused."""
        return self._done(full_plan, case, tray, dict(keep))

    def documents(self, plan: Plan, names: Sequence[str], printed: dt.datetime) -> dict[str, bytes]:
        """The documents of these names."""
        return self._done(_documents, self._make_papers, plan, tuple(names), printed)

    def read_picture(self, unread: Unread, gone: Callable[[], bool]) -> PictureRead:
        """The grey values written and what was told of them, in a process of its own that ends with it.

        Raises InputRefused, NotKept.
        """
        return self._reading.done(_read, unread, gone)

    def find_canals(self, asked: Unsearched, gone: Callable[[], bool]) -> Fields:
        """Canals of a kept scan, in a process of its own that ends with it. Raises InputRefused, NotKept."""
        return self._reading.done(_search, asked, gone)

    def warm(self) -> None:
        """Have the first process load what it will need, without waiting for it."""
        self._pool.submit(_loaded, self._make_papers)

    def close(self) -> None:
        """End the processes."""
        self._pool.shutdown(wait=False, cancel_futures=True)

    def _done(self, does: Callable[..., T], *given: object) -> T:
        pool = self._pool
        try:
            return self._submitted(pool, does, *given).result()
        except BrokenProcessPool:
            return self._submitted(self._renewed(pool), does, *given).result()

    def _submitted(self, pool: ProcessPoolExecutor, does: Callable[..., T], *given: object) -> Future[T]:
        return pool.submit(does, *given)

    def _renewed(self, broken: ProcessPoolExecutor) -> ProcessPoolExecutor:
        with self._turn:
            if self._pool is broken:
                self._pool = self._started()
            return self._pool

    def _started(self) -> ProcessPoolExecutor:
        context = multiprocessing.get_context("spawn")
        return ProcessPoolExecutor(self._processes, mp_context=context, initializer=end_with_parent)


def _read(unread: Unread) -> PictureRead:
    # What is unpacked meanwhile lies with what came, and is swept with it should this process be killed.
    tempfile.tempdir = str(unread.target.parent)
    return read_picture(unread)


def _search(asked: Unsearched) -> Fields:
    from rootfill.clinic.search_grey import search_grey

    return search_grey(asked)


def _documents(
    make_papers: Callable[[], Papers], plan: Plan, names: Sequence[str], printed: dt.datetime
) -> dict[str, bytes]:
    return make_documents(plan, make_papers(), printed, names)


def _loaded(make_papers: Callable[[], Papers]) -> None:
    make_papers()

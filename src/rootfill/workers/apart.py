"""One long computation at a time in a process of its own: ended when nobody waits for it, its memory given back."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
import traceback
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import TypeVar

from rootfill.errors import InputRefused, NotKept, RootfillError, Said

G = TypeVar("G")
T = TypeVar("T")
LOOK_S = 0.2
"""How often it looks whether somebody still waits."""


class Apart:
    """Takes turns: two large pictures at once would need the memory of both."""

    def __init__(self) -> None:
        self._turn = threading.Lock()
        self._context = multiprocessing.get_context("spawn")

    def done(self, does: Callable[[G], T], given: G, gone: Callable[[], bool]) -> T:
        """What a function of a module answers; its RootfillError is raised here.

        Raises NotKept when whoever asked is gone, InputRefused when the process died of it.
        """
        while not self._turn.acquire(timeout=LOOK_S):
            _check(gone)
        try:
            return self._run(does, given, gone)
        finally:
            self._turn.release()

    def _run(self, does: Callable[[G], T], given: G, gone: Callable[[], bool]) -> T:
        here, there = self._context.Pipe(duplex=False)
        process = self._context.Process(target=_answer, args=(does, given, there), daemon=True)
        process.start()
        there.close()
        try:
            while not here.poll(LOOK_S):
                _check(gone)
            answer: T | Exception = here.recv()
        except EOFError:
            size = Said("more than this machine could read")
            raise InputRefused("the picture", size, "cut it to the teeth, or free some memory") from None
        finally:
            process.kill()
            process.join()
            here.close()
        if isinstance(answer, Exception):
            raise answer
        return answer


def _check(gone: Callable[[], bool]) -> None:
    if gone():
        raise NotKept("Nothing was saved, because the picture was given up while it was read.")


def _answer(does: Callable[[G], T], given: G, there: Connection) -> None:
    """Runs in the process. What is not expected leaves its type alone: its words may quote what somebody typed."""
    end_with_parent()
    answer: T | Exception
    try:
        answer = does(given)
    except RootfillError as error:
        answer = error
    except MemoryError:
        answer = InputRefused("the picture", Said("too large for this machine"), "cut it to the teeth")
    except Exception as error:
        last = traceback.extract_tb(error.__traceback__)[-1]
        answer = RuntimeError(f"{type(error).__name__} in {last.name}, {last.filename}:{last.lineno}")
    there.send(answer)


def end_with_parent() -> None:
    """Leave interrupts to the parent, and end as soon as it is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end, args=(parent,), daemon=True).start()


def _end(parent: BaseProcess) -> None:
    parent.join()
    os._exit(1)

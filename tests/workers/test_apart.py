"""One reading at a time in a process of its own, ended when nobody waits for it."""

from __future__ import annotations

import os
import signal
import threading
import time

import numpy as np
import pytest

from rootfill.errors import InputRefused, NotKept
from rootfill.workers.apart import Apart
from tests.workers.test_pool import children


def twice(number: int) -> int:
    return 2 * number


def refuse(name: str) -> None:
    raise InputRefused("the picture", name, "choose a scan")


def die(_given: object) -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def break_down(_given: object) -> None:
    raise ZeroDivisionError("the secret word is gutta")


def have_no_room(_given: object) -> None:
    np.empty((2**60,), "u1")


def last(seconds: float) -> float:
    time.sleep(seconds)
    return seconds


def nobody_gone() -> bool:
    return False


def test_what_it_answers_and_refuses_comes_back() -> None:
    apart = Apart()
    assert apart.done(twice, 21, nobody_gone) == 42
    with pytest.raises(InputRefused, match="the picture is 'letter'; choose a scan"):
        apart.done(refuse, "letter", nobody_gone)


@pytest.mark.parametrize("does", [die, have_no_room])
def test_a_picture_too_large_for_the_machine_is_refused_and_the_next_is_read(does) -> None:
    apart = Apart()
    with pytest.raises(InputRefused, match=r"the picture is (more than this machine could read|too large)"):
        apart.done(does, 0, nobody_gone)
    assert apart.done(twice, 2, nobody_gone) == 4


def test_our_own_fault_is_told_by_its_place_and_never_in_its_words() -> None:
    with pytest.raises(RuntimeError, match="ZeroDivisionError in break_down") as caught:
        Apart().done(break_down, 0, nobody_gone)
    assert "gutta" not in str(caught.value)


def test_it_ends_when_whoever_asked_is_gone() -> None:
    apart, gone = Apart(), threading.Event()
    apart.done(twice, 1, nobody_gone)
    before = children(os.getpid())
    threading.Timer(1.0, gone.set).start()
    started = time.monotonic()
    with pytest.raises(NotKept, match="given up while it was read"):
        apart.done(last, 60.0, gone.is_set)
    assert time.monotonic() - started < 10
    assert children(os.getpid()) == before


def test_who_waits_for_his_turn_can_give_up_too() -> None:
    apart, first = Apart(), threading.Event()
    busy = threading.Thread(target=lambda: _until(apart, first))
    busy.start()
    time.sleep(0.3)
    with pytest.raises(NotKept):
        apart.done(twice, 1, lambda: True)
    first.set()
    busy.join()


def _until(apart: Apart, gone: threading.Event) -> None:
    with pytest.raises(NotKept):
        apart.done(last, 60.0, gone.is_set)

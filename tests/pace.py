"""How fast this machine is now: a budget in milliseconds means the same on a slow one (decision 20)."""

from __future__ import annotations

import statistics
import time

STEPS = 300_000
USUAL_S = 0.0108
"""Of ``_work`` on the machine on which the budgets were first met."""
SLOWEST = 3.0
"""A machine slower than this fails what holds a time: nothing could be learnt from it."""


def budget(usual: float) -> float:
    """A time on the usual machine, as it is on this one at this moment; never shorter, in the unit given."""
    measured = statistics.median(_work() for _ in range(7)) / USUAL_S
    return usual * min(max(measured, 1.0), SLOWEST)


def _work() -> float:
    """Seconds of this process for plain arithmetic that no change to the program makes faster or slower."""
    total, started = 0, time.process_time()
    for i in range(STEPS):
        total += i * i
    return time.process_time() - started

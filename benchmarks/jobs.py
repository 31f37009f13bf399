"""What has a budget, and the budget in seconds."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np

from benchmarks.teeth import NoTrays, changed, demo, hardest
from rootfill import clinic
from rootfill.clinic.plan_case import first_look, full_plan
from rootfill.clinic.result import plan_json, read_plan
from rootfill.fit import Spreads, held, reach, rigid_reach_mm, seat_s_mm, trimmed_by_gauge
from rootfill.tooth import Arc, Canal, Curve, tapered
from rootfill.tray import Rod

BENT = Canal(tapered(25, 0.06, 13.0), Curve((Arc(25, 8, 3.0),)))
STEEL = Rod(0.45, 0.02)


def demo_plan() -> None:
    clinic.plan_case(clinic.demo_case(), NoTrays())


def first_look_at_a_change() -> None:
    first_look(*changed())


def full_plan_of_a_change() -> None:
    full_plan(*changed())


def first_look_at_the_demo() -> None:
    first_look(*demo(), {})


def first_look_at_the_hardest() -> None:
    first_look(*hardest(), {})


def full_plan_of_the_hardest() -> None:
    full_plan(*hardest(), {})


@cache
def kept_text() -> str:
    return plan_json(full_plan(*demo(), {}))


def read_back() -> None:
    read_plan(kept_text())


def cold_demo() -> None:
    subprocess.run(
        [sys.executable, "-c", "from rootfill.app import main; main()", "demo"], check=True, capture_output=True
    )


def rigid_scan() -> None:
    rigid_reach_mm(BENT, STEEL)


def elastic_scan() -> None:
    reach(BENT, STEEL, 200_000.0, 0.2, 0.5, 2.0)


def ten_thousand_draws() -> None:
    draws = Spreads(0.02, "measured", 0.039, 0.01).draw(np.random.default_rng(1), 10_000)
    cones = trimmed_by_gauge(0.20, 0.04, 0.30, draws)
    held(BENT.profile, cones, draws.file_mm, seat_s_mm(BENT.profile, cones, draws.file_mm))


@dataclass(frozen=True)
class Job:
    """Something done, and how long it may take."""

    does: Callable[[], None]
    budget_s: float
    rounds: int


JOBS = {
    "demo plan, warm": Job(demo_plan, 1.5, 5),
    "a changed number, first look": Job(first_look_at_a_change, 0.2, 10),
    "a changed number, full plan": Job(full_plan_of_a_change, 0.8, 5),
    "a whole tooth, first look": Job(first_look_at_the_demo, 0.5, 5),
    "the hardest tooth, first look": Job(first_look_at_the_hardest, 1.0, 3),
    "the hardest tooth, full plan": Job(full_plan_of_the_hardest, 5.0, 3),
    "plan.json read back": Job(read_back, 0.01, 20),
    "demo command, cold": Job(cold_demo, 4.0, 3),
    "rigid reach of one instrument": Job(rigid_scan, 0.005, 50),
    "elastic reach of one instrument": Job(elastic_scan, 0.060, 20),
    "10,000 draws of seat and trim": Job(ten_thousand_draws, 0.1, 20),
}

"""What has a budget, and the budget in seconds."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from rootfill import clinic
from rootfill.errors import InputRefused
from rootfill.fit import Spreads, held, reach, rigid_reach_mm, seat_s_mm, trimmed_by_gauge
from rootfill.tooth import Arc, Canal, Curve, tapered
from rootfill.tray import Rod

BENT = Canal(tapered(25, 0.06, 13.0), Curve((Arc(25, 8, 3.0),)))
STEEL = Rod(0.45, 0.02)


class NoTrays:
    """A shelf without tray files."""

    def tray_text(self, name: str) -> str:
        raise InputRefused("tray.file", name, "no tray files here")


def demo_plan() -> None:
    clinic.plan_case(clinic.demo_case(), NoTrays())


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
    "demo command, cold": Job(cold_demo, 4.0, 3),
    "rigid reach of one instrument": Job(rigid_scan, 0.005, 50),
    "elastic reach of one instrument": Job(elastic_scan, 0.060, 20),
    "10,000 draws of seat and trim": Job(ten_thousand_draws, 0.1, 20),
}

"""The interval of a canal's schedule: 32 ways the canal may be, three steps of the down-pack each."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from rootfill.heat import Draw, Effort, Pace, Tip, Trials, stepwise
from tests.heat.bars import BODY_C, COMPOUND, MATERIALS, section
from tests.heat.test_schedule import PACE, THERE

STATIONS = (10.0, 7.5, 5.0)
TIP = Tip(((0.0, BODY_C), (1.0, 110.0), (4.0, 160.0)), 3000.0)
DRAWS, LIMIT_C = 32, 10.0


def draws(count: int = DRAWS) -> list[Draw]:
    """Compound, wall and contact drawn with a fixed seed."""
    rng, found = np.random.default_rng(7), []
    for _ in range(count):
        k, wall, contact = 0.6 * 3.75 ** rng.random(), 0.7 + 0.5 * rng.random(), 10 ** rng.uniform(3, 4)
        root = section(wall, materials=replace(MATERIALS, compound=replace(COMPOUND, k_w_mk=k)))
        found.append(Draw(root, THERE, replace(TIP, contact_w_m2k=contact)))
    return found


def packing(heat_s: float, tip: Tip, pace: Pace = PACE):
    return stepwise(STATIONS, heat_s, tip, pace)


def rises_c(ways, effort):
    return Trials(ways, packing, effort).rises_c(2.0)


def test_the_interval_of_a_schedule_takes_less_than_two_seconds(benchmark, capsys):
    ways = draws()
    rises = benchmark.pedantic(rises_c, (ways, Effort(refine=1)), rounds=3, warmup_rounds=1)
    few = draws(8)
    gap = rises_c(few, Effort(refine=1)) - rises_c(few, Effort())
    low, middle, high = np.quantile(rises, [0.05, 0.5, 0.95])
    with capsys.disabled():
        says = f"{benchmark.stats.stats.median:.2f} s; rise {middle:.1f} °C ({low:.1f} to {high:.1f})"
        print(f"\n{says}; coarse less fine, 8 draws: {gap.min():+.2f} to {gap.max():+.2f} °C")
    assert benchmark.stats.stats.median < 2.0


def test_the_longest_heating_of_a_schedule(benchmark, capsys):
    ways = draws()
    found = benchmark.pedantic(lambda: Trials(ways, packing, Effort(refine=1)).longest_heating_s(LIMIT_C), rounds=1)
    with capsys.disabled():
        print(f"\n{benchmark.stats.stats.median:.2f} s; {found:g} s at each of {len(STATIONS)} steps")
    assert found % 0.5 == 0

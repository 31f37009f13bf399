"""Twenty seconds of chair time in three dimensions, 12 × 12 × 20 mm: speed, error, peak memory.

The fine one alone: ``pytest benchmarks/bench_heat_solid.py --benchmark-only -k 0.05``.
"""

from __future__ import annotations

import resource
from dataclasses import replace

import numpy as np
import pytest

from benchmarks.bench_heat import BODY_C, PLAIN, SECONDS, TIP, TIP_S_MM, extrapolated
from rootfill.heat import Surroundings
from rootfill.heat.solid import Heating, root_of, warm_solid

SECTION = replace(PLAIN, block_radius_mm=6.0, block_below_mm=8.0)
LIMIT_KIB, ERROR_C = 2 * 1024**2, 0.3


def ours(spacing_mm: float, seconds: float = SECONDS) -> np.ndarray:
    """Peak rise on the surface, and peaks on the axis 1, 2 and 3 mm ahead, °C."""
    found = warm_solid(root_of(SECTION), Surroundings(BODY_C), [Heating(TIP)], seconds, spacing_mm)
    return np.array([found.surface_peak_c(), *(found.axis_peak_c(TIP_S_MM - x) for x in (1, 2, 3))])


@pytest.mark.parametrize(("spacing_mm", "times_real"), [(0.1, 3.0), (0.05, 0.2)])
def test_chair_time_in_three_dimensions_keeps_its_speed_error_and_memory(benchmark, capsys, spacing_mm, times_real):
    ours(0.4, 4.5)  # compiles
    found = benchmark.pedantic(lambda: ours(spacing_mm), rounds=1)
    seconds, peak = benchmark.stats.stats.median, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    error = found - extrapolated(SECTION)
    said = " ".join(f"{x:+.3f}" for x in error)
    with capsys.disabled():
        print(f"\n{spacing_mm} mm {seconds:7.1f} s {SECONDS / seconds:5.2f} x real, {peak / 1024:.0f} MiB; {said} °C")
    assert peak <= LIMIT_KIB
    assert np.abs(error).max() <= ERROR_C
    assert seconds * times_real <= SECONDS

"""Twenty seconds of chair time: how fast, and how far from the extrapolated answer, in one table."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from time import perf_counter

import numpy as np
import pytest

from benchmarks.heat_by_elements import by_elements
from rootfill.heat import Effort, Material, Materials, Section, Source, Surroundings, Transition, warm
from rootfill.heat.mesh import fitted

SECONDS, BODY_C, TIP_S_MM = 20.0, 37.0, 5.0
TIP = Source.still(TIP_S_MM, 1.0, 4.0, 200.0)
PLAIN = Section(
    12.0,
    np.array([[0.0, 0.3], [12.0, 0.9]]),
    np.array([[0.0, 2.0], [12.0, 5.0]]),
    8.0,
    6.0,
    Materials(Material(1.15, 2400, 940), Material(0.57, 2140, 1302), Material(0.45, 1908, 1313)),
)
MELTING = Transition(10880, (53.0, 62.0), (40.0, 50.0))
MELTS = replace(PLAIN, materials=replace(PLAIN.materials, compound=Material(1.15, 2400, 940, MELTING)))


def ours(section: Section, effort: Effort) -> np.ndarray:
    """Peak rise on the surface, and peaks on the axis 1, 2 and 3 mm ahead, °C."""
    found = warm(section, Surroundings(BODY_C), [TIP], SECONDS, effort)
    return np.array([found.surface_peak().rise_c, *(found.axis_peak_c(TIP_S_MM - x) for x in (1, 2, 3))])


def theirs(step_s: float) -> np.ndarray:
    """The same by scikit-fem on the same mesh, at even steps."""
    mesh = fitted(PLAIN, [TIP_S_MM], Effort())
    peaks = by_elements(mesh, PLAIN, TIP, SECONDS, step_s, BODY_C).max(axis=0).reshape(mesh.grid.shape)
    ahead = np.interp([TIP_S_MM - x for x in (1, 2, 3)], mesh.grid.s_m * 1e3, peaks[:, 0])
    return np.array([peaks[mesh.end_row :, mesh.root_column].max() - BODY_C, *ahead])


@cache
def extrapolated(section: Section) -> np.ndarray:
    """From this effort and twice as fine, second order."""
    usual, fine = ours(section, Effort()), ours(section, Effort(refine=4))
    return np.asarray(fine + (fine - usual) / 3)


@dataclass(frozen=True)
class Row:
    """What is timed, against which section's answer, and the least speed and largest error where one is promised."""

    does: Callable[[], np.ndarray]
    section: Section = PLAIN
    times_real: float = 0.0
    error_c: float = np.inf


ROWS = {
    "constant properties": Row(lambda: ours(PLAIN, Effort()), times_real=300.0, error_c=0.2),
    "constant properties, coarse": Row(lambda: ours(PLAIN, Effort(refine=1))),
    "with transitions": Row(lambda: ours(MELTS, Effort()), MELTS),
    "scikit-fem, 0.1 s": Row(lambda: theirs(0.1)),
    "scikit-fem, 0.25 s": Row(lambda: theirs(0.25)),
}


@pytest.mark.parametrize("name", ROWS)
def test_chair_time_is_run_fast_and_near_the_extrapolated_answer(benchmark, capsys, name):
    row = ROWS[name]
    found = benchmark.pedantic(row.does, rounds=10, warmup_rounds=1)
    error, seconds = found - extrapolated(row.section), benchmark.stats.stats.median
    benchmark.extra_info |= {"times_real": SECONDS / seconds, "error_c": np.abs(error).max()}
    said = " ".join(f"{x:+.3f}" for x in error)
    with capsys.disabled():
        print(f"\n{name:28} {seconds:7.4f} s {SECONDS / seconds:6.0f} x real; surface, 1, 2, 3 mm ahead: {said} °C")
    assert np.abs(error).max() <= row.error_c
    assert seconds * row.times_real <= SECONDS


def test_the_own_kernel_is_three_times_as_fast_as_scikit_fem_at_the_same_error(benchmark, capsys):
    both = [lambda: ours(PLAIN, Effort()), lambda: theirs(0.25)]
    errors = [np.abs(run() - extrapolated(PLAIN)).max() for run in both]
    turns = benchmark.pedantic(lambda: [[timed_s(run) for run in both] for _ in range(7)], rounds=1)
    own, other = np.median(turns, axis=0)
    with capsys.disabled():
        print(f"\nown kernel {other / own:.1f} times as fast; errors {errors[0]:.3f} and {errors[1]:.3f} °C")
    assert max(errors) <= 0.1
    assert other >= 3 * own


def timed_s(run: Callable[[], object]) -> float:
    start = perf_counter()
    run()
    return perf_counter() - start

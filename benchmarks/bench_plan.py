"""Times of what has a budget; the median of the rounds must keep it."""

from __future__ import annotations

import pytest

from benchmarks.jobs import JOBS


@pytest.mark.parametrize("name", JOBS)
def test_it_keeps_its_budget(benchmark, name):
    job = JOBS[name]
    benchmark.extra_info["budget_s"] = job.budget_s
    benchmark.pedantic(job.does, rounds=job.rounds, warmup_rounds=1)
    assert benchmark.stats.stats.median < job.budget_s

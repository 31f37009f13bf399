"""What heat adds to a plan: a root of one canal, of two, the demo tooth, with a measured tip (invented)."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import pytest

from rootfill.clinic.casefile import read_case
from rootfill.clinic.plan_case import demo_case, full_plan
from rootfill.plan.case import Case
from rootfill.tray.model import Tray
from tests.plan.cases import NoTrays

Technique = Literal["stepwise", "single_wave", "injected_only"]


def asked(names: tuple[str, ...], *, measured: bool, technique: Technique = "stepwise") -> tuple[Case, Tray]:
    """The demo tooth with these canals, on a tray whose tips were measured or not."""
    case, tray = read_case(demo_case(), NoTrays())
    canals = tuple(replace(c, technique=technique) for c in case.canals if c.name in names)
    return replace(case, canals=canals, findings=()), replace(tray, assumed=not measured)


@pytest.mark.parametrize(
    ("names", "technique"),
    [
        (("MB",), "stepwise"),
        (("MB", "ML"), "stepwise"),
        (("MB", "ML", "DB", "DL"), "stepwise"),
        (("DB",), "single_wave"),
    ],
)
def test_heat_in_the_plan(benchmark, capsys, names, technique):
    with_heat, without = (asked(names, measured=m, technique=technique) for m in (True, False))
    full_plan(*without, {})
    plan = benchmark.pedantic(full_plan, (*with_heat, {}), rounds=1)
    seconds = {step.stop_by_s for canal in plan.canals for step in canal.downpack}
    with capsys.disabled():
        print(f"\n{' '.join(names)}, {technique}: {benchmark.stats.stats.median:.1f} s; stop by {seconds}")
    assert any(canal.heat is not None for canal in plan.canals) or seconds == set()

"""A molar is typed in a minute and a half, and what was typed can be planned."""

from __future__ import annotations

import numpy as np
from pydantic import TypeAdapter

from rootfill.plan import make_plan
from rootfill.plan.case import Case
from tests.clinic.callouts import TRAY, applied, canal, kept, sure

LINES = (
    "loc mb 21, ml 20.5, db 21.5, dl 21",
    "wl mb 20.5, ml 20, db 21, dl 20.5",
    "orif mb 8, ml 8.5, db 9, dl 8.5",
    "mb ml 30/.04, curve 25 r 12",
    "db dl 35/.04, straight",
    "mb 50 binds 16, 60 13.5, ml 50 15.5, 60 13, db 60 15, 70 12.5, dl 60 14.5, 70 12",
    "all dry, cone fits",
)
"""Length and locator, orifice, last file, curve, two pluggers, dry and cone of four canals."""
ONE_BY_ONE = (
    "mb loc 21, wl 20.5, orif 8, 30/.04, curve 25 r 12, cone fits, 50 binds 16, 60 13.5, dry",
    "ml loc 20.5, wl 20, orif 8.5, 30/.04, curve 25 r 12, cone short 1, 50 binds 15.5, 60 13, dry",
)
CHARACTERS_PER_SECOND = 40 * 5 / 60
ENTER_S = 0.5
BUDGET_S = 90.0


def seconds(lines: tuple[str, ...]) -> float:
    return sum(len(line) / CHARACTERS_PER_SECOND + ENTER_S for line in lines)


def test_a_whole_molar_is_typed_within_its_budget_and_can_be_planned() -> None:
    case = kept(*(canal(name) for name in ("MB", "ML", "DB", "DL")))
    for line in LINES:
        case = applied(case, sure(line, case).edits)
    assert seconds(LINES) <= BUDGET_S
    data = {"case": case.sections["case"], "visits": [r.entered for r in case.visits],
            "canals": [r.entered for r in case.canals], "findings": [r.entered for r in case.findings]}  # fmt: skip
    entered = TypeAdapter(Case).validate_python(data)
    kinds = [f.kind for f in entered.findings]
    assert {kind: kinds.count(kind) for kind in kinds} == {"locator": 4, "binds": 8, "cone_seat": 4}
    plan = make_plan(entered, TRAY, np.random.default_rng(1), "test")
    assert [c.name for c in plan.canals if c.exit is None and c.cone is not None] == ["MB", "ML", "DB", "DL"]
    binds = {(c.name, p.name): p.binds_at_mm.value for c in plan.canals for p in c.pluggers}
    assert (binds["MB", "50"], binds["ML", "60"], binds["DL", "70"]) == (16.0, 13.0, 12.0)


def test_canal_by_canal_one_takes_no_more_than_half_a_minute() -> None:
    case = kept(*(canal(name) for name in ("MB", "ML", "DB", "DL")))
    for line in ONE_BY_ONE:
        case = applied(case, sure(line, case).edits)
        assert seconds((line,)) < 30
    mb = case.canals[0].entered
    assert (mb["working_length_mm"], mb["orifice_at_mm"], mb["drying"]) == (20.5, 8.0, "dry")
    assert mb["made"] == {"size": 30, "taper": 0.04}
    assert len(case.findings) == 8

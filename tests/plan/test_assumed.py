"""The plan says of which instruments nobody measured the dimensions."""

from __future__ import annotations

import pytest

from rootfill.plan import Plan
from tests.plan.cases import canal, case_text, plan_text

CANAL = canal("B", 20.0, "orifice_at_mm = 8", "30", ".04", "curvature = []")


def plan_of(tray: str, cone: str = "", fifty: str = "", sixty: str = "") -> Plan:
    more = (
        f"[tray]\n{tray}\ncones = [{{ name = '30/.04', size = 25, taper = 0.02{cone} }}]\n"
        f"pluggers = [{{ name = '50', tip_mm = 0.5, taper = 0.02{fifty} }}, "
        f"{{ name = '60', tip_mm = 0.6, taper = 0.02{sixty} }}]\n"
        "needles = [{ name = 'gun', gauge = 25, use = 'deliver' }]\n"
    )
    return plan_text(case_text(21, [CANAL], more))


def said(plan: Plan) -> list[str]:
    return [text for text in plan.cautions if "assumed" in text]


YES, NO = ", assumed = true", ", assumed = false"


@pytest.mark.parametrize(
    ("plan", "words"),
    [
        (("", "", "", ""), []),
        (
            ("assumed = true", "", "", ""),
            ["Instrument dimensions are assumed: try every plugger in, note where it binds."],
        ),
        (("", YES, YES, ""), ["Dimensions of cone 30/.04 and plugger 50 are assumed, not measured."]),
        (("", "", YES, ""), ["Dimensions of plugger 50 are assumed, not measured."]),
        (("assumed = true", NO, "", ""), ["All dimensions but those of cone 30/.04 are assumed, not measured."]),
        (("assumed = true", NO, NO, NO), ["Dimensions of needle gun are assumed, not measured."]),
    ],
)
def test_the_caution_names_what_is_assumed_or_what_is_not_whichever_is_shorter(plan, words):
    made = plan_of(*plan)
    assert said(made) == words
    assert made.tray_assumed == bool(words)


def with_tip(assumed: str) -> Plan:
    tip = f"heated_tips = [{{ name = 'fine', tip_mm = 0.4, taper = 0.04, measured = [[200, 1, 95]]{assumed} }}]"
    return plan_of(f"assumed = true\n{tip}")


def test_the_table_of_an_assumed_tip_gives_no_seconds():
    plan = with_tip("")
    assert any("never measured: 1 s at a time" in text for text in plan.cautions)
    assert {step.heat_s for canal in plan.canals for step in canal.downpack} == {None}


def test_a_tip_that_was_measured_on_an_assumed_tray_gives_seconds():
    plan = with_tip(NO)
    assert not any("never measured" in text for text in plan.cautions)
    assert all(step.heat_s for canal in plan.canals for step in canal.downpack)

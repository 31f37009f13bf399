"""The plugger that would do is the widest one that does."""

from __future__ import annotations

import pytest

from rootfill.plan import CanalPlan
from tests.plan.cases import canal, case_text, plan_text

SHAPES = {
    "straight": "curvature = []",
    "bent": "curvature = [{ angle_deg = 30, radius_mm = 8, from_mm = 2 }]",
    "tight": "curvature = [{ angle_deg = 25, radius_mm = 5, from_mm = 1 }]",
}


def with_pluggers(shape: str, *tips_mm: float) -> CanalPlan:
    """A 30/.04 of 12 mm and a tray of parallel steel pluggers."""
    pluggers = ", ".join(f"{{ name = '{tip}', tip_mm = {tip}, taper = 0 }}" for tip in tips_mm)
    tray = f"[tray]\ncones = [{{ name = 'a', size = 25, taper = 0.02 }}]\npluggers = [{pluggers}]\n"
    return plan_text(
        case_text(21, [canal("B", 22.0, "canal_length_mm = 12", "30", ".04", SHAPES[shape])], tray)
    ).canals[0]


def works(shape: str, tip_mm: float) -> bool:
    """Whether this plugger alone reaches within 5 mm of the end (rule, common practice) and covers enough there."""
    one = with_pluggers(shape, tip_mm)
    return bool(one.pluggers) and one.pluggers[0].role == "apical" and one.pluggers[0].reach_s_mm.value <= 5.0


@pytest.mark.parametrize("shape", SHAPES)
def test_on_the_tray_it_works_and_no_wider_one_does(shape):
    would_do = with_pluggers(shape, 0.78).would_do_mm
    widths = [round(0.05 * n, 2) for n in range(20, 4, -1)]
    assert would_do == next((w for w in widths if works(shape, w)), None)

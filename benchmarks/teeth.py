"""Teeth to time: the demonstration with one number changed, and the hardest one there is."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from rootfill import clinic
from rootfill.clinic.plan_case import full_plan
from rootfill.errors import InputRefused
from rootfill.plan import CanalPlan, Case, unaffected
from rootfill.tray import Tray


class NoTrays:
    """A shelf without tray files."""

    def tray_text(self, name: str) -> str:
        raise InputRefused("tray.file", name, "no tray files here")


@cache
def demo() -> tuple[Case, Tray]:
    """The demonstration: four canals, two of them joined."""
    return clinic.read_case(clinic.demo_case(), NoTrays())


@cache
def changed() -> tuple[Case, Tray, Mapping[str, CanalPlan]]:
    """The demonstration with one angle of its most curved canal changed, and the canals that stand."""
    text = clinic.demo_case().replace("angle_deg = 28", "angle_deg = 26")
    case, tray = clinic.read_case(text, NoTrays())
    names = unaffected(*demo(), case, tray)
    return case, tray, {c.name: c for c in full_plan(*demo(), {}).canals if c.name in names}


@cache
def hardest() -> tuple[Case, Tray]:
    """Eight canals, each with files, a flare and an S-curve, and the generic tray."""
    head = '[case]\nid = "hardest"\ntooth = 26\nnotation = "iso3950"\n'
    return clinic.read_case(head + "".join(_s_curved(k, name) for k, name in enumerate("ABCDEFGH")), NoTrays())


def _s_curved(k: int, name: str) -> str:
    end = 21.5 + 0.5 * (k % 3)
    lower = f"{{ angle_deg = 25, radius_mm = {8 + k % 3}, from_mm = 0.5 }}"
    upper = f"{{ angle_deg = -25, radius_mm = {9 + k % 2}, from_mm = 6.0 }}"
    first = f"{{ size = {25 + 5 * (k % 2)}, taper = 0.04, to_mm = {end} }}"
    second = f"{{ size = 30, taper = 0.06, to_mm = {end - 2.5} }}"
    return f"""
[[canals]]
name = "{name}"
reference = "{name} cusp"
working_length_mm = {end}
canal_length_mm = {13.5 + 0.5 * (k % 4)}
files = [{first}, {second}]
flare_mm = 0.1
curvature = [{lower}, {upper}]
wall_mm = [[0, 0.95], [4, 0.85], [8, 0.80], [12.5, 1.30]]
"""

"""Invented teeth at random: the text of case files that can be, for properties of whole plans."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from hypothesis import strategies as st

from rootfill.errors import InputRefused
from rootfill.plan import CanalPlan, Plan
from tests.plan.cases import case_text, plan_text

TRAY = """
[tray]
cones = [
    { name = "20/.02", size = 20, taper = 0.02 }, { name = "20/.04", size = 20, taper = 0.04 },
    { name = "25/.06", size = 25, taper = 0.06 }, { name = "35/.02", size = 35, taper = 0.02 },
]
pluggers = [
    { name = "40", tip_mm = 0.4, taper = 0.02, material = "niti" }, { name = "60", tip_mm = 0.6, taper = 0.02 },
    { name = "90", tip_mm = 0.9, taper = 0.02, prebend = true },
]
needles = [
    { name = "rinse", gauge = 30, use = "irrigate", vent = "side" }, { name = "fill", gauge = 25, use = "deliver" },
]
heated_tips = [{ name = "fine", tip_mm = 0.5, taper = 0.04 }]
"""

HALVES = st.integers(34, 50).map(lambda n: n / 2)


@dataclass(frozen=True)
class Entered:
    """What the text of one canal says."""

    name: str
    working_length_mm: float
    length_mm: float
    text: str


@st.composite
def canals(draw: st.DrawFn, name: str, joins: str | None) -> Entered:
    working, length = draw(HALVES), draw(st.floats(8.5, 15.0).map(lambda x: round(x, 1)))
    lines = ["[[canals]]", f'name = "{name}"', f'reference = "{name} cusp"', f"working_length_mm = {working}"]
    lines.append(f"canal_length_mm = {length}")
    lines.append(draw(shapes(length)))
    if draw(st.booleans()):
        lines.append(draw(curvatures(length)))
    if joins is not None:
        lines.append(f'joins = {{ canal = "{joins}", at_mm = {draw(st.sampled_from([2.0, 3.5, 5.0]))} }}')
    if draw(st.integers(0, 4)) == 0:
        lines.append("post_planned = true")
    if draw(st.integers(0, 2)) == 0:
        lines.append(f"pack_to_mm = {round(working - draw(st.floats(0, length - 0.1)), 1)}")
    lines.append(f'technique = "{draw(st.sampled_from(["stepwise", "single_wave", "injected_only"]))}"')
    return Entered(name, working, length, "\n".join(lines) + "\n")


def shapes(length: float) -> st.SearchStrategy[str]:
    """Made, an oval profile or a stack of files; the end narrower than an open one."""
    made = st.builds(
        lambda size, taper: f'made = {{ size = {size}, taper = "{taper}" }}',
        st.sampled_from([20, 25, 30, 40, 50]),
        st.sampled_from([".04", ".06", "5 %"]),
    )
    oval = st.builds(
        lambda end, waist, wide: (
            f"profile = [[0, {end}, {min(end * wide, 0.59):.2f}], [{length / 3:.2f}, {end + waist:.2f}, "
            f"{(end + waist) * wide:.2f}], [{length}, 0.95, {0.95 * wide:.2f}]]"
        ),
        st.sampled_from([0.25, 0.35, 0.45]),
        st.floats(-0.02, 0.3),
        st.floats(1.0, 2.0),
    )
    return st.one_of(made, oval)


@st.composite
def curvatures(draw: st.DrawFn, length: float) -> str:
    """Seen to be straight, or one arc inside the canal."""
    if draw(st.booleans()):
        return "curvature = []"
    radius, start = draw(st.sampled_from([8, 12, 20])), draw(st.sampled_from([0, 1.5, 3]))
    angle = min(draw(st.integers(5, 35)), int(math.degrees((length - start) / radius)) - 1)
    return f"curvature = [{{ angle_deg = {angle}, radius_mm = {radius}, from_mm = {start} }}]"


@st.composite
def preferences(draw: st.DrawFn) -> str:
    return (
        f"[preferences]\ncone_short_mm = {draw(st.sampled_from([0, 0.5, 1]))}\n"
        f"stop_margin_mm = {draw(st.sampled_from([0, 0.5, 0.7]))}\nwl_sd_mm = {draw(st.sampled_from([0, 0.3]))}\n"
        f"fill_below_orifice_mm = {draw(st.sampled_from([0.5, 1.5, 1.8]))}\n"
        f'trim_by = "{draw(st.sampled_from(["gauge", "ruler"]))}"\n'
        f'cone_spread = "{draw(st.sampled_from(["measured", "split", "flat"]))}"\n'
    )


@st.composite
def cases(draw: st.DrawFn) -> str:
    """One to three canals, the second sometimes ending in the first."""
    names = ["B", "L", "X"][: draw(st.integers(1, 3))]
    joins = [None, draw(st.sampled_from([None, "B"])), None]
    entered = [draw(canals(n, j)) for n, j in zip(names, joins, strict=False)]
    return case_text(36, [e.text for e in entered], draw(preferences()) + TRAY)


@lru_cache(maxsize=1024)
def planned(text: str) -> Plan | None:
    """The plan of a case, None where it is refused."""
    try:
        return plan_text(text)
    except InputRefused:
        return None


def packed(text: str) -> list[CanalPlan]:
    """The canals of a case that are planned with numbers."""
    plan = planned(text)
    return [] if plan is None else [c for c in plan.canals if c.exit is None]

"""Random teeth: no case breaks the program, chances agree with a plain count, no heat passes its limit."""

from __future__ import annotations

import time
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rootfill import clinic
from rootfill.errors import InputRefused
from rootfill.plan import Plan
from rootfill.plan.heat import ENTER_WALL

COVERS = [f"src/rootfill/{part}" for part in ("heat", "plan", "fit", "tooth", "tray", "clinic")]

CASES = 400
COUNTED = 40
DRAWS = 1_000_000
HEATED = 30
TRAY = """
[tray]
cones = [{ name = "25/.04", size = 25, taper = 0.04 }, { name = "40/.02", size = 40, taper = 0.02 }]
pluggers = [{ name = "40", tip_mm = 0.4, taper = 0.02 }, { name = "70", tip_mm = 0.7, taper = 0.02 }]
needles = [{ name = "gun", gauge = 25, use = "deliver" }]
heated_tips = [{ name = "hot", tip_mm = 0.4, taper = 0.04, measured = [[200, 1, %d], [200, 4, %d]] }]
"""
"""An invented tray whose tip was measured, in figures to be filled in."""


def run(seed: int) -> dict[str, Any]:
    """Plan random cases, then count a million cones for some of them."""
    rng = np.random.default_rng(seed)
    refused, exits, planned, seconds = 0, 0, 0, []
    misses: list[float] = []
    for _ in range(CASES):
        text, shapes = random_case(rng)
        started = time.perf_counter()
        try:
            plan = clinic.plan_case(text, _NoShelf())
        except InputRefused:
            refused += 1
            continue
        seconds.append(time.perf_counter() - started)
        exits += plan.has_exit
        planned += 1
        if len(misses) < COUNTED:
            misses += [_miss(rng, plan, i, shape) for i, shape in enumerate(shapes) if plan.canals[i].cone is not None]
    return {
        "cases": CASES,
        "planned": planned,
        "refused": refused,
        "with_an_exit": exits,
        "seconds_median": round(float(np.median(seconds)), 3),
        "seconds_worst": round(max(seconds), 3),
        "chances_counted": len(misses),
        "chances_largest_difference": round(max(misses), 4),
        "chances_limit": 0.015,
        **_heated(rng),
        "passed": max(misses) < 0.015,
    }


def _heated(rng: np.random.Generator) -> dict[str, Any]:
    """Random teeth with a measured tip: how warm the upper end of any root's surface gets, and how long they take."""
    highest, timed, cold, unknown, seconds = 0.0, 0, 0, 0, []
    for _ in range(HEATED):
        text, warm = random_case(rng)[0], int(rng.integers(50, 150))
        started = time.perf_counter()
        try:
            plan = clinic.plan_case(text + TRAY % (warm, warm + int(rng.integers(0, 100))), _NoShelf())
        except InputRefused:
            continue
        seconds.append(time.perf_counter() - started)
        computed = [canal.heat for canal in plan.canals if canal.heat is not None]
        timed += len(computed)
        cold += sum(c.exit is not None and c.exit.kind == "too_warm" for c in plan.canals)
        unknown += sum(any(ENTER_WALL in s.heat_says for s in c.downpack) for c in plan.canals)
        highest = max([highest, *(heat.surface_rise_c.high for heat in computed)])
    assert highest < 10.0, "the surface of a root passes its limit"
    return {
        "heat_teeth": len(seconds),
        "heat_canals_timed": timed,
        "heat_canals_with_an_exit": cold,
        "heat_canals_without_a_wall": unknown,
        "heat_rise_upper_end_largest_c": round(highest, 2),
        "heat_seconds_median": round(float(np.median(seconds)), 1),
        "heat_seconds_worst": round(max(seconds), 1),
    }


class _NoShelf:
    def tray_text(self, name: str) -> str:
        raise InputRefused("tray.file", name, "no tray files here")


Shape = tuple[int, float, float]
Array = NDArray[np.float64]


def random_case(rng: np.random.Generator) -> tuple[str, list[Shape]]:
    """A case file of one to three canals; sizes, tapers, lengths, bends and wishes at random."""
    lines, shapes = ['[case]\nid = "random"\ntooth = 36\nnotation = "iso3950"\n'], []
    for i in range(int(rng.integers(1, 4))):
        size, taper = int(rng.choice([20, 25, 30, 35, 40, 50])), float(rng.choice([0.02, 0.04, 0.05, 0.06, 0.08]))
        length, working = float(rng.uniform(6, 15)), float(rng.uniform(17, 25))
        shapes.append((size, taper, length))
        lines.append(
            f'[[canals]]\nname = "C{i}"\nreference = "cusp {i}"\nworking_length_mm = {working:.1f}\n'
            f"canal_length_mm = {length:.2f}\nmade = {{ size = {size}, taper = {taper} }}\n{_extras(rng, i, length)}"
        )
    return "\n".join(lines), shapes


def _extras(rng: np.random.Generator, i: int, length: float) -> str:
    angle, radius, start = rng.uniform(5, 50), rng.uniform(4, 25), rng.uniform(0, 3)
    options = [
        "curvature = []",
        f"curvature = [{{ angle_deg = {angle:.0f}, radius_mm = {radius:.1f}, from_mm = {start:.1f} }}]",
        "post_planned = true",
        f"technique = '{rng.choice(['stepwise', 'single_wave', 'injected_only'])}'",
        f"wall_mm = {rng.uniform(0.4, 2):.2f}",
    ]
    if i > 0:
        options.append(f"joins = {{ canal = 'C0', at_mm = {rng.uniform(0.5, length - 2):.1f} }}")
    return "\n".join(o for o in options[1 - int(rng.integers(0, 2)) :] if rng.random() < 0.4) + "\n"


def _miss(rng: np.random.Generator, plan: Plan, i: int, shape: Shape) -> float:
    """Largest difference between the plan's chances and a plain count on the same straight taper."""
    cone = plan.canals[i].cone
    assert cone is not None
    size, taper, length = shape
    own = plan.canals[i].section.own_from_mm
    end = size / 100 + rng.uniform(-0.02, 0.02, DRAWS)
    tip = np.maximum(cone.trim_to / 100 + rng.normal(0, 0.01, DRAWS), cone.size / 100 + rng.normal(0, 0.039, DRAWS))
    top = end + taper * length
    by_tip = np.where(tip > end, (tip - end) / taper, -(end - tip) / cone.taper)
    by_orifice = length - (top - tip) / cone.taper
    seat = np.minimum(np.maximum(by_tip, by_orifice), length)

    def gap(s: Array) -> Array:
        return np.asarray((end + taper * s - tip - cone.taper * (s - seat)) / 2)

    def narrowest(low: Array, high: Array) -> Array:
        """Least gap of a straight piece: at one of its ends; infinite where the piece is empty."""
        return np.where(low <= high, np.minimum(gap(np.minimum(low, length)), gap(high)), np.inf)

    start, ceiling = np.maximum(seat, own), np.full(DRAWS, length)
    limit = narrowest(start, ceiling) + 0.02
    near_tip = narrowest(start, np.minimum(seat + 2, length)) <= limit + 1e-9
    higher_up = narrowest(np.maximum(start, seat + 4), ceiling) < limit - 1e-9
    loose = seat < own - 0.2
    counted = {
        "loose": loose.mean(),
        "all_along": (~loose & near_tip & higher_up).mean(),
        "right": (~loose & near_tip & ~higher_up).mean(),
        "wrong_place": (~loose & ~near_tip).mean(),
    }
    return max(abs(float(counted[k]) - cone.chances[k]) for k in counted)

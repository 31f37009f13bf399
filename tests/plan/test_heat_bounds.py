"""What the plan takes in place of more exact computing lies on the careful side."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from rootfill import tables
from rootfill.heat import Effort, Section, Source, Surroundings, Transition, Trials, warm
from rootfill.plan.frame import frames
from rootfill.plan.heat import MESH, ToHeat
from rootfill.plan.heat_ways import BODY_C, as_measured, middle_way, ways
from rootfill.tooth.notation import tooth_number
from tests.plan.cases import case_text
from tests.plan.random_changes import entered
from tests.plan.test_heat import entry, tray

MELTING = Transition(10880, (53.0, 62.0), (40.0, 50.0))


def to_heat(wall: str, technique: str = "stepwise") -> ToHeat:
    asked = entered(case_text(11, [entry("one", wall)], tray()))
    assert asked is not None
    case, on = asked
    return ToHeat(frames(case)[0], (11.5, 15.0), technique, on.heated_tips[0])


def softened_mm(section: Section, seconds: float, tip_s_mm: float = 5.0) -> float:
    source = Source.still(tip_s_mm, 0.0, seconds, 150.0, 3000.0)
    return warm(section, Surroundings(BODY_C), [source], seconds + 6.0, Effort(refine=1)).softened_ahead_mm(
        tip_s_mm, 53.0
    )


@pytest.mark.parametrize("seconds", [1.0, 2.0, 4.0])
def test_the_band_of_heat_capacity_holds_what_melting_takes(seconds):
    """Miner 2006: 10.88 J/g; the low end stores none of it, the high end all of it from 37 to 53 °C."""
    canal = to_heat("1.2")
    section = middle_way(canal.frame, tooth_number(11, "iso3950"), as_measured(canal.tip, 200)).draw.section
    compound, rule = section.materials.compound, tables.rule("compound_cp_j_kgk")

    def with_compound(cp: float, transition: Transition | None = None) -> float:
        parts = replace(section.materials, compound=replace(compound, cp_j_kgk=cp, transition=transition))
        return softened_mm(replace(section, materials=parts), seconds)

    assert with_compound(rule.high) < with_compound(rule.low, MELTING) < with_compound(rule.low)


@pytest.mark.parametrize(("wall", "technique"), [("0.6", "stepwise"), ("1.5", "stepwise"), ("1.5", "single_wave")])
def test_the_mesh_of_the_plan_reads_less_low_than_what_is_taken_off_the_limit(wall, technique):
    canal = to_heat(wall, technique)
    tooth, tip = tooth_number(11, "iso3950"), as_measured(canal.tip, 200)
    draws = [way.draw for way in ways(canal.frame, tooth, tip)[:6]]
    heat_s = 1.0
    coarse, fine = (Trials(draws, canal.packing, effort).rises_c(heat_s) for effort in (MESH, Effort(refine=2)))
    # second order: a third of the difference is left beyond the finer mesh
    assert float(np.max(4 / 3 * (fine - coarse) / coarse)) < tables.rule("heat_mesh_share").value

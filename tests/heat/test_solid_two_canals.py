"""What a plan adds up for the canals of one root lies above what three dimensions say of both together."""

from __future__ import annotations

import numpy as np
import pytest

from rootfill.heat import Effort, Section, Source, Surroundings, warm
from rootfill.heat.solid import Canal, Heating, Root, warm_solid
from tests.heat.bars import BODY_C, MATERIALS

THERE = Surroundings(BODY_C)
CANAL = np.array([[0.0, 0.6], [6.0, 0.8]])
HEAT_S, BETWEEN_S = 2.0, 30.0


def tip(from_s: float) -> Source:
    return Source.still(3.0, from_s, from_s + HEAT_S, 100.0, 3000.0)


def both(apart_mm: float, wall_mm: float) -> float:
    """Highest rise in three dimensions when one canal is heated half a minute after the other."""
    canals = (Canal(CANAL, -apart_mm / 2), Canal(CANAL, apart_mm / 2))
    root = CANAL + np.array([0.0, apart_mm + 2 * wall_mm])
    solid = Root(6.0, canals, root, 5.0, 2.0, MATERIALS)
    second = HEAT_S + BETWEEN_S
    heatings = [Heating(tip(0.0), 0), Heating(tip(second), 1)]
    return warm_solid(solid, THERE, heatings, second + 12.0, 0.2).surface_peak_c()


def added_up(wall_mm: float) -> float:
    """As the plan counts: one round root with the thin wall all about, and what the other left, for ever."""
    section = Section(6.0, CANAL, CANAL + np.array([0.0, 2 * wall_mm]), 5.0, 2.0, MATERIALS)
    run = warm(section, THERE, [tip(0.0)], HEAT_S + BETWEEN_S, Effort(refine=2))
    left = float(run.surface_c[-1].max()) - BODY_C
    return run.surface_peak().rise_c + left


@pytest.mark.parametrize(("apart_mm", "wall_mm"), [(1.4, 0.6), (2.4, 0.6), (1.4, 1.0)])
def test_two_canals_of_a_root_warm_it_less_than_the_plan_adds_up(apart_mm, wall_mm):
    three, flat = both(apart_mm, wall_mm), added_up(wall_mm)
    assert 0.3 * flat < three < flat

"""What is read off a run: peaks, how long above, how far ahead."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from rootfill.heat import Effort, Material, Source, Surroundings, warm
from rootfill.heat.result import Warming
from tests.heat.bars import BODY_C, MATERIALS, section

TIMES = np.array([0.0, 1.0, 2.0, 4.0])
AXIS_S, SURFACE_S = np.array([-1.0, 0.0, 1.0, 2.0, 3.0, 4.0]), np.array([0.0, 2.0, 4.0])
AXIS = np.array(
    [[37, 37, 37, 37, 37, 37], [37, 37, 40, 50, 70, 90], [37, 38, 45, 60, 80, 90], [37, 39, 44, 50, 55, 58]]
)
SURFACE = np.array([[37, 37, 37], [38, 45, 40], [39, 49, 42], [38, 45, 41]])
SIDE = SURFACE.astype(float)
RUN = Warming(TIMES, AXIS_S, AXIS.astype(float), SURFACE_S, SIDE, SIDE, SIDE, 37.0, 0.0)


def test_the_peak_names_rise_place_and_time():
    peak = RUN.surface_peak()
    # the parabola through (1, 45), (2, 49), (4, 45) is highest at 2.5
    assert (peak.rise_c, peak.s_mm, peak.time_s) == (12.0, 2.0, pytest.approx(2.5))
    assert RUN.surface_rise_c().tolist() == [2.0, 12.0, 5.0]


def test_the_time_above_a_rise_is_counted_between_the_steps():
    # station 2 passes 47 °C halfway from 1 to 2 s and comes back through it halfway from 2 to 4 s
    assert RUN.surface_above_s(10.0).tolist() == [0.0, 1.5, 0.0]


def test_the_softened_stretch_ends_where_a_straight_line_between_rows_does():
    assert RUN.softened_to_mm(4.0, 55.0) == pytest.approx([4.0, 2.25, 1 + 2 / 3, 3.0])
    assert RUN.softened_ahead_mm(4.0, 55.0) == pytest.approx(4 - (1 + 2 / 3))
    assert RUN.softened_ahead_mm(4.0, 30.0) == 4.0
    assert RUN.softened_ahead_mm(4.0, 95.0) == 0.0


def test_the_axis_has_no_temperature_where_there_is_no_canal():
    assert RUN.axis_peak_c(1.5) == pytest.approx(52.5)
    assert RUN.axis_peak_c(-0.5) is None
    assert RUN.axis_peak_c(4.1) is None


def test_the_axis_is_warm_until_it_crosses_between_two_times():
    # at 2 mm: 37, 50, 60, 50
    assert RUN.warm_until_s(2.0, 55.0) == pytest.approx(3.0)
    assert RUN.warm_until_s(2.0, 45.0) == 4.0
    assert RUN.warm_until_s(2.0, 99.0) == 0.0


def test_a_part_of_a_run_has_its_own_peaks():
    part = RUN.between(0.0, 1.0)
    assert part.times_s.tolist() == [0.0, 1.0]
    assert part.surface_peak().rise_c == 8.0
    assert part.softened_ahead_mm(4.0, 50.0) == pytest.approx(2.0)
    with pytest.raises(ValueError, match="no step"):
        RUN.between(2.5, 3.5)


def test_wall_surface_and_bone_lie_in_this_order():
    layered = section(materials=replace(MATERIALS, ligament=Material(0.5, 1050, 3750)), ligament_mm=0.2)
    run = warm(layered, Surroundings(BODY_C), [Source.still(5.0, 0.0, 3.0, 100.0)], 10.0, Effort(refine=1))
    wall, surface, bone = (side.max(axis=0) for side in (run.wall_c, run.surface_c, run.bone_c))
    at = int(np.argmax(surface))
    assert 100.0 >= wall[at] > surface[at] > bone[at] > BODY_C
    bare = warm(section(), Surroundings(BODY_C), [Source.still(5.0, 0.0, 3.0, 100.0)], 10.0, Effort(refine=1))
    assert np.array_equal(bare.bone_c, bare.surface_c)

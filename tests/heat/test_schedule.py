"""Both techniques as one run, and how long each step may be heated."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from rootfill.heat import Draw, Effort, Gap, Material, Pace, Rod, Source, Surroundings, Tip, Trials, warm
from rootfill.heat.limit import SHARE, WATCHED_S
from rootfill.heat.schedule import single_wave, stepwise
from rootfill.heat.steps import phases
from tests.heat.bars import BODY_C, COMPOUND, MATERIALS, section

ROUGH, THERE = Effort(refine=1), Surroundings(BODY_C)
STEEL = Material(14.9, 7900, 477)
PACE = Pace(push_s=5.0, idle_s=10.0, plugger=STEEL, plugger_c=25.0)
TIP = Tip(((0.0, BODY_C), (1.0, 110.0), (3.0, 150.0)), 3000.0)
STATIONS = (9.0, 6.0)


def draws(count: int = 12, wall_mm: float = 0.0, tip: Tip = TIP) -> list[Draw]:
    """A root whose compound, wall and contact are not known, drawn with a fixed seed."""
    rng, found = np.random.default_rng(4), []
    for _ in range(count):
        k, wall, contact = 0.6 * 3.75 ** rng.random(), 0.7 + 0.3 * rng.random() + wall_mm, 10 ** rng.uniform(3, 4)
        root = section(wall, materials=replace(MATERIALS, compound=replace(COMPOUND, k_w_mk=k)))
        found.append(Draw(root, THERE, replace(tip, contact_w_m2k=contact)))
    return found


def step_by_step(stations=STATIONS):
    return lambda heat_s, tip: stepwise(stations, heat_s, tip, PACE)


def trials(stations=STATIONS, **more) -> Trials:
    return Trials(draws(**more), step_by_step(stations), ROUGH)


def seconds(limit_c: float = 10.0, left_c: float = 0.0, **more) -> float:
    return trials(**more).longest_heating_s(limit_c, left_c)


def test_the_seconds_found_keep_the_upper_bound_under_the_limit_and_half_a_second_more_would_not():
    tried, limit = trials(), 6.0
    found = tried.longest_heating_s(limit)
    at, more = (np.quantile(tried.rises_c(s), SHARE) for s in (found, found + 0.5))
    assert 0.5 <= found < TIP.last_s
    assert at < limit <= more


def test_no_heating_at_all_is_allowed_where_half_a_second_is_too_long():
    assert seconds(limit_c=0.2) == 0.0


def test_a_tip_is_never_heated_longer_than_it_was_measured():
    assert seconds(limit_c=500.0) == TIP.last_s
    assert seconds(limit_c=500.0, tip=Tip(((0.0, BODY_C), (1.7, 110.0)))) == 1.5
    assert seconds(limit_c=500.0, tip=Tip(((0.0, BODY_C), (0.4, 110.0)))) == 0.0


@pytest.mark.parametrize("limit_c", [4.0, 6.0, 8.0])
def test_thicker_walls_allow_no_less_and_more_steps_or_another_canal_no_more(limit_c):
    usual = seconds(limit_c)
    assert seconds(limit_c, wall_mm=0.5) >= usual
    assert seconds(limit_c, stations=(11.0, *STATIONS)) <= usual
    assert seconds(limit_c, left_c=2.0) <= usual


def test_another_canal_before_it_can_take_all_seconds():
    assert seconds(6.0, left_c=5.9) == 0.0 < seconds(6.0)


def test_stepwise_is_heat_then_gap_then_cold_plugger_without_a_break():
    run = stepwise(STATIONS, 2.0, TIP, PACE)
    assert [type(x) for x in run] == [Source, Gap, Rod, Gap] * 2
    assert all(a.until_s == b.from_s for a, b in pairwise(run))
    assert run[-1].until_s == 2 * (2.0 + 1.0 + 5.0 + 10.0)


def test_a_single_wave_goes_down_pushes_with_its_heat_off_and_is_freed():
    run = single_wave(11.0, 5.0, 3.0, 1.0, TIP, PACE)
    stops = [p.tip_s_mm for p in phases(run, run[-1].until_s) if p.end_s <= 3.0 + 1e-9]
    assert stops == sorted(stops, reverse=True)
    assert stops[-1] == 5.0
    found = warm(section(), THERE, run, run[-1].until_s, ROUGH)
    assert found.energy_error < 1e-9
    assert found.softened_ahead_mm(5.0, 42.0) > 0.3


def test_the_surface_is_warmest_before_the_run_ends():
    for draw in draws(wall_mm=1.5):
        run = stepwise(STATIONS, 2.0, draw.tip, PACE)
        end = run[-1].until_s + WATCHED_S[0]
        found = warm(draw.section, THERE, (*run[:-1], replace(run[-1], until_s=end)), end, ROUGH)
        assert found.surface_peak().time_s < end - 5.0


def test_a_surface_that_is_warmest_late_is_watched_until_it_is():
    """A thick root of something slow, in still air: the peak comes long after the last step."""
    air = Surroundings(BODY_C, 8.0, 8.0)
    thick = section(4.0, materials=replace(MATERIALS, dentine=Material(0.2, 4000, 1300)))
    bare = replace(thick, block_radius_mm=float(thick.root[:, 1].max()) / 2 + 0.1, block_below_mm=0.2)
    one = Draw(bare, air, TIP)
    run = stepwise(STATIONS, 2.0, TIP, PACE)
    end = run[-1].until_s + 900.0
    whole = warm(one.section, air, (*run[:-1], replace(run[-1], until_s=end)), end, ROUGH).surface_peak()
    assert whole.time_s > run[-1].until_s + WATCHED_S[0]
    assert Trials([one], step_by_step(), ROUGH).rises_c(2.0)[0] == pytest.approx(whole.rise_c, abs=0.01)


def test_a_single_wave_is_limited_likewise():
    some, limit = draws(6), 14.0

    def wave(heat_s, tip):
        return single_wave(11.0, 6.0, heat_s, 1.0, tip, PACE)

    tried = Trials(some, wave, ROUGH)
    found = tried.longest_heating_s(limit)
    at, more = (np.quantile(tried.rises_c(s), SHARE) for s in (found, found + 0.5))
    assert 0.5 <= found < TIP.last_s
    assert at < limit <= more


def test_a_tip_without_a_measurement_is_refused():
    for rows in ((), ((0.0, 100.0),)):
        with pytest.raises(ValueError, match="measured"):
            Tip(rows)

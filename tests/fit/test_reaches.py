"""Reaches in several widths at once, and what is asked before a reach is looked for."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootfill.fit import reach, rigid_reach_mm
from rootfill.fit.beam import quick_force_n, reach_beyond
from rootfill.fit.reach import fits_rigid, grid, rigid_reaches_mm
from rootfill.tooth import Arc, Canal, Curve, tapered
from rootfill.tray import Rod
from tests.fit.shapes import STEEL_MPA, bent_25_06
from tests.tooth.shapes import curves, profiles

RODS = st.builds(
    Rod, st.floats(0.1, 0.6), st.sampled_from([0.0, 0.02, 0.04]), st.sampled_from([None, 6.0]), st.just(0.8)
)


@settings(max_examples=30)
@given(st.data())
def test_several_widths_at_once_give_what_each_canal_gives_alone(data):
    profile = data.draw(profiles())
    canal, rod = Canal(profile, data.draw(curves(profile.length_mm))), data.draw(RODS)
    by = data.draw(st.lists(st.floats(-0.05, 0.05), min_size=1, max_size=4))
    for together, width in zip(rigid_reaches_mm(canal, rod, by), by, strict=True):
        alone = rigid_reach_mm(canal.widened(width), rod)
        assert (together is None) == (alone is None)
        assert together is None or together == pytest.approx(alone, abs=1e-4)


@settings(max_examples=30)
@given(st.data())
def test_a_rod_that_fits_somewhere_fits_everywhere_above_and_nowhere_below_its_reach(data):
    profile = data.draw(profiles())
    canal, rod = Canal(profile, data.draw(curves(profile.length_mm))), data.draw(RODS)
    stations = grid(canal)
    fits = fits_rigid(canal, rod, stations, stations)
    first = int(np.argmax(fits)) if fits.any() else fits.size
    reached = rigid_reach_mm(canal, rod)
    assert (reached is None) == (not fits[-1])
    if reached is not None:
        # the end of a working part lies between stations: it may decide a step earlier
        assert abs(reached - stations[first]) <= 0.2
        assert fits[stations > reached + 1e-3].all()


def test_a_known_rigid_reach_gives_the_same_elastic_one():
    for tip in (0.35, 0.45, 0.70):
        canal, rod = bent_25_06(), Rod(tip, 0.0)
        touch = rigid_reach_mm(canal, rod)
        assert touch is not None
        assert reach_beyond(canal, rod, STEEL_MPA, touch, 0.2, 0.5, 2.0) == reach(canal, rod, STEEL_MPA, 0.2, 0.5, 2.0)


def test_in_a_straight_canal_no_push_goes_deeper_than_the_first_touch():
    canal = Canal(tapered(30, 0.04, 12.0))
    found = reach(canal, Rod(0.5, 0.0), STEEL_MPA, 0.2, 0.5, 2.0)
    assert found is not None
    assert found.careful_s_mm == found.s_mm == found.firm_s_mm == found.first_touch_s_mm == pytest.approx(5.0, abs=1e-3)


def test_a_quick_force_is_that_of_the_scan_and_infinite_where_the_rod_is_wedged():
    canal, rod = Canal(tapered(25, 0.06, 13.0), Curve((Arc(25, 8, 3.0),))), Rod(0.45, 0.0)
    found = reach(canal, rod, STEEL_MPA, 0.2, 0.5, 2.0)
    assert found is not None
    assert quick_force_n(canal, rod, STEEL_MPA, found.s_mm) <= 0.5
    assert quick_force_n(canal, rod, STEEL_MPA, found.s_mm - 0.01) > 0.5
    # 0.25 + 0.06 s = 0.45 at s = 3.33
    assert quick_force_n(canal, rod, STEEL_MPA, 3.2) == float("inf")

"""Trimming a cone: how much, and what stays of its error."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootfill.fit import Draws, TrimmedCones, seat_s_mm, trim_mm, trimmed_by_gauge, trimmed_by_ruler
from tests.tooth.shapes import profiles


@pytest.mark.parametrize(
    # (gauge - tip)/taper: 0.10/0.06, 0.10/0.04
    ("tip", "taper", "gauge", "cut"),
    [(0.25, 0.06, 0.35, 1.67), (0.20, 0.04, 0.30, 2.50)],
)
def test_the_length_to_trim_is_the_missing_diameter_over_the_taper(tip, taper, gauge, cut):
    assert trim_mm(tip, taper, gauge) == pytest.approx(cut, abs=5e-3)


def test_a_25_06_trimmed_by_1_67_measures_0_350():
    assert 0.25 + 0.06 * trim_mm(0.25, 0.06, 0.35) == pytest.approx(0.350)
    assert pytest.approx(0.350, abs=5e-4) == 0.25 + 0.06 * 1.67


def test_a_cone_thicker_than_the_hole_is_not_trimmed():
    assert trim_mm(0.40, 0.04, 0.35) == 0
    draws = Draws(np.zeros(1), np.array([0.08]), np.zeros(1))
    assert trimmed_by_gauge(0.30, 0.04, 0.35, draws).tip_mm == pytest.approx([0.38])


@given(st.floats(-0.05, 0.05), st.floats(-0.02, 0.02))
def test_a_gauge_hole_removes_the_tips_error_and_a_ruler_keeps_it(cone, hole):
    draws = Draws(np.zeros(1), np.array([cone]), np.array([hole]))
    assert trimmed_by_gauge(0.20, 0.04, 0.30, draws).tip_mm == pytest.approx([0.30 + hole])
    assert trimmed_by_ruler(0.20, 0.04, 0.30, draws).tip_mm == pytest.approx([0.30 + cone])


@given(profiles(), st.floats(0.1, 0.5), st.sampled_from([0.02, 0.04, 0.06, 0.08]), st.floats(0, 6))
def test_trimming_never_moves_a_mark_on_the_body_shallower_nor_the_tip_deeper(profile, tip, taper, cut):
    before, after = seat_s_mm(profile, TrimmedCones(np.array([tip, tip + taper * cut]), taper), np.zeros(2))
    assert after >= before - 1e-9
    if tip < profile.narrow_mm[-1]:
        # a mark x above the old tip lies at seat + x, after trimming at seat + x - cut
        assert after - cut <= before + 1e-9

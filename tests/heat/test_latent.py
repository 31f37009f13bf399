"""Melting on heating and setting on cooling, each at its own temperatures."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from rootfill.heat.latent import Latent
from tests.heat.bars import MELTING

LATENT = Latent(np.ones(1), MELTING)


def walked(*celsius: float) -> list[float]:
    share, seen = np.zeros(1), []
    for c in celsius:
        share = LATENT.molten(np.array([c]), share)
        seen.append(round(float(share[0]), 6))
    return seen


def test_it_melts_between_53_and_62_and_sets_between_50_and_40():
    assert walked(37, 53, 57.5, 62, 51, 50, 45, 40) == [0, 0, 0.5, 1, 1, 1, 0.5, 0]


def test_half_melted_it_waits_until_the_curve_of_cooling_comes_down_to_it():
    assert walked(57.5, 48, 46, 45, 44) == [0.5, 0.5, 0.5, 0.5, 0.4]
    assert walked(57.5, 48, 57.5, 59.3) == [0.5, 0.5, 0.5, 0.7]


@given(st.lists(st.floats(20, 80), min_size=1, max_size=8), st.floats(20, 80))
def test_the_slope_is_the_change_of_the_share_where_it_has_one(path, celsius):
    before = np.array([walked(*path)[-1]])
    step = 1e-6
    low, high = (LATENT.molten(np.array([celsius + d]), before)[0] for d in (-step, step))
    slope = LATENT.slope(np.array([celsius]), before)[0]
    one_sided = {round(float(high - LATENT.molten(np.array([celsius]), before)[0]) / step, 4)}
    one_sided.add(round(float(LATENT.molten(np.array([celsius]), before)[0] - low) / step, 4))
    assert min(abs(slope - x) for x in one_sided) < 1e-3

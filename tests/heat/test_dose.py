"""Equivalent minutes at 43 °C: the worked examples of the facts, and where the rule ends."""

from __future__ import annotations

import numpy as np
import pytest

from rootfill.heat import cem43_min


def held(celsius: float, seconds: float) -> float:
    times = np.linspace(0, seconds, 11)
    return float(cem43_min(times, np.full((11, 1), celsius))[0])


@pytest.mark.parametrize(
    ("celsius", "seconds", "minutes"),
    [(47, 60, 16), (50, 60, 128), (50, 30, 64), (53, 60, 1024), (46, 60, 8), (47, 15, 4)],
)
def test_the_dose_is_that_of_the_worked_examples(celsius, seconds, minutes):
    assert held(celsius, seconds) == pytest.approx(minutes)


def test_below_43_each_degree_counts_a_quarter():
    assert held(42, 60) == pytest.approx(0.25)
    assert held(41, 60) == pytest.approx(0.0625)


def test_beyond_57_no_dose_is_given():
    assert held(57.0, 1) == pytest.approx(2**14 / 60)
    assert np.isnan(held(57.1, 1))
    assert np.isnan(cem43_min(np.array([0.0, 1.0]), np.array([[40.0, 40.0], [40.0, 60.0]]))).tolist() == [False, True]

"""Where two lines meet, from lines drawn by formula."""

from __future__ import annotations

import numpy as np
import pytest

from rootfill.images.scan.course import Line
from rootfill.images.scan.meeting import REACH_MM, carried_on, meets, nearest
from rootfill.units import FloatArray

Z = np.arange(0, 10.001, 0.05)


def line(x: FloatArray, z: FloatArray) -> Line:
    """A line in one plane; its sections play no part here."""
    return Line(np.stack((x, np.zeros_like(x), z), axis=1), ())


def main(bend: float) -> Line:
    """Straight above 4 mm, below it bent aside."""
    return line(bend * np.maximum(4 - Z, 0) ** 2, Z)


@pytest.mark.parametrize("slope", [0.2, 0.5, 1.0])
@pytest.mark.parametrize("curl", [-0.03, 0.0, 0.03])
@pytest.mark.parametrize("bend", [0.0, 0.05])
def test_a_line_that_bends_meets_a_line_that_bends_where_they_cross(slope: float, curl: float, bend: float) -> None:
    """Both are parabolas; where they cross is found again, though the joining one shows only from 1 mm above."""
    cross = 3.0
    rise = Z - cross
    x = main(bend).points_mm[:, 0][np.searchsorted(Z, cross - 1e-9)] + slope * rise + curl * rise**2
    shown = rise > 1.0
    at = meets(main(bend), line(x[shown], Z[shown]))
    assert main(bend).points_mm[at, 2] == pytest.approx(cross, abs=0.08)


def test_a_join_lies_neither_above_what_is_seen_nor_far_below() -> None:
    beside = line(np.full_like(Z, 0.3), Z)
    at = meets(main(0.0), line(beside.points_mm[100:, 0], Z[100:]))
    assert Z[100] - REACH_MM - 0.1 <= Z[at] <= Z[100]
    away = line(0.3 - 0.2 * (Z[100:] - Z[100]), Z[100:])
    assert meets(main(0.0), away) <= nearest(main(0.0), away.points_mm[0])


def test_a_line_of_few_points_is_carried_on_straight() -> None:
    ahead = carried_on(line(np.array([0.0, 0.5, 1.0]), np.array([5.0, 6.0, 7.0])))
    assert ahead[:, 0] == pytest.approx((ahead[:, 2] - 5) / 2)
    assert ahead[0, 2] == pytest.approx(5.0)
    assert ahead[-1, 2] < 5 - 0.8 * REACH_MM

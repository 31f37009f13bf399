"""Labels are kept apart, and moved no further than they must be."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootfill.drawing.spread import spread

DEPTHS = st.lists(st.floats(0, 400), min_size=1, max_size=9).map(sorted)


@given(DEPTHS, st.lists(st.floats(1, 30), min_size=9, max_size=9))
def test_no_label_overlaps_its_neighbour_and_all_stay_in_their_order(wanted: list[float], heights: list[float]) -> None:
    sizes = heights[: len(wanted)]
    centres = spread(wanted, sizes, 0.0, 400.0)
    for i in range(1, len(centres)):
        assert centres[i] - centres[i - 1] >= (sizes[i] + sizes[i - 1]) / 2 - 1e-6


@given(DEPTHS)
def test_labels_that_fit_stay_between_the_limits(wanted: list[float]) -> None:
    centres = spread(wanted, [10.0] * len(wanted), 0.0, 400.0)
    assert centres[0] >= 5.0 - 1e-6
    assert centres[-1] <= 395.0 + 1e-6


def test_labels_that_are_apart_already_are_not_moved() -> None:
    assert spread([20.0, 50.0, 90.0], [10.0] * 3, 0.0, 200.0) == pytest.approx([20.0, 50.0, 90.0])


def test_two_labels_at_one_depth_part_evenly_around_it() -> None:
    assert spread([50.0, 50.0], [10.0, 10.0], 0.0, 200.0) == pytest.approx([45.0, 55.0])


def test_labels_with_no_room_start_at_the_top_and_still_do_not_overlap() -> None:
    assert spread([5.0, 5.0, 5.0], [10.0] * 3, 0.0, 20.0) == pytest.approx([5.0, 15.0, 25.0])

"""Stretches of time and the steps in them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootfill.heat.model import Effort, Source
from rootfill.heat.steps import STOP_MM, ladder, phases
from tests.heat.bars import plunge


@given(st.floats(1e-3, 3600.0), st.integers(1, 4))
def test_the_steps_fill_the_time_and_none_is_longer_than_allowed(seconds, refine):
    effort = Effort(refine=refine)
    levels = ladder(seconds, effort)
    assert sum(x.step_s * x.count for x in levels) == pytest.approx(seconds, rel=1e-9)
    assert max(x.step_s for x in levels) <= effort.longest_s / refine * (1 + 1e-9)
    assert levels[0].step_s <= effort.first_s / refine * (1 + 1e-9)


def test_refining_divides_every_step():
    one, three = (ladder(18.0, Effort(refine=n)) for n in (1, 3))
    assert [x.count for x in three] == [3 * x.count for x in one]
    assert [x.step_s for x in three] == pytest.approx([x.step_s / 3 for x in one])


def test_a_run_is_cut_where_a_tip_goes_in_or_out():
    run = phases([plunge(5.0, 6.0, 8.0), plunge(7.0, 1.0, 2.0)], 10.0)
    assert [(p.start_s, p.end_s, p.tip_s_mm) for p in run] == [
        (0.0, 1.0, None),
        (1.0, 2.0, 7.0),
        (2.0, 6.0, None),
        (6.0, 8.0, 5.0),
        (8.0, 10.0, None),
    ]


def test_a_moving_tip_goes_in_short_stops_and_ends_at_the_end_of_its_path():
    down = Source(0.0, 3.0, ((0.0, 9.0), (2.0, 6.0)), ((0.0, 100.0),))
    stops = [p.tip_s_mm for p in phases([down], 3.0)]
    assert stops[-1] == 6.0
    assert max(a - b for a, b in zip([9.0, *stops], stops, strict=False)) <= STOP_MM + 1e-9


@pytest.mark.parametrize("sources", [[plunge(until_s=3.0), plunge(from_s=2.0, until_s=4.0)], [plunge(until_s=11.0)]])
def test_two_tips_at_once_or_one_beyond_the_run_cannot_be(sources):
    with pytest.raises(ValueError, match="one another within the run"):
        phases(sources, 10.0)

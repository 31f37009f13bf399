"""Where a flexible cone comes to rest and where it is held."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootfill.fit import VERDICTS, TrimmedCones, Verdict, held, open_share, seat_s_mm
from rootfill.tooth import Profile, from_rows, tapered
from tests.tooth.shapes import profiles

TAPERS = st.sampled_from([0.02, 0.04, 0.06, 0.08])


def seat(profile: Profile, tip: float, taper: float, widen: float = 0.0) -> float:
    return float(seat_s_mm(profile, TrimmedCones(np.array([tip]), taper), np.array([widen]))[0])


def verdict(profile: Profile, tip: float, taper: float, own_from: float = 0.0, at: float | None = None) -> Verdict:
    rests = np.array([seat(profile, tip, taper) if at is None else at])
    return VERDICTS[int(held(profile, TrimmedCones(np.array([tip]), taper), np.zeros(1), rests, own_from)[0])]


@pytest.mark.parametrize(("taper", "shift"), [(0.02, 2.5), (0.04, 1.25), (0.06, 0.83)])
def test_the_seat_moves_by_the_error_of_the_diameter_over_the_taper(taper, shift):
    # 0.05 mm / taper, from a seat that is not at the end
    canal = tapered(25, taper, 16.0)
    assert seat(canal, 0.35, taper) - seat(canal, 0.30, taper) == pytest.approx(shift, abs=5e-3)
    assert seat(canal, 0.30, taper, widen=-0.05) - seat(canal, 0.30, taper) == pytest.approx(shift, abs=5e-3)


def test_a_25_06_in_a_25_04_of_12_mm_seats_4_mm_short_held_at_the_orifice_only():
    # 0.25 + 0.06 (12 - s) = 0.25 + 0.04 * 12 at s = 4
    canal = tapered(25, 0.04, 12.0)
    at = seat(canal, 0.25, 0.06)
    assert at == pytest.approx(4.0)
    assert verdict(canal, 0.25, 0.06) is Verdict.WRONG_PLACE
    gap = [canal.narrow_at(s) - (0.25 + 0.06 * (s - at)) for s in (4.0, 8.0, 11.0, 12.0)]
    assert gap == pytest.approx([0.16, 0.08, 0.02, 0.0])


def test_in_an_oval_the_cone_is_held_by_the_narrow_width_and_the_rest_is_open():
    narrow = [0.30, 0.78]
    round_, oval = from_rows([(0, 0.30, 0.30), (12, 0.78, 0.78)]), from_rows([(0, 0.30, 0.60), (12, 0.78, 1.56)])
    assert seat(oval, 0.30, 0.04) == seat(round_, 0.30, 0.04) == 0.0
    # an ellipse twice as wide as narrow holds twice the cone: half of it stays open
    assert open_share(oval, narrow[0], 0.04, 0.0) == pytest.approx(0.5)
    assert open_share(round_, narrow[0], 0.04, 0.0) == pytest.approx(0.0, abs=1e-12)


def test_the_open_share_of_a_thin_cone_is_one_less_its_volume_over_the_canals():
    # cone 0.20/.02 over 12 mm in 30/.04: 1 - (0.04 + 0.088 + 0.1936)/(0.09 + 0.234 + 0.6084)
    share = open_share(tapered(30, 0.04, 12.0), 0.20, 0.02, 0.0)
    assert share == pytest.approx(1 - 0.3216 / 0.9324, rel=1e-9)


def test_a_thin_cone_passes_the_end_by_what_its_taper_lacks():
    # ring of 0.30 at s = 0: 0.25 + 0.02 x = 0.30 at x = 2.5 from the tip
    assert seat(tapered(30, 0.04, 12.0), 0.25, 0.02) == pytest.approx(-2.5)


def test_a_cone_that_does_not_enter_stands_at_the_orifice():
    assert seat(tapered(30, 0.04, 12.0), 0.90, 0.04) == 12.0


def brute_seat(profile: Profile, tip: float, taper: float, step: float) -> float | None:
    """Push the cone down from the orifice in small steps until some station does not fit; None: it falls through."""
    for at in np.arange(profile.length_mm, -60.0, -step):
        s = np.concatenate(([max(at, 0.0)], np.arange(max(at, 0.0), profile.length_mm, 0.05), profile.s_mm))
        s = s[s >= at]
        if np.any(tip + taper * (s - at) > np.interp(s, profile.s_mm, profile.narrow_mm) + 1e-9):
            return float(at)
    return None


@settings(max_examples=30)
@given(profiles(), st.floats(0.1, 0.5), TAPERS)
def test_the_seat_is_the_first_stop_of_a_cone_pushed_down_from_the_orifice(profile, tip, taper):
    step = 0.02
    stop = brute_seat(profile, tip, taper, step)
    assert stop is not None
    assert stop - 1e-6 <= seat(profile, tip, taper) <= stop + step + 1e-6


@given(profiles(), st.floats(0.1, 0.5), TAPERS)
def test_at_its_seat_a_cone_touches_but_does_not_cut_in(profile, tip, taper):
    if tip >= profile.narrow_mm[-1]:
        return
    at = seat(profile, tip, taper)
    s = np.concatenate(([max(at, 0.0)], profile.s_mm[profile.s_mm > at]))
    gap = profile.narrow_at(s) - (tip + taper * (s - at))
    assert gap.min() == pytest.approx(0.0, abs=1e-9)


@given(profiles(), st.floats(0.1, 0.5), TAPERS, st.floats(0, 0.05))
def test_a_wider_canal_or_a_thinner_cone_never_seats_higher(profile, tip, taper, by):
    assert seat(profile, tip, taper, widen=by) <= seat(profile, tip, taper) + 1e-9
    assert seat(profile, tip - by, taper) <= seat(profile, tip, taper) + 1e-9


@given(profiles(), st.floats(0.1, 0.5), TAPERS, st.floats(-0.05, 0.05))
def test_an_ensemble_gives_each_member_the_answer_it_has_alone(profile, tip, taper, widen):
    tips, widens = np.array([tip, 0.3, tip]), np.array([0.0, widen, widen])
    together = seat_s_mm(profile, TrimmedCones(tips, taper), widens)
    assert list(together) == [seat(profile, t, taper, w) for t, w in zip(tips, widens, strict=True)]


def test_the_four_verdicts_have_their_order():
    assert VERDICTS == (Verdict.LOOSE, Verdict.ALL_ALONG, Verdict.RIGHT, Verdict.WRONG_PLACE)


CANAL = tapered(30, 0.04, 12.0)


def test_a_matched_taper_touches_all_along():
    assert verdict(CANAL, 0.34, 0.04) is Verdict.ALL_ALONG


def test_a_lower_taper_is_held_at_its_tip():
    assert verdict(CANAL, 0.30, 0.02) is Verdict.RIGHT


def test_loose_is_said_before_all_along():
    # the same matched taper, resting 0.25 mm past the end
    assert verdict(CANAL, 0.29, 0.04) is Verdict.LOOSE


@pytest.mark.parametrize(("at", "answer"), [(-0.1999, Verdict.RIGHT), (-0.2001, Verdict.LOOSE), (0.5, Verdict.RIGHT)])
def test_a_cone_is_loose_from_0_2_mm_past_the_end(at, answer):
    # the tip that rests there: ring of 0.30 for negative seats
    tip = 0.30 + 0.02 * at if at < 0 else 0.30 + 0.04 * at
    assert seat(CANAL, tip, 0.02) == pytest.approx(at)
    assert verdict(CANAL, tip, 0.02) is answer


def test_a_cone_is_loose_from_0_2_mm_past_the_join_it_ends_in():
    assert verdict(CANAL, 0.40, 0.02, own_from=3.0, at=2.81) is not Verdict.LOOSE
    assert verdict(CANAL, 0.40, 0.02, own_from=3.0, at=2.79) is Verdict.LOOSE


@pytest.mark.parametrize(
    ("waist", "answer"), [(1.9, Verdict.RIGHT), (2.1, Verdict.WRONG_PLACE), (9.0, Verdict.WRONG_PLACE)]
)
def test_a_single_contact_counts_as_right_within_2_mm_of_the_tip(waist, answer):
    # wide canal with one waist; the cone 30/.02 rests with its tip at the end and touches the waist only
    width = 0.30 + 0.02 * waist
    rows = [(0, 0.6, 0.6), (waist - 0.05, 0.8, 0.8), (waist, width, width), (waist + 0.05, 0.8, 0.8), (12, 1.4, 1.4)]
    assert seat(from_rows(rows), 0.30, 0.02) == pytest.approx(0.0)
    assert verdict(from_rows(rows), 0.30, 0.02) is answer


@pytest.mark.parametrize(
    # contact where gap (D - d)/2 <= least gap + 0.02: the upper waist is 2 x 0.019 or 2 x 0.021 wider than the cone
    ("upper", "clear", "answer"),
    [
        (4.1, 0.038, Verdict.ALL_ALONG),
        (4.1, 0.042, Verdict.RIGHT),
        (3.9, 0.0, Verdict.RIGHT),
    ],
)
def test_a_second_contact_counts_above_4_mm_and_within_the_contact_width(upper, clear, answer):
    low, high = 0.30 + 0.02 * 1.0, 0.30 + 0.02 * upper + clear
    rows = [
        (0, 0.6, 0.6), (0.95, 0.8, 0.8), (1.0, low, low), (1.05, 0.8, 0.8),
        (upper - 0.05, 0.9, 0.9), (upper, high, high), (upper + 0.05, 0.9, 0.9), (12, 1.4, 1.4),
    ]  # fmt: skip
    assert seat(from_rows(rows), 0.30, 0.02) == pytest.approx(0.0)
    assert verdict(from_rows(rows), 0.30, 0.02) is answer


def test_only_the_canals_own_stretch_counts_as_held():
    # matched taper, contact everywhere; the own stretch begins 2.5 mm above the tip
    assert verdict(CANAL, 0.30, 0.04, own_from=2.5, at=2.4) is Verdict.ALL_ALONG
    rows = [(0, 0.30, 0.30), (3.0, 0.60, 0.60), (12, 1.4, 1.4)]
    assert verdict(from_rows(rows), 0.30, 0.02) is Verdict.RIGHT


@given(profiles(), st.floats(0.1, 0.5), TAPERS)
def test_the_verdict_agrees_with_a_dense_look_along_the_cone(profile, tip, taper):
    if tip >= profile.narrow_mm[-1]:
        return
    at = seat(profile, tip, taper)
    s = np.unique(np.concatenate((np.linspace(max(at, 0), profile.length_mm, 2001), profile.s_mm, [at + 2, at + 4])))
    s = s[(s >= max(at, 0)) & (s <= profile.length_mm)]
    gap = (profile.narrow_at(s) - tip - taper * (s - at)) / 2
    least, above = gap.min(), s - at
    # whether a place is in contact, unless it is too close to the width of contact to tell
    low = gap[above <= 2 + 1e-9].min(initial=math.inf) - least - 0.02
    high = gap[above >= 4 - 1e-9].min(initial=math.inf) - least - 0.02
    if min(abs(low), abs(high), abs(at + 0.2)) < 1e-9:
        return
    dense = (
        Verdict.LOOSE if at < -0.2
        else Verdict.ALL_ALONG if low < 0 and high < 0
        else Verdict.RIGHT if low < 0
        else Verdict.WRONG_PLACE
    )  # fmt: skip
    assert verdict(profile, tip, taper) is dense


def test_a_tight_place_below_the_join_says_nothing_about_the_hold():
    # tip at 0 in a ring of 0.30; own stretch from 0.15, where the gap is 0.056; a waist at 6.0 leaves 0.03
    rows = [(0, 0.30, 0.30), (0.1, 0.40, 0.40), (1.5, 0.80, 0.80), (5.9, 0.9, 0.9), (6, 0.48, 0.48), (6.1, 0.9, 0.9)]
    profile = from_rows([*rows, (12, 1.4, 1.4)])
    assert seat(profile, 0.30, 0.02) == pytest.approx(0.0)
    assert verdict(profile, 0.30, 0.02, own_from=0.0) is Verdict.RIGHT
    assert verdict(profile, 0.30, 0.02, own_from=0.15) is Verdict.WRONG_PLACE

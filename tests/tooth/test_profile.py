"""Widths along the canal: volumes, files, envelopes."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootfill.tooth import Canal, FilePass, Profile, from_rows, shaped, tapered
from tests.tooth.shapes import profiles


def frustum(d0: float, d1: float, h: float) -> float:
    """π/12·h·(d0² + d0·d1 + d1²)."""
    return math.pi / 12 * h * (d0 * d0 + d0 * d1 + d1 * d1)


@pytest.mark.parametrize(
    # 25/.06 over 13 mm: 0.25 to 1.03; 30/.04 over 12 mm: 0.30 to 0.78
    ("size", "taper", "length", "volume"),
    [(25, 0.06, 13.0, 4.700), (30, 0.04, 12.0, 2.929)],
)
def test_a_tapered_canal_holds_the_volume_of_its_frustum(size, taper, length, volume):
    one = tapered(size, taper, length)
    assert one.volume_mm3(0, length) == pytest.approx(volume, abs=5e-4)
    assert one.volume_mm3(0, length) == pytest.approx(
        frustum(size / 100, size / 100 + taper * length, length), rel=1e-12
    )


def test_a_canal_of_one_ellipse_holds_its_area_times_its_length():
    one = from_rows([(0, 0.3, 0.8), (10, 0.3, 0.8)])
    assert one.volume_mm3(0, 10) == pytest.approx(math.pi / 4 * 0.3 * 0.8 * 10, rel=1e-12)


def test_an_oval_frustum_agrees_with_the_integral_of_its_area():
    # n = 0.3 + 0.05 s, w = 0.9 - 0.02 s: ∫π/4·n·w ds over 0 to 10 by hand
    one = from_rows([(0, 0.3, 0.9), (10, 0.8, 0.9 - 0.02 * 10 + 0.2)])
    n0, n1, w0, w1 = 0.3, 0.05, 0.9, 0.0
    integral = n0 * w0 * 10 + (n0 * w1 + n1 * w0) * 100 / 2 + n1 * w1 * 1000 / 3
    assert one.volume_mm3(0, 10) == pytest.approx(math.pi / 4 * integral, rel=1e-12)


@given(profiles(), st.lists(st.floats(0, 1), max_size=6))
def test_volumes_add_up_over_any_split(profile, cuts):
    marks = sorted({0.0, profile.length_mm, *(c * profile.length_mm for c in cuts)})
    parts = [profile.volume_mm3(a, b) for a, b in pairwise(marks)]
    assert sum(parts) == pytest.approx(profile.volume_mm3(0, profile.length_mm), rel=1e-9)


@given(profiles())
def test_a_volume_agrees_with_simpsons_rule_on_every_piece(profile):
    s = profile.s_mm
    m = (s[:-1] + s[1:]) / 2
    area = [np.pi / 4 * profile.narrow_at(x) * profile.wide_at(x) for x in (s[:-1], m, s[1:])]
    simpson = float(np.sum(np.diff(s) / 6 * (area[0] + 4 * area[1] + area[2])))
    assert profile.volume_mm3(0, profile.length_mm) == pytest.approx(simpson, rel=1e-9)


def test_an_empty_stretch_holds_nothing():
    one = tapered(30, 0.04, 12)
    assert one.volume_mm3(5, 5) == 0
    assert one.volume_mm3(7, 5) == 0


@pytest.mark.parametrize(
    ("s", "narrow", "wide"),
    [
        ([0, 5, 5], [0.3, 0.4, 0.5], [0.3, 0.4, 0.5]),
        ([1, 5], [0.3, 0.4], [0.3, 0.4]),
        ([0], [0.3], [0.3]),
        ([0, 5], [0.0, 0.4], [0.3, 0.4]),
        ([0, 5], [0.3, 0.4], [0.29, 0.4]),
    ],
)
def test_a_profile_that_cannot_be_is_not_made(s, narrow, wide):
    with pytest.raises(ValueError, match=r"stations ascend|narrow width"):
        Profile(np.array(s, float), np.array(narrow, float), np.array(wide, float))


def test_the_mean_apical_taper_is_that_of_the_narrow_width():
    # (0.52 - 0.30)/4 = 0.055 over the last 4 mm
    one = from_rows([(0, 0.30, 0.5), (2, 0.42, 0.9), (4, 0.52, 1.0), (12, 1.0, 1.6)])
    assert one.apical_taper() == pytest.approx(0.055)
    assert not one.is_round


PASSES = st.builds(
    lambda size, taper, tip: FilePass(size / 100, taper, tip),
    st.sampled_from([10, 15, 20, 25, 30, 40, 60]),
    st.sampled_from([0.02, 0.04, 0.06, 0.10]),
    st.floats(0, 14),
)


def brute_envelope(passes: list[FilePass], length: float, s: np.ndarray) -> np.ndarray:
    """Station by station the widest file that got there; a file cuts 16 mm from its tip (at least, ADA 28)."""
    return np.array(
        [max(p.tip_mm + p.taper * min(x - p.tip_s_mm, 16) if x >= p.tip_s_mm else 0 for p in passes) for x in s]
    )


def dense(length: float, passes: list[FilePass]) -> np.ndarray:
    """Stations that stay clear of the 1 nm over which a step is drawn."""
    s = np.linspace(0, length, 777)
    return s[[all(abs(x - p.tip_s_mm) > 1e-5 for p in passes) for x in s]]


@given(PASSES, st.lists(PASSES, max_size=4), st.floats(14.5, 24))
def test_a_shape_is_the_widest_file_at_each_station(first, more, length):
    passes = [FilePass(first.tip_mm, first.taper, 0.0), *more]
    s = dense(length, passes)
    assert shaped(passes, length).narrow_at(s) == pytest.approx(brute_envelope(passes, length, s), abs=1e-9)


@given(PASSES, st.lists(PASSES, max_size=3), profiles(), st.floats(0, 0.6))
def test_a_shape_keeps_the_natural_canal_where_that_is_larger_in_each_direction(first, more, natural, flare):
    length = natural.length_mm
    passes = [FilePass(first.tip_mm, first.taper, 0.0), *more]
    made, s = shaped(passes, length, natural, flare), dense(length, passes)
    ramp = flare * np.clip((s - length * 2 / 3) / (length / 3), 0, 1)
    cut = brute_envelope(passes, length, s) + ramp
    assert made.narrow_at(s) == pytest.approx(np.maximum(cut, natural.narrow_at(s)), abs=1e-6)
    assert made.wide_at(s) == pytest.approx(np.maximum(cut, natural.wide_at(s)), abs=1e-6)


def test_a_second_file_shows_from_where_it_is_wider():
    # 30/.04 to 0 and 25/.06 to 2.5 mm short: 0.30 + 0.04 s = 0.25 + 0.06 (s - 2.5) at s = 10
    made = shaped([FilePass(0.30, 0.04, 0.0), FilePass(0.25, 0.06, 2.5)], 12.0)
    assert made.narrow_at(np.array([5.0, 10.0, 12.0])) == pytest.approx([0.50, 0.70, 0.82], abs=1e-9)


def test_stepping_back_leaves_steps():
    # sizes 30, 35, 40 at .02, each 1 mm shorter: just below 1 mm 0.32, just above 0.35
    made = shaped([FilePass(0.30, 0.02, 0.0), FilePass(0.35, 0.02, 1.0), FilePass(0.40, 0.02, 2.0)], 12.0)
    stations = np.array([0.999, 1.001, 1.999, 2.001, 12.0])
    assert made.narrow_at(stations) == pytest.approx([0.31998, 0.35002, 0.36998, 0.40002, 0.60], abs=1e-6)


def test_a_flare_adds_its_width_at_the_orifice_and_nothing_below_the_coronal_third():
    plain, flared = tapered(30, 0.04, 12), shaped([FilePass(0.30, 0.04, 0.0)], 12.0, flare_mm=0.3)
    assert flared.narrow_at(np.array([0.0, 8.0])) == pytest.approx(plain.narrow_at(np.array([0.0, 8.0])))
    assert float(flared.narrow_at(12.0)) == pytest.approx(0.78 + 0.3)


def test_a_canal_that_ends_in_another_never_counts_the_shared_stretch():
    mine = Canal(tapered(25, 0.06, 12.0), own_from_mm=3.0)
    assert mine.volume_mm3() == pytest.approx(frustum(0.43, 0.97, 9.0), rel=1e-12)
    assert mine.volume_mm3(0, 2) == 0
    assert mine.volume_mm3(1, 5) == pytest.approx(frustum(0.43, 0.55, 2.0), rel=1e-12)


@given(profiles(), st.floats(0, 0.05))
def test_widening_widens_both_widths_alike(profile, by):
    wider = profile.widened(by)
    assert wider.narrow_mm - profile.narrow_mm == pytest.approx(by)
    assert wider.wide_mm - profile.wide_mm == pytest.approx(by)

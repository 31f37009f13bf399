"""A film checked, against films of closed form and against films of invented teeth."""

from __future__ import annotations

import numpy as np
import pytest

from prove.films import drawn
from rootfill.errors import InputRefused
from rootfill.images import Film
from rootfill.images.film import Marks, check_film, from_scale
from tests.images.film.pictures import APEX, SIZE, STEP_MM, film


def checked(shown, **marks):
    return check_film(shown, Marks(**marks), from_scale(shown.scale))


@pytest.mark.parametrize(("short", "lean"), [(0.6, 0), (1.0, 12), (2.5, -8)])
def test_the_end_and_the_apex_are_found_within_a_fifth_of_a_millimetre(short, lean):
    found = checked(film(short_mm=short, lean_deg=lean))
    assert found.gap_px * STEP_MM == pytest.approx(short, abs=0.15)
    assert np.linalg.norm(found.apex - APEX) * STEP_MM < 0.3


@pytest.mark.parametrize("short", [-1.0, 0.0, 1.0])
def test_with_the_apex_pointed_at_the_end_is_between_pixels(short):
    found = checked(film(short_mm=short), apex=APEX)
    assert found.gap_px * STEP_MM == pytest.approx(short, abs=0.06)
    assert (found.apex == APEX).all()
    assert not found.apex_found
    assert found.beyond.core * STEP_MM == pytest.approx(max(0, -short), abs=0.06)


def test_what_is_pointed_at_is_never_moved():
    end = APEX - np.array([0.0, 30.0])
    found = checked(film(), apex=APEX + 3, end=end)
    assert (found.end == end).all()
    assert (found.apex == APEX + 3).all()
    assert found.gap_px == pytest.approx(33, abs=1)


def test_upside_down_and_lying_down_give_the_same():
    plain = film()
    shown = [plain, Film(plain.values[::-1], plain.scale), Film(plain.values.T, plain.scale)]
    gaps = [checked(x).gap_px for x in shown]
    assert np.ptp(gaps) < 0.4


def test_a_round_void_is_found_where_it_is_and_about_as_large_as_it_is():
    found = checked(film(void_s_mm=4.0))
    assert found.voids is not None
    (void,) = found.voids
    assert void.s * STEP_MM == pytest.approx(4.0, abs=0.1)
    assert void.length * STEP_MM == pytest.approx(0.36, abs=0.12)
    assert void.width * STEP_MM == pytest.approx(0.36, abs=0.12)


def test_a_filling_without_voids_has_none_and_an_even_taper_and_density():
    found = checked(film())
    assert found.voids == ()
    assert found.taper_ok
    assert [share for _, share in found.density] == pytest.approx([1] * len(found.density), abs=0.1)
    assert found.smallest_void_px is not None
    assert found.smallest_void_px >= 3


def test_sealer_beyond_the_apex_is_told_apart_from_core():
    found = checked(film(short_mm=0.1, puff_mm=0.6), apex=APEX)
    assert found.beyond.sealer is not None
    assert found.beyond.sealer * STEP_MM == pytest.approx(0.78, abs=0.25)
    assert found.beyond.core == pytest.approx(0, abs=3)
    core_alone = checked(film(short_mm=-1.0), apex=APEX)
    assert core_alone.beyond.sealer == 0


@pytest.mark.parametrize(
    ("shown", "says"),
    [
        (lambda: film(filling=False), "filling is not seen"),
        (lambda: Film(2 - film().values, film().scale), "shown inverted"),
        (lambda: Film(np.ones(SIZE), film().scale), "of one grey"),
        (lambda: Film(np.full(SIZE, np.nan), film().scale), "no numbers"),
        (lambda: Film(film(short_mm=1.0).values[:262], film().scale), "edge of the picture"),
    ],
)
def test_what_cannot_be_checked_is_refused_in_a_sentence(shown, says):
    with pytest.raises(InputRefused, match=says):
        checked(shown())


def test_a_mark_outside_the_picture_is_refused():
    with pytest.raises(InputRefused, match="outside the picture"):
        checked(film(), apex=np.array([500.0, 10.0]))


def test_without_a_scale_the_same_is_found_in_pixels():
    with_scale, without = checked(film()), checked(film(scaled=False))
    assert without.gap_px == pytest.approx(with_scale.gap_px, abs=2)


@pytest.mark.parametrize("seed", [101, 102])
def test_films_of_invented_teeth_are_measured_within_the_limit(seed):
    shown, truth = drawn(np.random.default_rng(seed), short_mm=1.2)
    canal = truth["canals"][0]
    for marks in ({}, {"apex": np.array(canal["apex"]) + 1.4}):
        off = checked(shown, **marks).gap_px * truth["pixel_object_mm"] - canal["filling"]["end_to_apex_mm"]
        assert abs(off) <= 0.2

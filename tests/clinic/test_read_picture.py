"""Grey values as they are kept."""

from __future__ import annotations

import hashlib

import numpy as np
import pytest

from rootfill.clinic.read_picture import keep_grey
from rootfill.errors import InputRefused, NotKept
from rootfill.images import NO_SCALE, Film, Scale, Trust, Volume

RNG = np.random.default_rng(11)


def kept(values, tmp_path, name="grey"):
    read = keep_grey(Volume(values, NO_SCALE), tmp_path / name)
    return read, np.load(tmp_path / name)


@pytest.mark.parametrize("kind", ["u1", "<u2", ">u2", "<i2", ">i2", "i1", "i4", "u4"])
def test_whole_numbers_that_16_bits_can_hold_are_kept_exactly(kind, tmp_path) -> None:
    low = 0 if "u" in kind else -100
    values = RNG.integers(low, 120, (4, 5, 6)).astype(kind)
    read, stored = kept(values, tmp_path)
    assert stored.dtype == (np.uint8 if kind == "u1" else np.dtype("<u2"))
    assert np.array_equal(read.grey_zero + read.grey_step * stored.astype(float), values.astype(float))
    assert read.digest == hashlib.sha256(stored.tobytes()).hexdigest()
    assert (read.shape, read.bits) == ((4, 5, 6), stored.dtype.itemsize * 8)


@pytest.mark.parametrize("values", [RNG.normal(300, 900, (4, 5, 6)), RNG.integers(-(2**30), 2**30, (4, 5, 6))])
def test_wider_values_are_kept_to_a_65535th_of_their_range(values, tmp_path) -> None:
    read, stored = kept(values, tmp_path)
    off = np.abs(read.grey_zero + read.grey_step * stored.astype(float) - values).max()
    assert off <= 0.501 * (values.max() - values.min()) / 65535


def test_what_is_no_number_becomes_the_least_and_the_most(tmp_path) -> None:
    values = np.arange(24, dtype="f4").reshape(2, 3, 4)
    values[0, 0, :3] = np.nan, np.inf, -np.inf
    read, stored = kept(values, tmp_path)
    assert stored[0, 0, :3].tolist() == [0, 65535, 0]
    assert (read.grey_zero, read.least, read.most) == (3.0, 0, 65535)


@pytest.mark.parametrize("value", [7, np.nan])
def test_a_picture_of_one_grey_is_refused_and_leaves_nothing(value, tmp_path) -> None:
    with pytest.raises(InputRefused, match="one single grey"):
        kept(np.full((2, 3, 4), value), tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_most_of_the_picture_lies_between_black_and_white_at_first(tmp_path) -> None:
    values = RNG.normal(1000, 50, (30, 30, 30)).astype("i2")
    values[0, 0, :] = 30000
    read, stored = kept(values, tmp_path)
    inside = (stored >= read.black) & (stored <= read.white)
    assert 0.98 < inside.mean() < 1
    assert read.least == stored.min()
    assert read.most == stored.max()


def test_a_picture_that_is_nearly_all_of_one_grey_still_shows_all_of_it(tmp_path) -> None:
    values = np.zeros((20, 20, 20), "u2")
    values[0, 0, 0] = 500
    read, _ = kept(values, tmp_path)
    assert (read.black, read.white) == (0, 500)


def test_a_film_keeps_its_scale_and_its_cautions(tmp_path) -> None:
    scale = Scale((0.03, 0.04), Trust.DETECTOR, 0.8, 1.0)
    read = keep_grey(Film(np.arange(6, dtype="u1").reshape(2, 3), scale, ("Look twice.",)), tmp_path / "film")
    assert (read.kind, read.shape, read.scale, read.cautions) == ("film", (2, 3), scale, ("Look twice.",))


def test_a_disk_that_takes_no_more_is_told_in_a_sentence(tmp_path) -> None:
    with pytest.raises(NotKept, match=r"^Nothing was saved, because no such file or directory"):
        keep_grey(Film(np.arange(6).reshape(2, 3), NO_SCALE), tmp_path / "gone" / "film")

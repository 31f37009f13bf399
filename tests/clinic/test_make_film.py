"""Films of invented teeth as ordered."""

from __future__ import annotations

import io
import json

import numpy as np
import pydicom
import pytest

from rootfill import gateway
from rootfill.clinic.make_phantom import Order, make_phantom
from rootfill.errors import InputRefused

WORDS = ("filled", "short", "flush", "puff", "over", "file", "crown", "neighbour", "upper", "inverted", "linear")


def made(*words, seed=5, voxel=0.3, **more):
    return make_phantom(Order("film", having=frozenset(words), seed=seed, voxel_mm=voxel, **more), gateway)


def film_of(files, name="film"):
    return pydicom.dcmread(io.BytesIO(files[f"{name}.dcm"])).pixel_array


def gap_of(truth):
    return truth["canals"][0]["filling"]["end_to_apex_mm"]


def test_every_word_changes_the_film():
    seen = {word: made(word)[0]["film.png"] for word in WORDS}
    seen["plain"] = made()[0]["film.png"]
    assert len(set(seen.values())) == len(seen)


def test_the_same_order_gives_the_same_bytes():
    assert made("over")[0] == made("over")[0]


@pytest.mark.parametrize("seed", range(4))
def test_short_is_short_flush_is_near_and_over_is_beyond(seed):
    short, flush, over = (made(word, seed=seed, voxel=0.5)[1] for word in ("short", "flush", "over"))
    assert gap_of(short) > 2
    assert 0 <= gap_of(flush) < 1.2
    assert gap_of(over) < 0.3
    assert over["canals"][0]["filling"]["past_foramen_mm"] > 0.6


def test_a_puff_is_sealer_and_no_core():
    facts = made("puff")[1]["canals"][0]["filling"]["beyond"]
    assert facts["sealer_mm"] > 0
    assert facts["core_mm"] == 0


def test_the_edge_lies_just_past_the_end_of_the_filling():
    files, truth = made("filled", "edge")
    assert truth["size"][1] - truth["canals"][0]["filling"]["filling_end"][1] == pytest.approx(7, abs=1)
    assert film_of(files).shape == tuple(truth["size"][::-1])


def test_the_film_from_before_shows_no_filling_and_is_taken_a_little_differently():
    files, truth = made("filled", voxel=0.1)
    before, after = (
        film_of(files, name)[round(y), round(x)].astype(int)
        for name, facts in (("before", truth["before"]), ("film", truth))
        for x, y in facts["canals"][0]["canal"][25:26]
    )
    assert after > before + 300
    there, here = (np.array(t["canals"][0]["foramen"]) for t in (truth["before"], truth))
    assert 0.5 < np.linalg.norm(there - here) < 40


def test_the_file_of_known_length_is_on_the_working_film():
    truth = made("file", "filled")[1]
    assert truth["file"] is None
    assert truth["before"]["file"]["length_true_mm"] * 2 == int(truth["before"]["file"]["length_true_mm"] * 2)


def test_the_truth_stands_beside_as_it_is_returned():
    files, truth = made("curved", canals=3)
    assert json.loads(files["truth.json"]) == truth
    assert 1.03 <= truth["magnification"] <= 1.06


@pytest.mark.parametrize("pixel", [0.0, -1.0, 0.001, float("nan"), float("inf")])
def test_pixels_no_film_has_are_refused(pixel):
    with pytest.raises(InputRefused):
        made(voxel=pixel)

"""The page of the heat studies says what the evidence says, and the runs behind it are what the page describes."""

from __future__ import annotations

import copy
import math
import re

import numpy as np
import pytest

from prove import studies, study_bands, study_page
from rootfill.heat import HELD

PAGE = (study_page.DOCS / "heat-studies.md").read_text(encoding="utf-8")
RESULTS = study_page.results()
PARTS = study_page.parts(RESULTS)
WAYS = study_bands.ways(1)


@pytest.mark.parametrize("name", PARTS)
def test_each_table_and_the_summary_stand_on_the_page_as_the_evidence_has_them(name):
    (found,) = study_page.part(name).findall(PAGE)
    assert found == PARTS[name]


def test_the_drawing_is_the_one_of_the_evidence():
    drawn = (study_page.DOCS / "heat-studies.svg").read_text(encoding="utf-8")
    assert drawn == study_page.drawing(RESULTS) + "\n"


@pytest.mark.parametrize("key", ["p5", "p50", "p95", "value"])
def test_another_value_in_the_evidence_would_be_another_row(key):
    other = copy.deepcopy(RESULTS)
    other["1"]["values"]["floren_5"][key] += 1
    assert study_page.parts(other)["values"] != PARTS["values"]


def test_a_value_that_falls_out_of_its_band_changes_the_summary():
    other = copy.deepcopy(RESULTS)
    other["1"]["values"]["sweatman_6"]["in_band"] = False
    assert study_page.summary(other) != PARTS["summary"]


@pytest.mark.parametrize("seed", RESULTS)
def test_a_value_is_in_the_band_where_it_lies_between_its_ends(seed):
    for one in RESULTS[seed]["values"].values():
        assert one["p5"] <= one["p50"] <= one["p95"]
        assert one["in_band"] == (one["p5"] <= one["value"] <= one["p95"])


def test_the_same_values_are_in_the_band_with_every_seed():
    verdicts = [{id: v["in_band"] for id, v in result["values"].items()} for result in RESULTS.values()]
    assert len(verdicts) == 3
    assert all(one == verdicts[0] for one in verdicts)


def test_every_published_value_has_its_row_and_every_row_its_value():
    assert {id for result in RESULTS.values() for id in result["values"]} == set(study_page.LABELS)


def test_the_words_of_the_page_give_the_root_and_the_steps_of_the_code():
    words = " ".join(PAGE.split())
    low, high = studies.USUAL_APICAL_MM
    first, second, last = (f"{s:g}" for s in studies.STEPS_MM)
    for said in (
        f"{study_bands.ROOT_MM:g} mm long",
        f"to {study_bands.AT_5_MM:g} mm at 5 mm",
        f"apical size {low:.2f} to {high:.2f} mm",
        f"{first}, {second} and {last} mm, ours",
        f"a cold plugger for {studies.PACE.push_s:g} s and {studies.PACE.idle_s:g} s of rest",
        f"the axis passed {studies.SOFTENS_C:g} °C",
        f"ligament {study_bands.LIGAMENT_MM:g} mm",
        f"{study_bands.DRAWS} draws",
    ):
        assert said in words


def test_every_degree_in_the_words_stands_in_a_table_too():
    words = PAGE
    for name in PARTS:
        words = study_page.part(name).sub("", words)
    told = set(re.findall(r"(\d+(?:\.\d+)?) (?:K|°C)\b", words))
    inputs = {"185", "600", "250", "37", f"{studies.SOFTENS_C:g}"}
    assert told
    assert told - inputs <= set(re.findall(r"\d+(?:\.\d+)?", " ".join(PARTS.values())))


def test_where_the_model_misses_a_surface_it_is_too_warm_as_the_page_says():
    missed = [
        v for id, v in RESULTS["1"]["values"].items() if "surface" in study_page.LABELS[id][1] and not v["in_band"]
    ]
    assert missed
    assert all(one["p5"] > one["value"] for one in missed)


def test_where_it_misses_the_apex_in_steps_it_is_too_cold_as_the_page_says():
    values = RESULTS["1"]["values"]
    missed = [v for id, v in values.items() if id.startswith(("blum", "goodman")) and not v["in_band"]]
    assert missed
    assert all(one["p95"] < one["value"] for one in missed)


def test_a_seed_always_draws_the_same_ways_and_another_seed_others():
    assert study_bands.ways(1) == WAYS
    assert study_bands.ways(2) != WAYS


def test_the_draws_fill_their_bands():
    for drawn, (low, high) in (
        ([w.tip_c for w in WAYS], study_bands.TIP_C),
        ([w.compound.k_w_mk for w in WAYS], study_bands.COMPOUND_K),
        ([w.wall_mm for w in WAYS], study_bands.WALL_MM),
        ([w.heat_s for w in WAYS], study_bands.HEAT_S),
        ([w.depth_mm for w in WAYS], study_bands.DEPTH_MM),
        ([w.injected_c for w in WAYS], study_bands.INJECTED_C),
    ):
        assert low <= min(drawn) < low + 0.1 * (high - low)
        assert high - 0.1 * (high - low) < max(drawn) <= high


def test_a_contact_conducts_as_the_inverse_of_its_resistance():
    way = WAYS[0]
    assert way.tip.contact_w_m2k * way.resistance_m2k_w == pytest.approx(1)
    assert way.tip.contact_w_m2k != HELD


def test_the_film_acts_a_skin_outside_the_root_itself():
    root = WAYS[0].bare_root((0.3, 0.3))
    s = np.array([0.0, 5.0, 13.0])
    assert root.block_radius(s) - root.root_radius(s) == pytest.approx(study_bands.SKIN_MM)


def test_injected_compound_fills_the_whole_canal_at_its_temperature():
    way = WAYS[0]
    got = studies.injected(way)
    just_after = int(np.argmax(got.times_s > studies.EMPTY_S + 1e-9))
    inside = (got.axis_s_mm > 3) & (got.axis_s_mm < 12)
    assert got.axis_c[: just_after - 1, inside] == pytest.approx(way.air_c)
    assert got.axis_c[just_after, inside].max() == pytest.approx(way.injected_c, abs=1)
    assert got.axis_c.max() < way.injected_c + 0.01


def test_the_wall_of_an_injected_canal_stays_below_what_two_bodies_share_where_they_touch():
    # Two half-spaces: their border is at the mean of both by weights of sqrt(k rho c); Carslaw & Jaeger, from memory
    for way in WAYS[:4]:
        got = studies.injected(way)
        hot, cold = (math.sqrt(m.k_w_mk * m.capacity_j_m3k) for m in (way.compound, way.dentine))
        shared = (way.injected_c - way.air_c) * hot / (hot + cold)
        rise = float(np.interp(6.0, got.surface_s_mm, got.wall_c.max(axis=0))) - got.begins_c
        assert 0.8 * shared < rise < shared

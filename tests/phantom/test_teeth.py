"""Teeth drawn by chance: whole, plausible, and their truth against other ways to compute it."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from rootfill.errors import InputRefused
from rootfill.phantom import CBCT, filled, filling_truth, grid_of, paint, random_tooth, truth_of, turned
from rootfill.phantom.lay import Bend, Widths, tube
from rootfill.phantom.tooth import Stuff, look
from rootfill.phantom.truth import profile
from rootfill.phantom.volume import QUIET

SEEDS = range(4)


def drawn(seed, canals=1, **asked):
    return random_tooth(np.random.default_rng(seed), canals, **asked)


@pytest.mark.parametrize("canals", [1, 2, 3, 4])
@pytest.mark.parametrize("asked", [{}, {"curved": True, "oval": True}, {"chamber": False, "prepared": True}])
def test_canals_open_on_the_surface_of_the_root_within_a_millimetre_of_the_apex(canals, asked):
    for seed in SEEDS:
        tooth = drawn(seed, canals, **asked)
        assert len(tooth.canals) == canals
        for canal in tooth.canals:
            end = canal.tube.frame(np.zeros(1))[0]
            assert abs(float(tooth.outside(end)[0])) < 0.02
            assert np.linalg.norm(end[:, 0] - tooth.root(canal.root).apex) < 1.05
            past = canal.tube.frame(np.array([-0.6]))[0]
            assert tooth.outside(past)[0] > 0


@pytest.mark.parametrize("canals", [1, 2, 3, 4])
def test_a_wall_stands_about_every_canal_above_its_foramen(canals):
    for seed in SEEDS:
        tooth = drawn(seed, canals, curved=True)
        for canal in tooth.canals:
            walls = [w for s, _, _, w in profile(tooth, canal, 0.5) if 2 < s < canal.length_mm - 0.5]
            assert None not in walls
            assert min(walls) > 0.25


def test_a_joined_canal_ends_on_the_axis_of_the_other():
    for seed in SEEDS:
        tooth = drawn(seed, 2, joined=True)
        first, second = tooth.canals
        assert second.join.into == first.name
        there = first.tube.frame(np.array([second.join.at_s_mm]))[0]
        assert np.allclose(second.tube.frame(np.zeros(1))[0], there, atol=0.02)


def test_an_isthmus_is_a_hollow_between_two_canals():
    tooth = drawn(2, 2, isthmus=True)
    sheet = tooth.isthmuses[0].sheet
    middle = (sheet.low_mm + sheet.high_mm) / 2
    ends = [[np.interp(middle, t.curve_mm[2], t.curve_mm[k]) for k in (0, 1)] for t in (sheet.one, sheet.other)]
    point = np.array([*np.mean(ends, axis=0), middle])[:, None]
    assert look(tooth, point)[0][0] == Stuff.PULP


def test_a_blind_canal_ends_inside_the_root():
    tooth = drawn(1, 1, blind=True)
    assert tooth.outside(tooth.canals[0].tube.frame(np.zeros(1))[0])[0] < -0.2


def test_the_length_of_an_arc_is_radius_times_angle():
    radius, angle = 9.0, np.radians(40)
    turn = np.linspace(0, angle, 4000)
    path = np.array([radius * (1 - np.cos(turn)), 0 * turn, radius * np.sin(turn)])
    made, length = tube(path, Widths(0.3, 0.04), 90.0, float(path[2, -1]))
    assert length == pytest.approx(radius * angle, abs=1e-4)
    assert np.allclose(made.frame(np.array([0.0, length]))[0], path[:, [0, -1]], atol=1e-4)


def test_a_bend_turns_by_its_angle():
    offset = Bend(30.0, 6.0).offset_mm(np.array([0.0, 1e-4]))
    assert np.degrees(np.arctan((offset[0, 0] - offset[0, 1]) / 1e-4)) == pytest.approx(30, abs=0.1)


def test_volumes_stated_are_those_of_a_count_of_random_points():
    tooth, rng = drawn(3, 1, oval=True), np.random.default_rng(8)
    facts, (low, high) = truth_of(tooth), tooth.box
    points = low[:, None] + (high - low)[:, None] * rng.random((3, 400_000))
    label, _ = look(tooth, points)
    cell = float((high - low).prod()) / points.shape[1]
    pulp = float((label == Stuff.PULP).sum())
    assert facts["pulp_volume_mm3"] == pytest.approx(pulp * cell, abs=4 * np.sqrt(pulp) * cell)
    below = points[2] < tooth.orifice_z_mm
    root = float((below & (tooth.outside(points) < 0)).sum())
    assert facts["roots"][0]["volume_mm3"]["to_orifice"] == pytest.approx(root * cell, abs=4 * np.sqrt(root) * cell)


def test_truth_in_voxels_is_truth_in_mm_turned():
    tooth = drawn(4, 2)
    grid = grid_of(tooth, CBCT, turned(25, (0, 1, 1)))
    for canal in truth_of(tooth, grid)["canals"]:
        voxels, mm = np.array(canal["centreline"]), np.array(canal["centreline_mm"])
        steps = np.linalg.norm(np.diff(voxels * grid.voxel_mm, axis=0), axis=1)
        assert steps.max() <= 0.05
        assert steps.sum() == pytest.approx(canal["length_mm"], abs=0.02)
        assert np.allclose(grid.points(voxels.T).T, mm, atol=2e-3)
        assert np.allclose(voxels[-1], canal["end"], atol=2e-3)
        assert (voxels > 0).all()
        assert (voxels < np.array(grid.counts) - 1).all()


def test_the_picture_is_dark_on_the_axis_and_bright_beside_it():
    tooth, quiet = drawn(5, 1, prepared=True), QUIET.with_voxel(0.2)
    scan = paint(tooth, quiet, np.random.default_rng(0), grid_of(tooth, quiet, turned(20)))
    canal = tooth.canals[0]
    point, _, _, half = canal.tube.frame(np.array([6.0]))
    beside = point + np.array([[half[0, 0] + 0.4], [0], [0]])
    dark, bright = (scan.values[tuple(np.rint(scan.grid.indices(p)[::-1, 0]).astype(int))] for p in (point, beside))
    assert dark < scan.scanner.slope * 0.5 < bright


def test_the_same_seed_gives_the_same_picture_and_truth():
    tooth, again = drawn(7, 1, chamber=False), drawn(7, 1, chamber=False)
    assert json.dumps(truth_of(tooth)) == json.dumps(truth_of(again))
    one, two = (paint(t, CBCT.with_voxel(0.4), np.random.default_rng(1)).values for t in (tooth, again))
    assert np.array_equal(one, two)


def test_blur_keeps_the_sum_and_noise_has_its_spread():
    tooth, rng = drawn(1, 1, chamber=False), np.random.default_rng(2)
    plain = replace(QUIET.with_voxel(0.25), margin_mm=1.5)
    sharp, soft = (paint(tooth, s, rng).values.astype(float) for s in (plain, replace(plain, blur_mm=0.4)))
    assert soft.sum() == pytest.approx(sharp.sum(), rel=5e-4)
    noisy = paint(tooth, replace(plain, noise=0.05, noise_mm=0.4), rng).values - sharp
    assert noisy.std() == pytest.approx(0.05 * plain.slope, rel=0.02)
    assert np.corrcoef(noisy[:, :, :-1].ravel(), noisy[:, :, 1:].ravel())[0, 1] > 0.5


@pytest.mark.parametrize("canals", [1, 2])
def test_voids_are_as_large_as_a_count_of_random_points_says(canals):
    rng = np.random.default_rng(11)
    tooth = filled(drawn(5, canals, prepared=True, chamber=False), rng, voids=3, short_mm=0.5)
    facts = filling_truth(tooth)
    assert facts["void_percent"] == pytest.approx(facts["inside_percent"] + facts["wall_percent"], abs=1e-4)
    for filling, said in zip(tooth.fillings, facts["canals"], strict=True):
        for void, stated in zip(filling.voids, said["voids"], strict=True):
            low, high = void.egg.box
            points = low[:, None] + (high - low)[:, None] * rng.random((3, 40_000))
            share = float((look(tooth, points)[0] == Stuff.VOID).mean())
            spread = np.sqrt(share * (1 - share) / points.shape[1])
            volume = float((high - low).prod())
            assert stated["void_mm3"] == pytest.approx(share * volume, abs=(5 * spread + 0.01) * volume)
            whole = void.egg.volume_mm3
            assert (
                stated["void_mm3"] < 0.9 * whole
                if void.at_wall
                else stated["void_mm3"] == pytest.approx(whole, rel=1e-3)
            )


def test_core_beyond_the_end_lies_outside_the_root():
    tooth = filled(drawn(5, 1, prepared=True, chamber=False), np.random.default_rng(1), voids=0, short_mm=-0.5)
    past = tooth.canals[0].tube.frame(np.array([-0.45, -0.7]))[0]
    assert look(tooth, past)[0].tolist()[0] == Stuff.CORE
    assert look(tooth, past)[0].tolist()[1] in (Stuff.LIGAMENT, Stuff.OUTSIDE)


def test_what_cannot_be_made_is_refused():
    with pytest.raises(InputRefused, match="1 to 4"):
        drawn(1, 5)
    with pytest.raises(InputRefused, match="two canals"):
        drawn(1, 1, joined=True)
    with pytest.raises(InputRefused, match="voxel"):
        grid_of(drawn(1, 1), CBCT.with_voxel(0.01))

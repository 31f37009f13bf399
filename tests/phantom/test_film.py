"""Films of invented teeth: projections of closed form, and the truth beside them against the picture itself."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from rootfill.errors import InputRefused
from rootfill.phantom import STILL, Detector, Rod, Root, Scene, Tooth, View, filled, film, film_truth, random_tooth
from rootfill.phantom.film import met
from rootfill.phantom.film_truth import radiographic_apex, schneider_deg
from rootfill.phantom.scene import ATTENUATION, Part, extended, lengths, stretches
from rootfill.phantom.shapes import Loft

SMALL = {"rows": 300, "columns": 220, "pixel_mm": 0.12}


def cylinder(radius=1.0, high=10.0):
    """A tooth that is a cylinder of dentine."""
    z = np.linspace(0, high, 51)
    body = Loft(z, np.zeros((2, z.size)), np.full((2, z.size), radius))
    return Tooth((Root("root", body),), (), high)


def drawn(seed, canals=1, short_mm=1.0, **asked):
    rng = np.random.default_rng(seed)
    return filled(random_tooth(rng, canals, prepared=True, **asked), rng, short_mm=short_mm)


def about(tooth, **asked):
    return View(about_mm=tooth.box.mean(axis=0), **asked)


def test_a_cylinder_is_as_dense_as_its_chord_is_long():
    view = View(about_mm=np.array([0, 0, 5.0]), source_mm=None, behind_mm=0, rows=3, columns=101, pixel_mm=0.025)
    x = (np.arange(101) - 50) * 0.025
    true = ATTENUATION[Part.DENTINE] * 2 * np.sqrt(np.maximum(1 - x**2, 0))
    assert met(Scene(cylinder(), bone=False), view)[1] == pytest.approx(true, abs=1e-9)


def test_two_points_are_magnified_by_their_distances():
    view = View(source_mm=300, behind_mm=15, pixel_mm=0.05)
    assert view.magnification == pytest.approx(1.05)
    near, far = (view.seen(np.array([[0.0, 4.0], [y, y], [0.0, 0.0]])) for y in (-10.0, 10.0))
    assert np.diff(near[0]) == pytest.approx(4 * 315 / 290 / 0.05)
    assert np.diff(far[0]) == pytest.approx(4 * 315 / 310 / 0.05)


@pytest.mark.parametrize("deg", [-20.0, 0.0, 15.0])
def test_a_thin_rod_is_foreshortened_by_the_cosine(deg):
    view = View(vertical_deg=deg, source_mm=None, pixel_mm=0.05)
    low, high = view.seen(np.array([[0.0, 0.0], [0.0, 0.0], [0.0, 10.0]])).T
    assert np.linalg.norm(high - low) * view.object_mm == pytest.approx(10 * view.foreshortening)
    assert high[1] < low[1]


def test_rays_meet_the_pixels_they_were_asked_for():
    view = View(about_mm=np.array([1.0, 2, 3]), horizontal_deg=12, vertical_deg=-9, shift_mm=(3, -2), upper=True)
    pixels = np.array([[0.0, 450.5, 899], [3.0, 600, 1100]])
    rays = view.rays(pixels)
    for far in (5.0, 20.0, 28.0):
        assert view.seen(rays.start + far * rays.way) == pytest.approx(pixels, abs=1e-8)


@pytest.mark.parametrize("seed", range(3))
def test_the_filling_ends_in_the_picture_where_the_truth_says(seed):
    """Where the filling's density along its axis falls to half."""
    tooth = drawn(seed)
    view = about(tooth, horizontal_deg=6, vertical_deg=8)
    truth = film_truth(Scene(tooth), view)["canals"][0]
    canal = tooth.canals[0]
    s = np.arange(0.2, 2.5, 0.005)
    line = view.seen(canal.tube.frame(s)[0])
    dense = lengths(stretches(Scene(tooth), view.rays(line)))[Part.CORE]
    edge = s[int(np.argmax(dense > (dense.min() + dense.max()) / 2))]
    assert edge == pytest.approx(truth["filling"]["end_true_mm"], abs=0.03)
    assert truth["filling"]["filling_end"] == pytest.approx(view.seen(canal.tube.frame(np.ones(1))[0])[:, 0], abs=0.01)


@pytest.mark.parametrize("seed", range(3))
def test_the_apex_is_the_lowest_of_the_root_as_the_picture_shows_it(seed):
    """Level view of a nearly straight root: the lowest pixel that meets dentine."""
    tooth = drawn(seed)
    view = about(tooth, pixel_mm=0.04)
    apex = radiographic_apex(tooth.roots[0].body, view)
    x, y = np.meshgrid(np.arange(-40, 41) + round(apex[0]), np.arange(-40, 41) + round(apex[1]))
    pixels = np.array([x.ravel(), y.ravel()], dtype=float)
    solid = lengths(stretches(Scene(tooth), view.rays(pixels)))[Part.DENTINE] > 0
    assert pixels[1, solid].max() == pytest.approx(apex[1], abs=1.1)


@pytest.mark.parametrize(("short", "sign"), [(2.0, 1), (0.0, 1), (-2.0, -1)])
def test_short_is_positive_and_beyond_is_negative_and_straight_agrees(short, sign):
    for seed in range(3):
        tooth = drawn(seed, short_mm=short)
        view = about(tooth)
        facts = film_truth(Scene(tooth), view)["canals"][0]["filling"]
        gap = facts["end_to_apex_mm"]
        assert gap * sign > -0.02
        assert abs(facts["end_to_apex_straight_mm"]) >= abs(gap) - 0.3
        assert facts["beyond"]["core_mm"] == pytest.approx(max(0, -gap))


def test_core_beyond_the_end_is_drawn_as_far_as_it_goes():
    tooth = drawn(5, short_mm=-2.0)
    view = about(tooth)
    tube = extended(tooth.canals[0].tube, -3.0)
    assert tube.s_mm[0] == pytest.approx(-3.0, abs=0.03)
    line = view.seen(tube.frame(np.array([-1.9, -2.1]))[0])
    core = lengths(stretches(Scene(tooth), view.rays(line)))[Part.CORE]
    assert core[0] > 0.1
    assert core[1] == 0


def test_a_file_is_a_ruler():
    tooth = random_tooth(np.random.default_rng(3), 1, prepared=True)
    view = about(tooth, vertical_deg=12)
    scene = Scene(tooth, file=Rod(tooth.canals[0].name, 0.5, 9.0))
    facts = film_truth(scene, view)["file"]
    assert facts["length_true_mm"] == 9.0
    assert facts["length_mm"] == pytest.approx(9 * view.foreshortening, rel=0.02)
    middle = np.array(facts["line"])[20:22].T
    assert lengths(stretches(scene, view.rays(middle)))[Part.METAL] == pytest.approx(0.2, rel=0.1)


def test_the_angle_of_a_straight_line_is_none_and_of_a_broken_one_its_break():
    down = np.linspace(0, 1, 201)
    assert schneider_deg(np.array([np.zeros(201), down])[:, ::-1]) == 0
    broken = np.array([np.maximum(down - 0.5, 0) * np.tan(np.radians(30)), down])[:, ::-1]
    assert schneider_deg(broken) == pytest.approx(30, abs=3.5)


def test_greys_follow_the_response_the_bits_and_the_polarity():
    tooth = drawn(1)
    view, scene = about(tooth, **SMALL), Scene(tooth)
    rng = np.random.default_rng(0)
    log = film(scene, view, STILL, rng)
    linear = film(scene, view, replace(STILL, response="linear"), rng)
    assert log.dtype == np.uint16
    order = np.argsort(log, axis=None)
    assert (np.diff(linear.ravel()[order].astype(int)) >= -60).all()
    assert linear.mean() > log.mean()
    dark = film(scene, view, replace(STILL, inverted=True), rng)
    assert (dark.astype(int) + log == 65535).all()
    assert film(scene, view, replace(STILL, bits=8), rng).dtype == np.uint8


def test_the_same_seed_gives_the_same_film_with_noise_and_texture():
    tooth = drawn(2, 2)
    one, other = (film(Scene(tooth), about(tooth, **SMALL), Detector(), np.random.default_rng(7)) for _ in range(2))
    assert np.array_equal(one, other)
    still = film(Scene(tooth), about(tooth, **SMALL), replace(STILL, bits=12), np.random.default_rng(7))
    assert 10 < np.std(one.astype(float) - still) < 200


def test_a_crown_of_metal_hides_and_a_neighbour_stands_beside():
    tooth, other = drawn(1), drawn(4)
    view = about(tooth, **SMALL)
    plain = met(Scene(tooth, bone=False), view)
    crown = met(Scene(tooth, bone=False, metal_crown=True), view)
    two = met(Scene(tooth, bone=False, neighbour=other, beside_mm=(8.0, 0, 0)), view)
    assert crown.max() > plain.max() + 2
    assert (two >= plain - 1e-9).all()
    assert (two[:, 150:] > 0).sum() > (plain[:, 150:] > 0).sum() + 500


def test_the_truth_is_plain_data_and_every_key_of_means_is_used():
    tooth = drawn(1, 3, curved=True)
    facts = film_truth(Scene(tooth, file=Rod(tooth.canals[0].name, 0.5, 6)), about(tooth, upper=True))
    text = json.dumps(facts, allow_nan=False)
    assert len(facts["canals"]) == 3
    assert [word for word in facts["means"] if text.count(f'"{word}":') < 2] == ["pixels"]


@pytest.mark.parametrize(
    "bad",
    [
        lambda: View(vertical_deg=50),
        lambda: View(pixel_mm=float("nan")),
        lambda: View(source_mm=5),
        lambda: Detector(bits=10),
        lambda: Detector(response="cubic"),
        lambda: Detector(blur_mm=-1),
        lambda: Scene(drawn(1), file=Rod("root", 0.5, 40)),
        lambda: Scene(random_tooth(np.random.default_rng(2), 2, isthmus=True)),
    ],
)
def test_what_no_film_is_like_is_refused(bad):
    with pytest.raises(InputRefused):
        bad()

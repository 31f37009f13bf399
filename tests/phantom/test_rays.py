"""Chords of bodies against closed forms and against steps along the ray."""

from __future__ import annotations

import numpy as np
import pytest

from rootfill.phantom.lay import Bend, Girth, Widths, root_body, tube
from rootfill.phantom.rays import Rays, box_stretch, egg_stretch, half_space, loft_stretch, tube_stretch
from rootfill.phantom.shapes import Egg, Loft, Tube

Z = np.linspace(0, 10, 501)


def level_rays(x, z, slope=0.0):
    """Rays along y, falling by ``slope`` mm per mm, that pass y = 0 at x, z."""
    way = np.array([0.0, 1.0, -slope]) / np.hypot(1, slope)
    start = np.array([x, np.zeros_like(x), z]) - 50 * way[:, None]
    return Rays(start, np.repeat(way[:, None], x.size, axis=1))


def length(stretch):
    return stretch[1] - stretch[0]


def straight_tube(low, high):
    """A tube about the z axis whose radius grows evenly."""
    s = np.linspace(0, 10, 501)
    radius = low + (high - low) * s / 10
    wide = np.repeat(np.array([[1.0], [0.0], [0.0]]), s.size, axis=1)
    return Tube(s, np.array([np.zeros_like(s), np.zeros_like(s), s]), wide, np.array([radius, radius]))


@pytest.mark.parametrize("slope", [0.0, 0.2, 0.5])
def test_a_cylinder_has_the_chord_of_the_formula(slope):
    x, z = np.linspace(-1.2, 1.2, 101), np.full(101, 5.0)
    body = Loft(Z, np.zeros((2, Z.size)), np.ones((2, Z.size)))
    true = 2 * np.sqrt(np.maximum(1 - x**2, 0)) * np.hypot(1, slope)
    assert length(loft_stretch(body, level_rays(x, z, slope))) == pytest.approx(true, abs=1e-9)
    assert length(tube_stretch(straight_tube(1, 1), level_rays(x, z, slope))) == pytest.approx(true, abs=1e-9)


@pytest.mark.parametrize("slope", [0.0, 0.2, 0.5])
def test_a_cone_has_the_chord_of_the_formula(slope):
    """x² + y² = (g z)², z = z0 − slope y: a quadratic in y."""
    g = 0.2
    x, z0 = np.linspace(-1.5, 1.5, 101), np.full(101, 5.0)
    a, b, c = 1 - (g * slope) ** 2, g * g * z0 * slope, x**2 - (g * z0) ** 2
    true = 2 * np.sqrt(np.maximum(b * b - a * c, 0)) / a * np.hypot(1, slope)
    radius = np.maximum(g * Z, 1e-6)
    body = Loft(Z, np.zeros((2, Z.size)), np.array([radius, radius]))
    assert length(loft_stretch(body, level_rays(x, z0, slope))) == pytest.approx(true, abs=1e-5)


def test_a_tube_that_tapers_has_the_chord_of_its_sections():
    x, z = np.linspace(-0.9, 0.9, 51), np.full(51, 6.0)
    radius = 0.5 + 0.1 * 6.0
    true = 2 * np.sqrt(np.maximum(radius**2 - x**2, 0))
    assert length(tube_stretch(straight_tube(0.5, 1.5), level_rays(x, z))) == pytest.approx(true, abs=1e-6)


def test_an_egg_and_a_box_have_the_chords_of_their_formulas():
    x = np.linspace(-1.1, 1.1, 44)
    egg = Egg(np.array([0, 0, 5.0]), np.eye(3), np.array([1.0, 2.0, 3.0]))
    rays = level_rays(x, np.full(44, 5.0))
    assert length(egg_stretch(egg, rays)) == pytest.approx(4 * np.sqrt(np.maximum(1 - x**2, 0)))
    box = box_stretch(np.array([-1.0, -2, 0]), np.array([1.0, 2, 9]), rays)
    assert length(box) == pytest.approx(np.where(np.abs(x) < 1, 4.0, 0.0))
    first, last = half_space(rays, np.array([0, 1.0, 0]), np.array([0.0, 1.0, 0.0]))
    assert first.max() < -1000
    assert last == pytest.approx(51)


@pytest.mark.parametrize("seed", range(4))
def test_bent_bodies_agree_with_small_steps_along_the_ray(seed):
    rng = np.random.default_rng(seed)
    body = root_body(Girth(0.85, 2.2, 10.0, 1.3), Bend(35, 6, rng.uniform(0, 360)), 0.0, 14.0, (0.0, 0.0))
    z = np.linspace(0.5, 13.5, 400)
    path = np.array([*body.section(z)[:2], z])
    canal, _ = tube(path, Widths(0.3, 0.05), 90.0, 13.0)
    n = 120
    away = rng.uniform(-1, 1, n) * np.where(np.arange(n) % 2, 2.5, 0.6)
    height = rng.uniform(0.05, 13.0, n)
    centre = body.section(np.clip(height, 0, 13.9))[0]
    rays = level_rays(centre + away, height, slope=float(rng.uniform(-0.4, 0.4)))
    step = 0.004
    t = np.arange(40, 60, step)
    points = (rays.start[:, :, None] + rays.way[:, :, None] * t).reshape(3, -1)
    for shape, found in ((body, loft_stretch(body, rays)), (canal, tube_stretch(canal, rays))):
        counted = (shape.distance(points).reshape(n, -1) < 0).sum(axis=1) * step
        assert np.abs(length(found) - counted).max() < 0.03
        assert np.abs(length(found) - counted).mean() < 0.004

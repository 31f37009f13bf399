"""Painted shares against volumes known by formula."""

from __future__ import annotations

import numpy as np
import pytest

from rootfill.phantom import Egg, Grid, Loft, Tube, turned
from rootfill.phantom.paint import shares

TILTED = turned(20, (1, 2, 0.5))


def painted_mm3(shape, voxel=(0.1, 0.1, 0.1), turn=None, halvings=2):
    low, high = shape.box
    about, voxel = (low + high) / 2, np.array(voxel)
    reach = float(np.linalg.norm(high - low)) / 2 + 0.3
    counts = tuple(int(n) for n in np.ceil(2 * reach / voxel) + 1)
    grid = Grid(counts, voxel, about, (np.array(counts) - 1) / 2 * voxel, np.eye(3) if turn is None else turn)

    def look(points):
        far = shape.distance(points)
        return (far < 0).astype(np.uint8), np.abs(far)

    return float(shares(look, grid, np.array([0.0, 1.0]), halvings).sum(dtype=float) * voxel.prod())


def straight(half, length=6.0, step=0.02):
    s = np.arange(0, length + step / 2, step)
    zero = np.zeros_like(s)
    return Tube(
        s, np.array([zero, zero, s]), np.array([zero, zero + 1, zero]), np.array([half[0] + zero, half[1] + zero])
    )


def cone():
    z = np.linspace(0, 8, 401)
    wide = 0.4 + 0.1 * z
    return Loft(z, np.zeros((2, z.size)), np.array([wide, 1.3 * wide])), np.pi * 1.3 * (1.2**3 - 0.4**3) / 0.3


@pytest.mark.parametrize("turn", [None, TILTED])
@pytest.mark.parametrize("voxel", [(0.1, 0.1, 0.1), (0.08, 0.12, 0.2)])
def test_an_elliptic_cylinder_keeps_its_volume_in_any_grid(turn, voxel):
    assert painted_mm3(straight((0.2, 0.45), 3.0), voxel, turn, 3) == pytest.approx(np.pi * 0.2 * 0.45 * 3, rel=0.005)


@pytest.mark.parametrize("turn", [None, TILTED])
def test_a_cone_of_elliptic_section_keeps_its_volume(turn):
    body, volume = cone()
    assert painted_mm3(body, turn=turn) == pytest.approx(volume, rel=0.003)


def test_an_egg_keeps_its_volume():
    egg = Egg(np.array([0.3, 0.1, 2.0]), TILTED, np.array([0.3, 0.5, 0.8]))
    assert painted_mm3(egg) == pytest.approx(4 / 3 * np.pi * 0.3 * 0.5 * 0.8, rel=0.005)
    assert egg.volume_mm3 == pytest.approx(4 / 3 * np.pi * 0.3 * 0.5 * 0.8)


def test_a_bent_tube_keeps_the_volume_of_a_straight_one():
    radius, angle = 8.0, np.radians(50)
    s = np.arange(0, radius * angle, 0.02)
    zero, turn = np.zeros_like(s), s / radius
    curve = np.array([radius * (1 - np.cos(turn)), zero, radius * np.sin(turn)])
    half = np.array([0.2 + zero, 0.4 + zero])
    tube = Tube(s, curve, np.array([zero, zero + 1, zero]), half)
    assert painted_mm3(tube) == pytest.approx(np.pi * 0.2 * 0.4 * s[-1], rel=0.005)


def test_a_rounded_end_is_half_an_egg():
    z = np.linspace(0, 5, 251)
    body = Loft(z, np.zeros((2, z.size)), np.tile([[0.8], [1.0]], z.size), round_mm=1.2)
    volume = np.pi * 0.8 * (2 / 3 * 1.2 + 3.8)
    assert painted_mm3(body) == pytest.approx(volume, rel=0.003)


def test_thin_things_are_not_lost_between_voxels():
    assert painted_mm3(straight((0.03, 0.05)), (0.2, 0.2, 0.2), TILTED, 3) == pytest.approx(
        np.pi * 0.03 * 0.05 * 6, rel=0.05
    )


def test_points_of_a_grid_come_back_from_their_indices():
    grid = Grid((10, 12, 14), np.array([0.1, 0.2, 0.3]), np.array([1.0, 2, 3]), np.array([0.5, 1, 2]), TILTED)
    points = np.array([[0.3, 1.1], [2.2, 0.4], [0.0, 5.0]])
    assert np.allclose(grid.points(grid.indices(points)), points)

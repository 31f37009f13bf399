"""Volumes by frusta against closed solids measured by trimesh, an independent library."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings

from rootfill.tooth import Profile, from_rows, tapered
from tests.tooth.shapes import profiles


def solid(profile: Profile, facets: int) -> trimesh.Trimesh:
    """A closed mesh through an ellipse of ``facets`` corners at every station, both ends capped."""
    turn = 2 * math.pi * np.arange(facets) / facets
    rings = [
        np.column_stack((n / 2 * np.cos(turn), w / 2 * np.sin(turn), np.full(facets, s)))
        for s, n, w in zip(profile.s_mm, profile.narrow_mm, profile.wide_mm, strict=True)
    ]
    points = np.vstack([*rings, [[0, 0, profile.s_mm[0]]], [[0, 0, profile.s_mm[-1]]]])
    low, high, corner = len(points) - 2, len(points) - 1, np.arange(facets)
    beside, top = (corner + 1) % facets, (len(rings) - 1) * facets
    faces = [np.column_stack((np.full(facets, low), beside, corner))]
    for k in range(len(rings) - 1):
        a, b = k * facets, (k + 1) * facets
        faces.append(np.column_stack((a + corner, a + beside, b + beside)))
        faces.append(np.column_stack((a + corner, b + beside, b + corner)))
    faces.append(np.column_stack((np.full(facets, high), top + corner, top + beside)))
    return trimesh.Trimesh(points, np.vstack(faces), process=False)


SHAPES = {
    "25/.06": tapered(25, 0.06, 13.0),
    "30/.04": tapered(30, 0.04, 12.0),
    "oval that turns round": from_rows([(0, 0.35, 0.40), (3, 0.48, 0.62), (7, 0.66, 1.05), (12, 0.90, 1.60)]),
    "oval with a waist": from_rows([(0, 0.30, 0.90), (5, 0.25, 0.40), (11, 0.80, 1.90)]),
}


@pytest.mark.parametrize("name", SHAPES)
def test_a_frusta_volume_is_that_of_the_solid_as_its_facets_grow(name):
    profile = SHAPES[name]
    exact = profile.volume_mm3(0, profile.length_mm)
    error = []
    for facets in (48, 96, 192, 384):
        mesh = solid(profile, facets)
        assert mesh.is_watertight
        error.append(1 - mesh.volume / exact)
    assert abs(error[-1]) < 1e-4
    # a polygon of n corners lacks (2 pi/n)²/6 of its ellipse: the error falls by 4 when n doubles
    orders = [math.log2(a / b) for a, b in pairwise(error)]
    assert orders == pytest.approx([2.0] * 3, abs=0.02)


@settings(max_examples=30)
@given(profiles())
def test_any_shape_holds_what_its_solid_holds(profile):
    facets = 256
    mesh = solid(profile, facets)
    assert mesh.is_watertight
    polygon = math.sin(2 * math.pi / facets) / (2 * math.pi / facets)
    assert profile.volume_mm3(0, profile.length_mm) * polygon == pytest.approx(mesh.volume, rel=1e-9)

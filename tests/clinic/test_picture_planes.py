"""Which way a picture lies on the screen."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from rootfill.clinic.kept_picture import KeptPicture, PictureRead
from rootfill.clinic.picture_planes import Plane, planes
from rootfill.images import NO_SCALE

PATIENT = {"right": (0, -1), "left": (0, 1), "front": (1, -1), "back": (1, 1), "feet": (2, -1), "head": (2, 1)}
"""Patient axis (left, back, head positive) and way of each word."""


def picture(affine=None, turned=0, kind="volume"):
    shape = (4, 5, 6) if kind == "volume" else (5, 6)
    matrix = None if affine is None else tuple(tuple(map(float, line)) for line in affine)
    read = PictureRead(kind, shape, 16, 0, 1, 0, 9, 0, 9, NO_SCALE, matrix, (), "")
    return KeptPicture(1, "", "", "", "", "", read, turned)


def affines():
    """Every way in which voxel axes can lie along patient axes, a little tilted."""
    rng = np.random.default_rng(5)
    for order in itertools.permutations(range(3)):
        for signs in itertools.product((1, -1), repeat=3):
            affine = np.eye(4)
            affine[:3, :3] = 0
            for axis, (to, sign) in enumerate(zip(order, signs, strict=True)):
                affine[to, axis] = 0.2 * sign
            affine[:3, :3] += rng.uniform(-0.05, 0.05, (3, 3))
            yield affine


def on_screen(plane: Plane, affine, word: str) -> tuple[float, float]:
    """Where one steps on the screen (right, down) when going to that side of the patient."""
    axis, way = PATIENT[word]
    towards = np.linalg.inv(affine[:3, :3])[:, axis] * way
    return plane.across_sign * towards[plane.across], plane.down_sign * towards[plane.down]


@pytest.mark.parametrize("affine", list(affines()))
@pytest.mark.parametrize("turned", [0, 2])
def test_the_words_at_the_edges_lie_where_the_patient_does(affine, turned) -> None:
    for plane in planes(picture(affine, turned)):
        left, right, top, bottom = plane.edges
        assert on_screen(plane, affine, left)[0] < 0 < on_screen(plane, affine, right)[0]
        assert on_screen(plane, affine, top)[1] < 0 < on_screen(plane, affine, bottom)[1]


@pytest.mark.parametrize("affine", list(affines()))
def test_the_head_is_up_the_left_side_on_the_right_and_each_plane_has_its_name(affine) -> None:
    coronal, sagittal, axial = planes(picture(affine))
    assert [p.name for p in (coronal, sagittal, axial)] == ["coronal", "sagittal", "axial"]
    assert coronal.edges == ("right", "left", "head", "feet")
    assert sagittal.edges == ("front", "back", "head", "feet")
    assert axial.edges == ("right", "left", "front", "back")
    assert {p.axis for p in (coronal, sagittal, axial)} == {0, 1, 2}
    for plane in (coronal, sagittal, axial):
        assert {plane.axis, plane.across, plane.down} == {0, 1, 2}


def test_a_volume_turned_upside_down_is_turned_and_not_mirrored() -> None:
    for before, after in zip(planes(picture()), planes(picture(turned=2)), strict=True):
        assert (before.axis, before.across, before.down) == (after.axis, after.across, after.down)
    before, after = planes(picture())[0], planes(picture(turned=2))[0]
    assert (after.across_sign, after.down_sign) == (-before.across_sign, -before.down_sign)
    assert planes(picture(turned=2))[2].down_sign == 1, "front stays front"


def test_a_scan_that_does_not_say_how_it_lay_has_no_words_at_its_edges() -> None:
    shown = planes(picture())
    assert {edge for plane in shown for edge in plane.edges} == {""}
    assert [(p.axis, p.across, p.across_sign, p.down, p.down_sign) for p in shown] == [
        (1, 0, 1, 2, -1), (0, 1, 1, 2, -1), (2, 0, 1, 1, 1),
    ]  # fmt: skip


@pytest.mark.parametrize("turned", range(4))
def test_a_film_turned_lies_as_numpy_turns_it(turned) -> None:
    (plane,) = planes(picture(turned=turned, kind="film"))
    rows, columns = 5, 6
    values = np.arange(rows * columns).reshape(rows, columns)
    expected = np.rot90(values, -turned)
    size = (columns, rows)
    shown = np.empty_like(expected)
    for row, column in np.ndindex(rows, columns):
        index = (column, row)
        place = []
        for axis, sign in ((plane.down, plane.down_sign), (plane.across, plane.across_sign)):
            place.append(index[axis] if sign > 0 else size[axis] - 1 - index[axis])
        shown[tuple(place)] = values[row, column]
    assert np.array_equal(shown, expected)

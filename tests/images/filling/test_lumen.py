"""Hollows that are canals, and those that are none."""

from __future__ import annotations

import numpy as np
import pytest

from rootfill.errors import InputRefused
from rootfill.images.filling.greys import levels_of, split
from rootfill.images.filling.lumen import along, canals_of

NO_HINTS = np.zeros((0, 3))


def block(*canals: tuple[int, int]) -> np.ndarray:
    """A block of dentine (z, y, x) with upright canals of 6 × 6 voxels from these corners (y, x)."""
    hard: np.ndarray = np.ones((30, 40, 40), dtype=bool)
    for y, x in canals:
        hard[:, y : y + 6, x : x + 6] = False
    return hard


def test_each_canal_has_a_number_of_its_own_and_lies_inside_the_solid() -> None:
    marks, solid = canals_of(block((5, 5), (20, 25)), NO_HINTS)
    assert [int(np.count_nonzero(marks == k)) for k in (1, 2, 3)] == [30 * 36, 30 * 36, 0]
    assert solid.all()


def test_a_hint_picks_one_canal() -> None:
    marks, _ = canals_of(block((5, 5), (20, 25)), np.array([[10.0, 22.0, 27.0]]))
    assert int(marks.max()) == 1
    assert marks[10, 22, 27] == 1
    assert marks[10, 7, 7] == 0


@pytest.mark.parametrize("hint", [(1.0, 1.0, 1.0), (99.0, 7.0, 7.0), (-1.0, 7.0, 7.0)])
def test_a_hint_outside_every_canal_is_refused(hint: tuple[float, float, float]) -> None:
    with pytest.raises(InputRefused, match="seed"):
        canals_of(block((5, 5)), np.array([hint]))


def test_dentine_without_a_hollow_has_no_canal() -> None:
    with pytest.raises(InputRefused, match="without an empty canal"):
        canals_of(block(), NO_HINTS)


@pytest.mark.parametrize("axis", [0, 1, 2])
def test_the_direction_of_the_canal_is_found(axis: int) -> None:
    assert along(np.moveaxis(block((5, 5)), 0, axis)) == axis


def test_the_threshold_lies_between_two_classes() -> None:
    rng = np.random.default_rng(3)
    greys = np.concatenate((rng.normal(10, 1, 500), rng.normal(50, 1, 5000)))
    assert 15 < split(greys) < 45


def test_levels_are_those_of_the_dark_and_of_dentine_whatever_shines_brighter() -> None:
    rng = np.random.default_rng(4)
    greys = np.concatenate((rng.normal(10, 1, 3000), rng.normal(50, 1, 5000), rng.normal(90, 1, 900)))
    found = levels_of(greys, "filled")
    assert found.air == pytest.approx(10, abs=1)
    assert found.dentine == pytest.approx(50, abs=1)

"""Voxel sizes that can and cannot carry void percentages."""

from __future__ import annotations

import numpy as np
import pytest

from rootfill.images import NO_SCALE, Scale, Trust, Volume
from rootfill.images.filling.trust import carries, doubts


def of(*voxel_mm: float) -> Volume:
    """A scan of this voxel size."""
    size = voxel_mm * 3 if len(voxel_mm) == 1 else voxel_mm
    return Volume(np.zeros((3, 3, 3)), Scale(tuple(size), Trust.PATIENT))


@pytest.mark.parametrize(
    ("voxel_mm", "able", "words"),
    [
        (0.008, True, ()),
        (0.0167, True, ("Small voids may be missed",)),
        (0.02, True, ("Small voids may be missed",)),
        (0.025, True, ("Doubtful", "1.25 % for 1.83 %")),
        (0.03, True, ("Doubtful",)),
        (0.031, False, ("No void percentages", "0.031 mm")),
        (0.15, False, ("No void percentages", "voids of 1 to 5 % cannot be measured")),
    ],
)
def test_the_voxel_size_decides_what_is_given(voxel_mm: float, able: bool, words: tuple[str, ...]) -> None:
    said = " ".join(doubts(of(voxel_mm), of(voxel_mm)))
    assert carries(of(voxel_mm), of(voxel_mm)) is able
    assert all(word in said for word in words)
    assert bool(said) is bool(words)


def test_the_coarser_of_two_scans_and_the_longest_side_decide() -> None:
    assert not carries(of(0.01), of(0.04))
    assert not carries(of(0.01, 0.01, 0.04), of(0.01))
    assert "much longer than wide" in " ".join(doubts(of(0.008, 0.008, 0.02), of(0.008)))


def test_an_unknown_voxel_size_gives_none_and_says_what_to_do() -> None:
    bare = Volume(np.zeros((3, 3, 3)), NO_SCALE)
    assert not carries(bare, bare)
    assert "give --spacing" in doubts(bare, bare)[-1]

"""Two scans of one root that do not lie the same way: voids against the truth; pairs that cannot be compared."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from rootfill.errors import InputRefused
from rootfill.images import NO_SCALE, Scale, Trust, Volume
from rootfill.images.filling import Checked, check_filling
from rootfill.images.filling.refuse import size_ratio, topped
from tests.images.filling.roots import PLAIN, Root, scan, truth, turn

TURN = turn(8, (1, 2, 3))
WIDE = Root(end=0.2, outside=(0.45, 0.65), voids=())


@pytest.fixture(scope="module")
def prepared() -> Volume:
    """The plain root before filling."""
    return scan(PLAIN, False)


@pytest.fixture(scope="module")
def filled() -> Volume:
    """The same after filling: turned, shifted, other greys."""
    return scan(PLAIN, True, TURN, (0.05, -0.04, 0.07), slope=5000, seed=2)


@pytest.fixture(scope="module")
def coarse() -> tuple[Volume, Volume]:
    """Both with larger voxels: quicker, where only the sentence matters."""
    return scan(PLAIN, False, voxel=0.03), scan(PLAIN, True, TURN, (0.05, -0.04, 0.07), voxel=0.03, seed=2)


@pytest.fixture(scope="module")
def checked(prepared: Volume, filled: Volume) -> Checked:
    """Both compared."""
    return check_filling(prepared, filled)


def test_voids_are_found_within_three_tenths_of_a_percent(checked: Checked) -> None:
    assert checked.percents is not None
    assert checked.percents.all.percent == pytest.approx(truth(PLAIN), abs=0.3)
    assert checked.percents.all.low <= truth(PLAIN) <= checked.percents.all.high


def test_voids_inside_and_at_the_wall_are_told_apart(checked: Checked) -> None:
    assert checked.percents is not None
    inside = truth(replace(PLAIN, voids=PLAIN.voids[:1]))
    assert checked.percents.inside.percent == pytest.approx(inside, abs=0.15)
    assert checked.percents.wall.percent == pytest.approx(truth(PLAIN) - inside, abs=0.15)


def test_each_third_holds_its_own_voids(checked: Checked) -> None:
    assert checked.percents is not None
    assert [one.percent > 0.5 for one in checked.percents.thirds] == [False, True, True]


def test_what_lies_below_the_end_and_above_the_top_is_not_filled_and_no_void(checked: Checked) -> None:
    assert checked.percents is not None
    z = np.linspace(0.0, 2.4, 2401)
    area = (PLAIN.end + PLAIN.taper * z / 2) ** 2
    empty = (z < PLAIN.filled[0]) | (z > PLAIN.filled[1])
    assert checked.percents.unfilled == pytest.approx(100 * float(area[empty].sum() / area.sum()), abs=1.5)
    assert checked.percents.per_mm[0].unfilled > 20
    assert checked.percents.per_mm[1].unfilled == 0


def test_the_two_scans_are_laid_on_each_other_to_less_than_half_a_voxel(checked: Checked) -> None:
    assert checked.laid is not None
    assert checked.laid.residual < 0.01
    assert checked.laid.angle_deg == pytest.approx(8, abs=1.5)
    assert checked.laid.shift == pytest.approx(np.linalg.norm([0.05, -0.04, 0.07]), abs=0.02)
    assert checked.beyond is None


def test_core_beyond_the_end_is_told_with_its_length_even_where_voxels_are_too_coarse_for_voids() -> None:
    root = Root(end=0.25, filled=(0.0, 2.2), beyond=0.45, outside=(0.8, 1.0))
    box = (1.1, 1.2, 2.0)
    found = check_filling(
        scan(root, False, half=box, voxel=0.05), scan(root, True, turn(5, (1, 0, 1)), half=box, voxel=0.05)
    )
    assert found.percents is None
    assert any("No void percentages" in text for text in found.warnings)
    assert found.beyond is not None
    assert found.beyond.length == pytest.approx(0.45, abs=0.08)
    assert found.beyond.volume == pytest.approx(np.pi * 0.25**2 * 0.45, rel=0.2)


def test_a_filling_at_the_top_of_the_greys_is_seen(coarse: tuple[Volume, Volume]) -> None:
    canal = np.pi * 0.2**2 * 2.4
    assert topped(Volume(np.minimum(coarse[1].values, 26000), coarse[1].scale), canal)
    assert not topped(coarse[1], canal)


@pytest.mark.parametrize(
    ("spoiled", "words"),
    [
        (lambda p, f: (f, p), "swapped"),
        (lambda _, f: (f, scan(PLAIN, True, seed=9)), "filled already"),
        (lambda p, _: (p, p), "the same scan"),
        (lambda p, f: (p, replace(f, scale=NO_SCALE)), "without a scale"),
        (lambda p, f: (replace(p, scale=NO_SCALE), f), "without a scale"),
        (lambda p, f: (Volume(np.minimum(p.values, 11000), p.scale), f), "saturated"),
        (lambda p, f: (Volume(np.full_like(p.values, 7), p.scale), f), "of one grey"),
        (lambda _, f: (scan(Root(end=0.0, taper=0.0), False), f), "without an empty canal"),
    ],
)
def test_a_pair_that_cannot_be_compared_is_refused_in_a_sentence(
    prepared: Volume, filled: Volume, spoiled, words: str
) -> None:
    with pytest.raises(InputRefused, match=words):
        check_filling(*spoiled(prepared, filled))


def test_a_second_scan_without_filling_is_told(coarse: tuple[Volume, Volume]) -> None:
    with pytest.raises(InputRefused, match="without a filling"):
        check_filling(coarse[0], scan(PLAIN, False, TURN, voxel=0.03, seed=5))


def test_another_root_is_refused(coarse: tuple[Volume, Volume]) -> None:
    with pytest.raises(InputRefused, match="voxels off"):
        check_filling(coarse[0], scan(WIDE, True, TURN, voxel=0.03))


def test_a_scan_upside_down_is_refused(coarse: tuple[Volume, Volume]) -> None:
    with pytest.raises(InputRefused, match="the same way up"):
        check_filling(coarse[0], Volume(coarse[1].values[::-1, ::-1], coarse[1].scale))


def test_voxel_sizes_that_contradict_each_other_are_seen(coarse: tuple[Volume, Volume]) -> None:
    larger = Volume(coarse[1].values, Scale((0.0375,) * 3, Trust.PATIENT))
    assert size_ratio(coarse[0], larger) == pytest.approx(1.25, abs=0.03)
    assert size_ratio(*coarse) is None


def test_a_seed_outside_the_canal_is_refused(coarse: tuple[Volume, Volume]) -> None:
    with pytest.raises(InputRefused, match="seed"):
        check_filling(*coarse, [(2, 2, 2)])

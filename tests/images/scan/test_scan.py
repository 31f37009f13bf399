"""A painted tooth of known canals comes out of its scan again, whatever way the scan is stored."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from prove.scans import compared, phantom, volume_of
from rootfill.errors import InputRefused
from rootfill.images import NO_SCALE, Scale, Trust, Volume
from rootfill.images.scan import Scanned, scan_volume
from tests.images.scan.teeth import APEX, FLOOR, HARD, SOFT, Canal, bent, index_of, joined, nearest, painted, straight

LENGTH = FLOOR - APEX


@pytest.fixture(scope="module")
def two() -> tuple[Volume, Scanned]:
    volume = painted((straight(y=-0.9), straight(y=0.9, d0=0.5)))
    return volume, scan_volume(volume)


def test_both_canals_of_a_root_are_found_with_their_ends(two: tuple[Volume, Scanned]) -> None:
    volume, scanned = two
    assert len(scanned.roots) == 1
    assert [canal.root for canal in scanned.canals] == [0, 0]
    for canal, y in zip(sorted(scanned.canals, key=lambda c: c.end[1]), (-0.9, 0.9), strict=True):
        middle = np.array([4.5, 4.5 + y])
        assert canal.length == pytest.approx(LENGTH, abs=0.1)
        assert canal.end == pytest.approx(index_of(np.array([*middle, APEX]), volume), abs=0.5)
        assert canal.orifice == pytest.approx(index_of(np.array([*middle, FLOOR]), volume), abs=0.5)
        assert canal.join is None
        assert not canal.blind


def test_diameters_are_within_half_a_voxel_where_they_span_three(two: tuple[Volume, Scanned]) -> None:
    _, scanned = two
    for canal in scanned.canals:
        table = canal.stations
        true = (0.5 if canal.end[1] > 22 else 0.4) + 0.04 * table.s
        wide = true >= 3 * 0.2
        assert np.sqrt(np.mean((table.narrow - true)[wide] ** 2)) < 0.1
        assert np.sqrt(np.mean((table.wide - true)[wide] ** 2)) < 0.1


def test_the_thinnest_wall_is_the_way_to_the_near_surface(two: tuple[Volume, Scanned]) -> None:
    _, scanned = two
    for canal in scanned.canals:
        table = canal.stations
        middle = (table.s > 2) & (table.s < 7)
        true = 2.6 - 0.9 - ((0.5 if canal.end[1] > 22 else 0.4) + 0.04 * table.s) / 2
        assert table.wall[middle] == pytest.approx(true[middle], abs=0.12)


def test_a_bent_canal_has_the_length_of_its_arc() -> None:
    canal = bent(35.0)
    scanned = scan_volume(painted((canal,), follow=canal))
    (found,) = scanned.canals
    assert nearest(canal, (found.line + 0.5) * 0.2).max() < 0.2
    assert found.length == pytest.approx(canal.length_mm, abs=0.15)


def test_two_canals_that_join_share_their_end() -> None:
    scanned = scan_volume(painted(joined()))
    (joins,) = [canal for canal in scanned.canals if canal.join is not None]
    (main,) = [canal for canal in scanned.canals if canal.join is None]
    assert joins.join is not None
    assert scanned.canals[joins.join.into] is main
    assert joins.end == pytest.approx(main.end)
    assert joins.length == pytest.approx(joined()[0].length_mm, abs=0.15)
    assert joins.join.at == pytest.approx(4.0, abs=0.6)


def test_two_roots_are_two_with_their_volumes() -> None:
    scanned = scan_volume(painted((straight(y=-2.0), straight(y=2.0)), roots=2))
    assert len(scanned.roots) == 2
    assert {canal.root for canal in scanned.canals} == {0, 1}
    for root in scanned.roots:
        assert root.volume == pytest.approx(np.pi * 1.5**2 * (FLOOR - 3.0 - APEX), rel=0.03)
        assert (root.apex[2] + 0.5) * 0.2 == pytest.approx(APEX, abs=0.15)


def test_an_oval_canal_keeps_both_its_widths() -> None:
    (canal,) = scan_volume(painted((straight(d0=0.5, oval=2.0),))).canals
    table = canal.stations
    middle = (table.s > 2) & (table.s < 8)
    true = 0.5 + 0.04 * table.s
    assert np.sqrt(np.mean((table.narrow - true)[middle] ** 2)) < 0.1
    assert np.sqrt(np.mean((table.wide - 2 * true)[middle] ** 2)) < 0.1


def test_a_canal_that_stops_inside_the_dentine_is_said_to() -> None:
    line = straight(d0=0.5)
    keep = line.line_mm[:, 2] > APEX + 1.5
    (canal,) = scan_volume(painted((Canal(line.line_mm[keep], line.across_mm[keep]),), noise=0.02)).canals
    assert canal.blind
    assert canal.length == pytest.approx(LENGTH - 1.5, abs=0.2)


MOVES: dict[str, Callable[[np.ndarray], np.ndarray]] = {
    "upside down": lambda v: v[::-1],
    "lying along x": lambda v: np.moveaxis(v, 0, 2),
    "lying along y, mirrored": lambda v: np.moveaxis(v, 0, 1)[:, ::-1, ::-1],
    "other byte order": lambda v: v.astype(v.dtype.newbyteorder()),
    "as floats": lambda v: v.astype(np.float32),
}


@pytest.mark.parametrize("move", MOVES)
def test_a_scan_stored_another_way_gives_the_same_tooth(two: tuple[Volume, Scanned], move: str) -> None:
    volume, scanned = two
    moved = scan_volume(Volume(MOVES[move](volume.values), volume.scale))
    assert sorted(c.length for c in moved.canals) == pytest.approx(sorted(c.length for c in scanned.canals), abs=0.02)
    assert moved.pulp_volume == pytest.approx(scanned.pulp_volume, rel=0.01)


def test_voxels_of_unequal_sides_give_the_same_tooth() -> None:
    (canal,) = scan_volume(painted((straight(),), voxel_mm=(0.15, 0.15, 0.3))).canals
    assert canal.length == pytest.approx(LENGTH, abs=0.15)
    assert canal.stations.narrow[10] == pytest.approx(0.4 + 0.04 * canal.stations.s[10], abs=0.08)


def test_without_a_scale_lengths_are_in_voxels(two: tuple[Volume, Scanned]) -> None:
    volume, scanned = two
    bare = scan_volume(Volume(volume.values, NO_SCALE))
    assert len(bare.canals) == 2
    in_mm = sorted(canal.length for canal in scanned.canals)
    assert sorted(canal.length * 0.2 for canal in bare.canals) == pytest.approx(in_mm, abs=0.1)


def test_a_seed_picks_its_tooth_of_two() -> None:
    one, other = painted((straight(),)), painted((straight(y=-0.8), straight(y=0.8)))
    both = Volume(np.concatenate((one.values, other.values), axis=2), one.scale)
    assert len(scan_volume(both, [(22, 22, 40)]).canals) == 1
    assert len(scan_volume(both, [(45 + 22, 22, 40)]).canals) == 2


def test_a_tooth_broader_than_long_is_cut_across_its_canals() -> None:
    tooth, scan = phantom(np.random.default_rng([101, 77, 5, 0]), canals=3, curved=True)
    far = np.ptp(np.argwhere(scan.values > scan.values.mean()), axis=0)
    assert far[0] < 1.1 * far.max()
    matched, extra = compared(tooth, scan, scan_volume(volume_of(scan)))
    assert (len(matched), extra) == (3, 0)
    assert max(abs(one.error) for one in matched) < 0.2


def test_a_way_from_canal_to_canal_through_the_chamber_is_none() -> None:
    tooth, scan = phantom(np.random.default_rng([302, 77, 9, 0]), canals=2, prepared=True)
    matched, extra = compared(tooth, scan, scan_volume(volume_of(scan)))
    assert (len(matched), extra) == (2, 0)


def test_a_canal_at_the_edge_of_the_chamber_ends_at_its_floor() -> None:
    tooth, scan = phantom(np.random.default_rng([102, 77, 9, 1]), canals=2, prepared=True)
    matched, extra = compared(tooth, scan, scan_volume(volume_of(scan)))
    assert (len(matched), extra) == (2, 0)
    assert max(abs(one.error) for one in matched) < 0.2


def test_a_chamber_without_a_canal_is_no_canal() -> None:
    with pytest.raises(InputRefused, match="no canal shows"):
        scan_volume(painted(()))


@pytest.mark.parametrize(
    ("values", "said"),
    [
        (np.zeros((20, 20, 20), dtype=np.int16), "of one grey"),
        (np.full((20, 20, 20), 900.0), "of one grey"),
    ],
)
def test_a_scan_of_nothing_is_refused_in_a_sentence(values: np.ndarray, said: str) -> None:
    with pytest.raises(InputRefused, match=said):
        scan_volume(Volume(values, NO_SCALE))


def test_noise_alone_holds_no_canal() -> None:
    noise = np.random.default_rng(5).normal(0, 100, (40, 40, 40)).astype(np.int16)
    with pytest.raises(InputRefused):
        scan_volume(Volume(noise, Scale((0.2, 0.2, 0.2), Trust.PATIENT)))


def test_a_seed_outside_the_scan_is_refused_with_the_range(two: tuple[Volume, Scanned]) -> None:
    with pytest.raises(InputRefused, match="from 0, 0, 0 to 44, 44, 74"):
        scan_volume(two[0], [(3, 4, 75)])


def test_a_threshold_set_by_hand_moves_the_edge(two: tuple[Volume, Scanned]) -> None:
    volume, scanned = two
    lower = scan_volume(volume, threshold=SOFT + 0.35 * (HARD - SOFT))
    assert lower.roots[0].volume > scanned.roots[0].volume


def test_it_can_be_stopped_and_tells_how_far_it_is(two: tuple[Volume, Scanned]) -> None:
    told: list[float] = []

    def stop_late(share: float) -> None:
        told.append(share)
        if share > 0.7:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        scan_volume(two[0], keep_going=stop_late)
    assert told == sorted(told)
    assert 0 <= told[0] < 0.05

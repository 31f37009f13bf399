"""scan.json: mm where the scale is known, voxels always, points as voxel indices from the orifice down."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest

from rootfill.clinic.scan_result import scan_data, scan_json
from rootfill.images import NO_SCALE, Volume
from rootfill.images.scan import scan_volume
from tests.images.scan.teeth import FLOOR, painted, straight


@pytest.fixture(scope="module")
def known() -> dict[str, Any]:
    volume = painted((straight(),))
    return scan_data(scan_volume(volume), volume)


@pytest.fixture(scope="module")
def unknown() -> dict[str, Any]:
    volume = Volume(painted((straight(),)).values, NO_SCALE)
    return scan_data(scan_volume(volume), volume)


def test_lengths_and_points_agree_with_each_other(known: dict[str, Any]) -> None:
    (canal,) = known["canals"]
    line = np.array(canal["centreline"])
    assert known["voxel_mm"] == [0.2, 0.2, 0.2]
    assert canal["centreline"][0] == canal["orifice"]
    assert canal["centreline"][-1] == canal["end"]
    assert canal["length_voxels"] * 0.2 == pytest.approx(canal["length_mm"], abs=0.01)
    assert np.abs(np.diff(line, axis=0)).max() <= 1.0
    assert np.array(canal["centreline_mm"]) == pytest.approx(line * 0.2, abs=1e-3)
    assert canal["orifice_mm"][2] == pytest.approx(FLOOR - 0.1, abs=0.1)


def test_the_profile_runs_from_the_end_to_the_orifice(known: dict[str, Any]) -> None:
    (canal,) = known["canals"]
    s = [row[0] for row in canal["profile"]]
    assert s[0] == 0
    assert s == sorted(s)
    assert s[-1] == pytest.approx(canal["length_mm"], abs=1e-3)
    assert all(narrow <= wide for _, narrow, wide, _ in canal["profile"])
    assert len(canal["wall_by_direction_mm"]) == len(s)


def test_roots_and_pulp_are_given_in_both_units(known: dict[str, Any]) -> None:
    (root,) = known["roots"]
    assert root["volume_voxels"] * 0.008 == pytest.approx(root["volume_mm3"], rel=1e-3)
    assert known["pulp_volume_voxels"] * 0.008 == pytest.approx(known["pulp_volume_mm3"], rel=1e-3)


def test_without_a_scale_every_mm_is_null_and_its_voxels_stand(unknown: dict[str, Any]) -> None:
    def walk(data: Any) -> None:
        if isinstance(data, dict):
            for key, value in data.items():
                if key.endswith(("_mm", "_mm3")) or key == "profile":
                    assert value is None, key
                walk(value)
        elif isinstance(data, list):
            for value in data:
                walk(value)

    walk(unknown)
    (canal,) = unknown["canals"]
    assert canal["length_voxels"] == pytest.approx(9.5 / 0.2, abs=1)
    assert unknown["roots"][0]["volume_voxels"] > 0
    assert unknown["pulp_volume_voxels"] > 0
    assert canal["profile_voxels"][0][0] == 0


def test_it_is_json_without_nan() -> None:
    volume = painted((straight(),))
    assert json.loads(scan_json(scan_volume(volume), volume))["warnings"]

"""A filling checked, as JSON and as lines: fixed keys, null where voxels cannot carry a figure, the urgent first."""

from __future__ import annotations

import json

import numpy as np

from rootfill.clinic.check_filling import FillingResult, filling_json, filling_lines
from rootfill.clinic.urgent import urgent_path
from rootfill.images import NO_SCALE, Scale, Trust, Volume
from rootfill.images.filling import Beyond, Checked, Figure, Laid, Percents, Stretch

FIGURE = Figure(2.5, 2.1, 2.9)
NONE = Figure(0.0, 0.0, 0.0)
PERCENTS = Percents(FIGURE, (NONE, FIGURE, NONE), FIGURE, NONE, 4.0, (Stretch(0.0, 1.0, 2.5, 4.0),))
MICRO = Volume(np.zeros((4, 4, 4)), Scale((0.02, 0.02, 0.02), Trust.PATIENT))


def result(percents: Percents | None, beyond: Beyond | None, volume: Volume = MICRO) -> FillingResult:
    """A filling of tooth 37."""
    found = Checked(percents, Laid(0.3, 8.0, 0.007), beyond, 1000.0, 25.0, 4.8, 6.4e-5, ("A doubt.",))
    return FillingResult(found, volume, urgent_path(37, beyond.length if beyond else 0.0))


def test_the_json_holds_the_keys_that_are_fixed_and_an_interval_for_each_figure() -> None:
    data = json.loads(filling_json(result(PERCENTS, None)))
    assert data["void_percent"] == {"all": 2.5, "apical": 0.0, "middle": 2.5, "coronal": 0.0}
    assert (data["inside_percent"], data["wall_percent"], data["unfilled_percent"]) == (2.5, 0.0, 4.0)
    assert data["interval"]["void_percent"]["all"] == [2.1, 2.9]
    assert set(data["interval"]["void_percent"]) == set(data["void_percent"])
    assert data["per_mm"] == [{"from_mm": 0.0, "to_mm": 1.0, "void_percent": 2.5, "unfilled_percent": 4.0}]
    assert data["voxel_mm"] == [0.02, 0.02, 0.02]
    assert data["smallest_void_mm3"] == 6.4e-5
    assert data["registration"]["shift_mm"] == 0.3
    assert data["registration"]["residual_mm"] == 0.007
    assert data["warnings"] == ["A doubt."]


def test_percentages_that_cannot_be_given_are_null_and_counts_in_voxels_stay() -> None:
    data = json.loads(filling_json(result(None, None)))
    for key in ("void_percent", "inside_percent", "wall_percent", "unfilled_percent", "interval", "per_mm"):
        assert data[key] is None
    assert (data["canal_voxels"], data["void_voxels"]) == (1000.0, 25.0)


def test_without_a_scale_nothing_is_in_millimetres() -> None:
    bare = Volume(np.zeros((4, 4, 4)), NO_SCALE)
    data = json.loads(filling_json(result(None, Beyond(12.0, 300.0), bare)))
    assert data["beyond"] is None
    assert data["beyond_voxels"] == 300.0
    assert data["voxel_mm"] is data["smallest_void_mm3"] is data["canal_length_mm"] is None
    assert data["registration"]["shift_mm"] is data["registration"]["residual_mm"] is None
    assert not any(" mm" in line for line in filling_lines(result(None, None, bare)))


def test_what_is_urgent_stands_first() -> None:
    lines = filling_lines(result(PERCENTS, Beyond(0.8, 0.05)))
    assert lines[0].startswith("! URGENT: 0.8 mm of core lies beyond the end of tooth 37")
    assert any(line.startswith("beyond the end: 0.80 mm") for line in lines)
    assert lines[-1] == "! A doubt."


def test_lines_give_each_figure_with_its_interval() -> None:
    lines = filling_lines(result(PERCENTS, None))
    assert "voids       2.50 % (2.10 to 2.90) of the prepared canal, 4.8 mm long" in lines
    assert any(line.startswith("not filled 4.0 %") for line in lines)

"""Canals are found in kept grey values as in the scan that they were kept from."""

from __future__ import annotations

from pathlib import Path

import pytest

from rootfill.clinic.found_canals import length_of, narrowest
from rootfill.clinic.ports import Unsearched
from rootfill.clinic.read_picture import keep_grey
from rootfill.clinic.search_grey import search_grey
from tests.images.scan.teeth import APEX, FLOOR, painted, straight


def test_a_painted_canal_is_found_in_kept_greys(tmp_path: Path) -> None:
    file = tmp_path / "grey.npy"
    read = keep_grey(painted((straight(),)), file)
    found = search_grey(Unsearched(file, read.shape, read.scale))
    (canal,) = found["canals"]
    assert length_of(canal) == pytest.approx(FLOOR - APEX, abs=0.15)
    assert canal["error"] < 0.5
    assert narrowest(canal) is not None
    assert found["edge_set"] is False
    assert read.least < found["edge"] < read.most

"""Band, tick and dot: red only when what was seen lies outside."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from rootfill.drawing.expected_seen import expected_seen, spoken
from rootfill.drawing.tokens import PAPER
from rootfill.units import Estimate
from tests.drawing.pictures import SVG
from tests.drawing.sample import mm

EXPECTED = mm(19.0, 0.5)


def test_what_was_seen_inside_is_a_plain_dot() -> None:
    svg = expected_seen(EXPECTED, 19.5)
    assert svg.count("<circle") == 1
    assert PAPER.warning not in svg


def test_what_was_seen_outside_is_red_and_has_a_ring_that_shows_in_grey() -> None:
    svg = expected_seen(EXPECTED, 19.6)
    assert svg.count("<circle") == 2
    assert PAPER.warning in svg


def test_nothing_seen_yet_is_no_dot() -> None:
    assert "<circle" not in expected_seen(EXPECTED, None)


def test_band_tick_and_dot_stand_on_one_scale() -> None:
    root = ET.fromstring(expected_seen(EXPECTED, 18.0))
    band = next(root.iter(f"{SVG}rect"))
    left, wide = float(band.attrib["x"]), float(band.attrib["width"])
    dot = float(next(root.iter(f"{SVG}circle")).attrib["cx"])
    assert left - dot == pytest.approx(wide / 2, abs=0.05)


def test_an_interval_without_width_can_be_drawn() -> None:
    certain = Estimate(14.5, 14.5, 14.5, "mm", "set", "case")
    ET.fromstring(expected_seen(certain, 14.5))


def test_the_graphic_is_also_said_in_words() -> None:
    assert spoken(EXPECTED, 19.7) == "Expected 19.0 mm (18.5 to 19.5); seen 19.7 mm, outside."
    assert spoken(EXPECTED, None).endswith("not seen yet.")

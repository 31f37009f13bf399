"""The cuts show both widths, so that an oval canal looks oval."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from rootfill.drawing.cross_sections import cross_sections, levels
from rootfill.drawing.tokens import PAPER
from tests.drawing import sample
from tests.drawing.pictures import SVG, boxes_of, words_of


def lumens(svg: str) -> list[ET.Element]:
    return [e for e in ET.fromstring(svg).iter(f"{SVG}ellipse") if e.get("fill") == PAPER.void]


def test_an_oval_canal_is_drawn_wider_than_narrow_by_its_own_ratio() -> None:
    canal = sample.molar().canals[2]
    cut = lumens(cross_sections(canal))[0]
    at = levels(canal)[0]
    ratio = 1 + 0.7 * at / 13
    assert float(cut.attrib["rx"]) / float(cut.attrib["ry"]) == pytest.approx(ratio, rel=0.01)


def test_each_cut_names_its_depth_and_both_widths() -> None:
    said = words_of(cross_sections(sample.molar().canals[0]))
    assert "at 17.5 mm" in said
    assert "0.37 × 0.38 mm" in said or "0.37 × 0.39 mm" in said


def test_the_cuts_of_a_joined_canal_lie_above_the_join() -> None:
    canal = sample.molar().canals[1]
    assert min(levels(canal)) > canal.section.own_from_mm
    assert any("above join" in text for text in words_of(cross_sections(canal)))


def test_a_cone_is_drawn_only_where_one_stands() -> None:
    canal = sample.molar().canals[0]
    assert cross_sections(canal).count("<circle") == 3
    assert "<circle" not in cross_sections(replace(canal, cone=None))
    assert "<circle" not in cross_sections(sample.molar_with_exit().canals[2])


def test_a_wall_that_was_not_measured_is_dashed() -> None:
    canals = sample.molar().canals
    assert "stroke-dasharray" in cross_sections(canals[2])
    assert "stroke-dasharray" not in cross_sections(canals[0])


@pytest.mark.parametrize("index", range(4))
def test_the_words_of_neighbouring_cuts_do_not_touch(index: int) -> None:
    boxes = boxes_of(cross_sections(sample.molar().canals[index]))
    assert not any(a.overlaps(b) for i, a in enumerate(boxes) for b in boxes[i + 1 :])

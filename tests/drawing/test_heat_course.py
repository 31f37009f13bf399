"""Every moment of the heat in one picture, of which one is seen; and a few beside one another."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from rootfill.drawing.heat_course import heat_course, heat_moments, moments_of, said, warmest
from rootfill.drawing.heat_panel import Panel
from rootfill.drawing.tokens import PAPER
from rootfill.plan.model import CanalHeat, CanalPlan
from tests.drawing import sample
from tests.drawing.pictures import SVG, words_of


@pytest.fixture
def canal() -> CanalPlan:
    return sample.warmed(sample.molar()).canals[0]


def heat_of(canal: CanalPlan) -> CanalHeat:
    assert canal.heat is not None
    return canal.heat


def groups(svg: str) -> list[ET.Element]:
    return [g for g in ET.fromstring(svg).iter(f"{SVG}g") if g.get("data-moment") is not None]


def test_one_moment_of_all_is_seen_first_the_one_with_the_warmest_surface(canal):
    moments = groups(heat_course(canal))
    assert len(moments) == 5
    assert [g.get("visibility") for g in moments] == ["hidden", "hidden", "hidden", "visible", "hidden"]
    assert moments[3].get("data-says") == "4.0 s, plugger in: surface 6.0 °C warmer"


def test_the_pictures_side_by_side_are_the_ends_of_heat_and_the_warmest_surface(canal):
    course = heat_of(canal).course
    assert warmest(course) == 3
    assert moments_of(course) == [2, 3]
    assert {"1.5 s, heated tip in", "4.0 s, plugger in"} <= set(words_of(heat_moments(canal)))


def test_before_the_first_heat_nothing_is_in_the_canal(canal):
    assert said(heat_of(canal).course, 0) == "0.0 s, before the first heat: surface 0.0 °C warmer"


def test_the_axis_is_drawn_below_the_instrument_only(canal):
    panel = Panel(canal, heat_of(canal), 0.0, 0.0, 600.0, 400.0, 13.0, PAPER)
    drawn = next(part for part in panel.moment(2) if PAPER.heat in part)
    heights = [float(y) for y in re.findall(r"[ML][\d.]+ ([\d.]+)", drawn)]
    assert min(heights) >= panel.depth(heat_of(canal).course.down_to_s_mm[2]) - 0.01


def test_a_surface_at_the_limit_lies_on_the_line_of_the_limit(canal):
    panel = Panel(canal, heat_of(canal), 0.0, 0.0, 600.0, 400.0, 13.0, PAPER)
    line = next(part for part in panel.ground(lettered=False) if PAPER.warning in part)
    assert float(ET.fromstring(line).attrib["x1"]) == pytest.approx(panel.rise_x(10.0), abs=0.01)


def test_a_rise_beyond_the_limit_stays_inside_the_picture(canal):
    heat = heat_of(canal)
    hot = replace(heat, surface_rise_c=replace(heat.surface_rise_c, high=30.0))
    panel = Panel(canal, hot, 0.0, 0.0, 600.0, 400.0, 13.0, PAPER)
    assert panel.rise_x(10.0) < panel.rise_x(30.0) < 600.0


def test_a_canal_without_heat_has_no_picture_of_it():
    for draw in (heat_course, heat_moments):
        with pytest.raises(ValueError, match="not computed"):
            draw(sample.molar().canals[0])

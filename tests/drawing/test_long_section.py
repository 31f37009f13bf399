"""The long section shows what was planned, in words that can be read."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Callable
from dataclasses import replace

import pytest

from rootfill.drawing.frame import Frame, card_frame, shallowest_mm, stretch
from rootfill.drawing.long_section import long_section
from rootfill.drawing.profile import extent_mm
from rootfill.drawing.shape import placed
from rootfill.drawing.stops import working_stop_mm
from rootfill.drawing.tokens import DARK, PAPER
from rootfill.plan.model import CanalPlan, Plan
from tests.drawing import sample
from tests.drawing.pictures import SVG, boxes_of, size_of, words_of
from tests.drawing.sample import PLANS

FRAMES = [None, card_frame, "cut", Frame(column=300.0, label=140.0, px_per_mm=26.0)]


def frame_for(frame: object, canals: tuple[CanalPlan, ...]) -> Frame:
    if frame is card_frame:
        return card_frame(len(canals), 539.0, 66.0, 7.0)
    if frame == "cut":
        return card_frame(len(canals), 539.0, 66.0, 6.2, shallowest_mm(canals))
    return frame if isinstance(frame, Frame) else Frame()


@pytest.mark.parametrize("plan", PLANS)
@pytest.mark.parametrize("frame", FRAMES, ids=["page", "card", "cut", "large"])
def test_no_two_words_stand_over_each_other(plan: Callable[[], Plan], frame: object) -> None:
    canals = plan().canals
    boxes = boxes_of(long_section(canals, frame=frame_for(frame, canals)))
    clashes = [(a.text, b.text) for i, a in enumerate(boxes) for b in boxes[i + 1 :] if a.overlaps(b)]
    assert clashes == []


@pytest.mark.parametrize("plan", PLANS)
@pytest.mark.parametrize("frame", FRAMES, ids=["page", "card", "cut", "large"])
def test_every_word_stays_on_the_sheet(plan: Callable[[], Plan], frame: object) -> None:
    canals = plan().canals
    svg = long_section(canals, frame=frame_for(frame, canals))
    wide, tall = size_of(svg)
    assert [b.text for b in boxes_of(svg) if b.left < -0.5 or b.right > wide + 0.5 or b.bottom > tall] == []


def test_every_stop_heat_level_join_and_end_stands_in_the_drawing() -> None:
    canals = sample.molar().canals
    said = words_of(long_section(canals))
    for canal in canals:
        stops = [working_stop_mm(canal, p) for p in canal.pluggers if p.role]
        deepest = max(s.heat_set_stop_mm or 0.0 for s in canal.downpack)
        for depth in (*stops, deepest, canal.fill_level_mm, canal.working_length_mm):
            assert f"{depth:.1f}" in said
    assert "joins MB" in said
    assert "plugger 70" in said


def test_a_plugger_that_was_not_chosen_is_not_drawn() -> None:
    assert "plugger 120" not in " ".join(words_of(long_section(sample.molar().canals)))


def test_a_canal_with_an_exit_is_empty_and_says_so() -> None:
    svg = long_section(sample.molar_with_exit().canals, prefix="a")
    group = next(g for g in ET.fromstring(svg).iter() if g.get("id") == "a-canal-2")
    words = [e.text or "" for e in group.iter() if e.tag.endswith("text")]
    assert " ".join(words).startswith("not for this method")
    fills = {e.get("fill") for e in group.iter()}
    assert fills.isdisjoint({PAPER.cone, PAPER.compound, "url(#a-backfill)"})


def test_an_increment_the_needle_does_not_reach_looks_different_and_is_named_in_the_key() -> None:
    svg = long_section(sample.premolar().canals, prefix="a")
    assert "url(#a-above)" in svg
    assert "not reached: filled from above" in words_of(svg)
    assert "not reached: filled from above" not in words_of(long_section(sample.molar().canals))


def test_a_hostile_name_stays_a_word() -> None:
    svg = long_section(sample.absurd().canals)
    tags = {element.tag.rsplit("}")[-1] for element in ET.fromstring(svg).iter()}
    assert "script" not in tags
    assert "&lt;script&gt;" in svg


def test_control_characters_in_a_name_do_not_break_the_drawing() -> None:
    canal = replace(sample.incisor().canals[0], name="a\x00\x0b\ud800b")
    assert "ab" in words_of(long_section([canal]))


def test_all_ids_of_a_drawing_carry_its_prefix() -> None:
    svg = long_section(sample.molar().canals, prefix="left")
    ids = re.findall(r'\bid="([^"]+)"', svg)
    assert ids
    assert all(id.startswith("left-") for id in ids)
    assert set(re.findall(r"url\(#([^)]+)\)", svg)) <= set(ids)


def test_a_reader_who_does_not_see_it_is_told_each_canal() -> None:
    root = ET.fromstring(long_section(sample.molar().canals))
    told = root.findtext("{http://www.w3.org/2000/svg}desc") or ""
    assert "MB, from MB cusp tip, flattened: end set at 19.5 mm." in told
    assert "Joins MB at 16.0 mm." in told
    assert root.get("role") == "img"


def test_depths_are_drawn_to_scale_and_a_bend_is_seen() -> None:
    canals, frame = sample.molar().canals, Frame()
    shape = placed(canals[0], frame, stretch(canals, frame), 0)
    assert shape.y(10.0) - shape.y(0.0) == pytest.approx(10.0 * frame.px_per_mm)
    assert shape.middle(0.0) != pytest.approx(shape.middle(shape.longest), abs=frame.px_per_mm)


def test_the_stretch_that_is_stated_is_the_one_that_is_drawn() -> None:
    canals, frame = sample.incisor().canals, Frame()
    by = stretch(canals, frame)
    shape = placed(canals[0], frame, by, 0)
    assert f"canal widths ×{by.lumen:g}" in " ".join(words_of(long_section(canals, frame=frame)))
    assert 2 * shape.half(0.0) == pytest.approx(0.45 * by.lumen * frame.px_per_mm)


@pytest.mark.parametrize("columns", [4, 6])
def test_no_root_leaves_its_room_however_narrow_the_column(columns: int) -> None:
    canals = (sample.molar().canals * 2)[:columns]
    frame = card_frame(columns, 539.0, 66.0, 9.0)
    by = stretch(canals, frame)
    for canal in canals:
        left, right = extent_mm(canal.section, by.lumen, by.walls, by.bend)
        assert (right - left) * frame.px_per_mm <= frame.area + 1e-9


def test_the_dark_set_is_another_picture_with_the_same_words() -> None:
    canals = sample.molar().canals
    light, dark = long_section(canals), long_section(canals, tokens=DARK)
    assert words_of(light) == words_of(dark)
    assert PAPER.accent not in dark


def test_a_drawing_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one canal"):
        long_section([])


def test_an_injected_canal_has_back_fill_but_neither_cone_nor_packed_part() -> None:
    canal = replace(sample.premolar().canals[1], cone=None, technique="injected_only", downpack=())
    svg = long_section([canal], prefix="a")
    assert "url(#a-above)" in svg
    assert PAPER.compound not in svg
    assert PAPER.cone not in {e.get("fill") for e in ET.fromstring(svg).iter(f"{SVG}path")}
    assert {"cold cone", "packed"}.isdisjoint(words_of(svg))


def test_the_number_of_the_end_stands_below_the_doubt_of_the_cone() -> None:
    canal = sample.incisor().canals[0]
    assert canal.cone is not None
    deep = replace(canal, cone=replace(canal.cone, cone_to_mm=sample.mm(22.5, 1.8)))
    frame = Frame()
    shape = placed(deep, frame, stretch([deep], frame), 0)
    number = next(b for b in boxes_of(long_section([deep], frame=frame)) if b.text == "22.0")
    assert number.top >= shape.y(24.3)


def test_a_canal_that_divides_is_crossed_by_a_dotted_line_that_says_so() -> None:
    canal = replace(sample.incisor().canals[0], splits_at_mm=17.5)
    svg = long_section([canal])
    assert "divides at 17.5" in words_of(svg)
    frame = Frame()
    y = placed(canal, frame, stretch([canal], frame), 0).y(17.5)
    dotted = [e for e in ET.fromstring(svg).iter(f"{SVG}line") if e.get("stroke-dasharray") == "1.5 2"]
    assert [float(e.attrib["y1"]) for e in dotted] == pytest.approx([y], abs=0.01)
    assert "Divides at 17.5 mm." in svg


def test_a_stop_is_drawn_no_deeper_than_the_packed_top() -> None:
    canal = replace(sample.incisor().canals[0], packed_top_mm=sample.mm(16.2, 0.0))
    said = words_of(long_section([canal]))
    assert "16.0" in said
    assert "17.0" in said  # heat, which is not a plugger
    assert "stop at 16.0 mm" in long_section([canal])


def test_an_exit_leaves_the_join_without_a_label() -> None:
    plan = sample.molar()
    out = replace(sample.molar_with_exit().canals[2], name="ML", ends_in="MB", section=plan.canals[1].section)
    assert "joins MB" not in words_of(long_section([out]))


def test_a_canal_whose_shape_is_not_valid_is_drawn_as_a_root_without_a_lumen() -> None:
    out = sample.molar_with_exit().canals[2]
    assert out.exit is not None
    c_shaped = replace(out, exit=replace(out.exit, kind="c_shape"))
    inked = [svg.count(f'stroke="{PAPER.ink}"') for svg in (long_section([out]), long_section([c_shaped]))]
    assert inked[1] < inked[0]
    fills = {e.get("fill") for e in ET.fromstring(long_section([c_shaped])).iter(f"{SVG}path")}
    assert PAPER.void not in fills
    assert PAPER.dentine in fills


def test_a_drawing_that_is_cut_begins_above_all_that_matters_and_says_so() -> None:
    canals = sample.molar().canals
    from_mm = shallowest_mm(canals)
    assert from_mm == 5.0
    cut, whole = (card_frame(4, 539.0, 66.0, 7.0, at) for at in (from_mm, 0.0))
    svg = long_section(canals, frame=cut)
    assert "Crown above 5 mm not drawn" in " ".join(words_of(svg))
    assert "section-cut" in svg
    assert size_of(svg)[1] == pytest.approx(size_of(long_section(canals, frame=whole))[1] - 5 * 7.0, abs=13)
    stops = {f"{working_stop_mm(c, p):.1f}" for c in canals for p in c.pluggers if p.role}
    assert stops <= set(words_of(svg))

"""Where a number could hurt, the cautious end decides. Each test here once failed."""

from __future__ import annotations

import pytest

from rootfill.errors import InputRefused
from rootfill.plan import CanalPlan, Plan
from rootfill.plan.backfill import split
from tests.plan.cases import canal, case_text, plan_text

SOFT = "curvature = []"


def one(more: str = "", end: str = "", size: str = "30", taper: str = ".06", tooth: int = 21) -> CanalPlan:
    return plan_text(
        case_text(tooth, [canal("A", 20.0, "orifice_at_mm = 8", size, taper, f"{SOFT}\n{more}")], end)
    ).canals[0]


def two(first: str = "", second: str = "", end: str = "") -> Plan:
    canals = [
        canal("A", 20.0, "orifice_at_mm = 8", "30", ".06", f"{SOFT}\n{first}"),
        canal("B", 20.0, "orifice_at_mm = 8", "30", ".06", f"{SOFT}\n{second}"),
    ]
    return plan_text(case_text(46, canals, end))


def stops(plan: CanalPlan) -> dict[str, float]:
    return {i.name: i.set_stop_mm for i in (*plan.pluggers, *plan.heated_tips, *plan.needles)}


def seen(instrument: str, depth: float, visit: str = "") -> str:
    return f'\n[[findings]]\nkind = "binds"\ncanal = "A"\ninstrument = "{instrument}"\nvalue_mm = {depth}\n{visit}\n'


@pytest.mark.parametrize(
    ("said", "kind"),
    [
        ("open apex without lesion", "resorbed_end"),
        ("resorbed but no sinus tract", "resorbed_end"),
        ("not yet closed", "resorbed_end"),
        ("immature", "resorbed_end"),
        ("closed, no resorption", None),
        ("normal, canal opened at visit 1", None),
        ("weird", None),
    ],
)
def test_an_apex_is_read_past_a_denial_that_belongs_to_something_else(said, kind):
    plan = plan_text(case_text(21, [canal("A", 20.0, "orifice_at_mm = 8", "30", ".06", SOFT)]).replace(
        'notation = "iso3950"', f'notation = "iso3950"\nbaseline = {{ apex = "{said}" }}'))  # fmt: skip
    exit_ = plan.canals[0].exit
    assert (exit_.kind if exit_ else None) == kind
    asked = any("Apex noted as" in q.question for q in plan.ready)
    assert asked == (said == "weird")


def test_no_stop_lies_past_a_join():
    plan = two(second="joins = { canal = 'A', at_mm = 8 }").canals[1]
    assert max(stops(plan).values()) <= 11.5


def test_no_stop_lies_past_a_split_a_plug_or_a_fragment():
    assert max(stops(one("splits = { at_mm = 5 }")).values()) <= 14.5
    assert max(stops(one("technique = 'injected_only'\npack_to_mm = 16")).values()) <= 15.5
    assert max(stops(one("features = [{ kind = 'fragment', from_mm = 2, to_mm = 6 }]")).values()) <= 13.5


def test_no_stop_lies_past_a_made_end_short_of_the_working_length():
    text = case_text(21, [canal("A", 20.0, "orifice_at_mm = 8", "30", ".06", SOFT)])
    files = text.replace('made = { size = 30, taper = ".06" }', "files = [{ size = 80, taper = 0.02, to_mm = 18 }]")
    plan = plan_text(files.replace("size = 80", "size = 55")).canals[0]
    assert max(stops(plan).values()) <= 17.5
    assert max(s.heat_set_stop_mm or 0 for s in plan.downpack) <= 13.0


def test_a_wider_plugger_is_not_planned_deeper_than_a_thinner_one_was_seen_to_bind():
    plan = one(end=seen("60", 13.0))
    assert stops(plan)["60"] == 12.0
    assert all(stop <= 12.0 for name, stop in stops(plan).items() if name in ("70", "80", "90"))


def test_a_binding_depth_is_found_by_the_name_the_card_prints():
    assert stops(one(end=seen("Plugger  60", 13.0)))["60"] == 12.0


def test_a_binding_depth_that_would_wedge_is_not_used_and_said():
    plan = one(end=seen("60", 18.0))
    assert stops(plan)["60"] == stops(one())["60"]
    assert any("gauge again" in c for c in plan.cautions)


def test_a_binding_depth_outside_the_canal_or_of_nothing_on_the_tray_is_said():
    assert any("outside the canal" in c for c in one(end=seen("60", 23.0)).cautions)
    assert any("not on the tray" in c for c in one(end=seen("55", 14.0)).cautions)


def test_a_binding_depth_from_before_the_reference_moved_is_not_used():
    visits = "\n[[visits]]\nid = 1\n[[visits]]\nid = 2\n"
    moved = '\n[[findings]]\nkind = "reference_moved"\nvisit = 2\nby_mm = 1.0\n'
    plan = one("visit = 2", visits + seen("60", 15.0, "visit = 1") + moved)
    assert stops(plan)["60"] == stops(one())["60"]
    assert any("before the reference moved" in c for c in plan.cautions)


def test_canals_that_share_an_end_share_its_exit_and_a_perforation_below_the_join():
    join = "joins = { canal = 'A', at_mm = 3 }"
    assert [c.exit is not None for c in two(second=f"{join}\ndrying = 'damp'").canals] == [True, True]
    below = two(first="features = [{ kind = 'perforation', from_mm = 1, to_mm = 1 }]", second=join)
    assert [c.exit.kind for c in below.canals if c.exit] == ["perforation", "perforation"]
    above = two(first="features = [{ kind = 'perforation', from_mm = 7, to_mm = 8 }]", second=join)
    assert [c.exit is not None for c in above.canals] == [True, False]


def test_a_thin_plug_does_not_answer_an_open_end():
    thin = one("technique = 'injected_only'\npack_to_mm = 19", size="80", taper=".02")
    thick = one("technique = 'injected_only'\npack_to_mm = 16", size="80", taper=".02")
    assert thin.exit is not None
    assert thin.exit.kind == "open_end"
    assert thick.exit is None


def test_a_sealer_whose_maker_forbids_heat_comes_first():
    tray = "[tray]\ncones = [{ name = 'c', size = 25, taper = 0.04 }]\n"
    tray += (
        "heated_tips = [{ name = 'h', tip_mm = 0.4, taper = 0.04 }]\nsealers = [{ name = 's', heat_allowed = false }]\n"
    )
    plan = plan_text(case_text(21, [canal("A", 20.0, "orifice_at_mm = 8", "30", ".06", SOFT)], tray))
    assert "does NOT allow heat" in plan.cautions[0]
    assert [q.answer for q in plan.ready if "allows heat" in q.question] == ["no"]


def test_a_cone_far_short_of_the_end_is_said():
    plan = one(end="[tray]\ncones = [{ name = 'thick', size = 60, taper = 0.02 }]\n")
    assert any("a thinner or longer cone is needed" in c for c in plan.cautions)


def test_without_a_heated_tip_the_whole_cone_stays_cold():
    plan = one(end="[tray]\ncones = [{ name = 'c', size = 25, taper = 0.04 }]\n")
    assert plan.cone is not None
    assert plan.cold_apical_part_mm is not None
    assert plan.cold_apical_part_mm.value == pytest.approx(plan.cone.cone_to_mm.value - 8)
    assert plan.downpack == ()


def test_heat_never_goes_deeper_than_the_packed_top_that_a_plugger_reaches():
    for size, taper in (("30", ".04"), ("25", ".06"), ("35", ".04")):
        plan = one(size=size, taper=taper)
        assert plan.packed_top_mm is not None
        assert all((s.heat_set_stop_mm or 0) <= plan.packed_top_mm.value for s in plan.downpack)


def test_a_packed_top_the_clinician_sets_is_pushed_by_a_plugger_that_reaches_it():
    plan = one("pack_to_mm = 15.0")
    last = plan.downpack[-1]
    assert last.plugger_set_stop_mm == 15.0
    assert next(p for p in plan.pluggers if p.name == last.plugger).role == "apical"


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ("pluggers = [{name = 'p', tip_mm = 1, taper = 0 }, { name = 'P', tip_mm = 1, taper = 0}]", "name of its own"),
        ("pluggers = [{ name = 'p', tip_mm = 0.5, taper = 0, shaft_mm = 1.9 }]", "a shaft needs"),
        ("pluggers = [{ name = \"p\\u001b[0m\", tip_mm = 0.5, taper = 0 }]", "printable"),
    ],
)  # fmt: skip
def test_a_tray_that_could_be_misread_is_refused(more, words):
    with pytest.raises(InputRefused, match=words):
        one(end=f"[tray]\ncones = [{{ name = 'c', size = 25, taper = 0.04 }}]\n{more}\n")


def test_an_unknown_visit_and_an_unknown_sealer_are_refused():
    with pytest.raises(InputRefused, match="name a visit"):
        one("visit = 7", "\n[[visits]]\nid = 1\n")
    with pytest.raises(InputRefused, match="name a sealer"):
        one(end="\n[materials]\nsealer = 'epoxy sealr'\n")


def test_heat_and_packed_top_never_lie_past_the_tip_of_a_cone_that_seats_short():
    plan = one(end="[tray]\ncones = [{ name = 'thick', size = 55, taper = 0.06 }]\n" + HEATED, size="30", taper=".04")
    assert plan.cone is not None
    assert plan.packed_top_mm is not None
    assert plan.packed_top_mm.value <= plan.cone.cone_to_mm.value
    assert all((s.heat_set_stop_mm or 0) <= plan.cone.cone_to_mm.value for s in plan.downpack)


HEATED = """
heated_tips = [{ name = 'h', tip_mm = 0.4, taper = 0.02 }]
pluggers = [{ name = 'p', tip_mm = 0.45, taper = 0 }]
"""


def test_a_cone_that_reaches_the_end_comes_before_one_held_right_far_from_it():
    plan = plan_text(case_text(11, [canal("A", 22.0, "canal_length_mm = 12", "35", ".02", SOFT)])).canals[0]
    assert plan.cone is not None
    assert plan.cone.short_of_end_mm.value < 1.5


def test_heat_is_never_deeper_than_the_plugger_that_follows_it():
    plan = one("pack_to_mm = 18.0", size="25")
    assert max(s.heat_set_stop_mm or 0 for s in plan.downpack) <= max(p.set_stop_mm for p in plan.pluggers if p.role)


def test_a_fragment_in_the_shared_stretch_stops_the_other_canal_too():
    plan = two(
        second="joins = { canal = 'A', at_mm = 6 }\nfeatures = [{ kind = 'fragment', from_mm = 3, to_mm = 5.5 }]"
    )
    assert max(stops(plan.canals[0]).values()) <= 14.0
    assert any("a fragment" in c for c in plan.canals[0].cautions)


def test_the_packed_top_stays_above_a_fragment_even_without_a_plugger():
    tray = "[tray]\ncones = [{ name = 'c', size = 25, taper = 0.04 }]\n"
    tray += "heated_tips = [{ name = 'h', tip_mm = 0.4, taper = 0.02 }]\n"
    plan = one("features = [{ kind = 'fragment', from_mm = 2, to_mm = 6 }]", tray)
    assert plan.packed_top_mm is not None
    assert plan.packed_top_mm.value <= 14.0


def test_no_increment_is_longer_than_4_mm_and_all_add_up():
    for tenths in range(1, 200):
        lengths = split(tenths / 10)
        assert sum(lengths) == pytest.approx(tenths / 10)
        assert max(lengths) <= 4.0 + 1e-9


def test_a_plug_above_the_fill_level_ends_the_filling_where_it_ends():
    plan = one("technique = 'injected_only'\npack_to_mm = 14\npost_planned = true")
    assert plan.packed_top_mm is not None
    assert plan.packed_top_mm.value == 14.0
    assert plan.fill_level_mm == 14.0
    assert plan.post_available_mm is not None
    assert plan.post_available_mm.value == pytest.approx(6.0)


def test_a_plugger_of_an_increment_never_goes_below_its_bottom():
    plan = one(size="40", taper=".02")
    depth = plan.packed_top_mm.value if plan.packed_top_mm else 0.0
    for increment in plan.increments:
        assert (increment.plugger_set_stop_mm or 0.0) <= depth
        depth -= increment.length_mm


def test_a_canal_without_a_cone_is_kept_open_by_a_point():
    plan = two(second="joins = { canal = 'A', at_mm = 3 }\ntechnique = 'injected_only'\npack_to_mm = 16")
    assert "a point in B stands in the join" in plan.order[0].says
    assert "try the cones" not in plan.order[0].says


def test_a_later_binding_depth_corrects_an_earlier_one():
    assert stops(one(end=seen("60", 12.0) + seen("60", 15.0)))["60"] > stops(one(end=seen("60", 12.0)))["60"]


def cone_seen(value: float, more: str = "") -> str:
    return f"\n[[findings]]\ncanal = 'A'\nkind = 'cone_seat'\nvalue_mm = {value}\n{more}\n"


def test_a_cone_seen_to_stop_above_its_mark_is_said_on_the_card():
    cone = two().canals[0].cone
    assert cone is not None
    mark = cone.cone_set_mm
    told = two(end=cone_seen(mark - 0.5)).cautions
    assert any(
        f"A: the cone was seen to stop at {mark - 0.5:.1f} mm" in text and "none deeper" in text for text in told
    )
    for harmless in (cone_seen(mark), cone_seen(mark - 2, "other_cone_in = true")):
        assert not any("seen to stop" in text for text in two(end=harmless).cautions)

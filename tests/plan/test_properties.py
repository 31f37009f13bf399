"""What holds for every plan, whatever the tooth."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rootfill.errors import InputRefused
from rootfill.plan import CanalPlan, estimates
from tests.plan.cases import canal, case_text, plan_text
from tests.plan.random_cases import cases, packed, planned

FEW = settings(max_examples=12)
DUST_MM = 1e-6


def preference(text: str, name: str) -> float:
    return float(re.findall(rf"^{name} = (\S+)$", text, re.MULTILINE)[0])


@FEW
@given(cases())
def test_every_stop_stands_short_of_the_shallow_end_of_binding_by_the_margin_on_a_half(text):
    margin = preference(text, "stop_margin_mm")
    for one in packed(text):
        for i in (*one.pluggers, *one.heated_tips, *one.needles):
            assert (2 * i.set_stop_mm).is_integer()
            # a stop at 0 is as shallow as a stop can be
            assert i.set_stop_mm <= max(i.binds_at_mm.low - margin, 0.0) + DUST_MM, i.name
            assert i.set_stop_mm > 0 or i.binds_at_mm.low - margin < 0.5


@FEW
@given(cases())
def test_the_binding_depth_is_the_made_end_less_the_reach(text):
    for one in packed(text):
        for i in (*one.pluggers, *one.heated_tips, *one.needles):
            assert i.binds_at_mm.value == pytest.approx(one.made_end_mm - i.reach_s_mm.value)
            assert i.binds_at_mm.low <= one.made_end_mm - i.reach_s_mm.high + DUST_MM
            assert 0 <= i.reach_s_mm.low <= i.reach_s_mm.high <= one.made_end_mm - one.orifice_at_mm + DUST_MM


@FEW
@given(cases())
def test_a_cone_is_never_set_longer_than_it_comes_to_rest_and_never_passes_the_end_or_the_join(text):
    for one in packed(text):
        if one.cone is None:
            continue
        join = re.search(rf'name = "{one.name}".*?joins = {{ canal = "B", at_mm = (\S+) }}', text, re.DOTALL)
        end = one.working_length_mm
        if one.ends_in is not None:
            end = one.made_end_mm - float(join[1])
        assert one.cone.cone_set_mm <= one.cone.cone_to_mm.value + DUST_MM
        assert one.cone.cone_set_mm > one.cone.cone_to_mm.value - 0.5
        assert (2 * one.cone.cone_set_mm).is_integer()
        assert one.cone.cone_to_mm.value <= end + DUST_MM
        assert one.cone.short_of_end_mm.value == pytest.approx(end - one.cone.cone_to_mm.value)


@FEW
@given(cases())
def test_the_fill_level_is_never_shallower_than_asked_and_stands_on_a_half(text):
    asked = preference(text, "fill_below_orifice_mm")
    for one in packed(text):
        assert (2 * one.fill_level_mm).is_integer()
        top = one.packed_top_mm.value
        if one.technique == "injected_only" and top < one.orifice_at_mm + asked:
            # a hard plug that ends above: it is the filling
            assert top - 0.5 < one.fill_level_mm <= top
        elif one.post_available_mm is None:
            assert one.orifice_at_mm + asked - DUST_MM <= one.fill_level_mm < one.orifice_at_mm + asked + 0.5
        else:
            assert one.fill_level_mm >= one.orifice_at_mm - DUST_MM


@FEW
@given(cases())
def test_every_number_lies_in_its_interval(text):
    plan = planned(text)
    for e in [] if plan is None else estimates(plan):
        assert e.low <= e.value + 1e-9, e
        assert e.value <= e.high + 1e-9, e
        assert e.because


@FEW
@given(cases())
def test_the_chances_of_a_cone_add_up_to_one(text):
    for one in packed(text):
        if one.cone is not None:
            assert sum(one.cone.chances.values()) == pytest.approx(1.0)
            assert set(one.cone.chances) == {"loose", "all_along", "right", "wrong_place"}
            assert one.cone.verdict in one.cone.chances


@FEW
@given(cases())
def test_no_two_instruments_have_one_role_and_a_chosen_plugger_covers_and_does_not_wedge(text):
    for one in packed(text):
        for kind in (one.pluggers, one.heated_tips, one.needles):
            roles = [i.role for i in kind if i.role]
            assert len(roles) == len(set(roles))
        for p in one.pluggers:
            if p.role:
                assert p.cover.value >= 0.6
                assert p.clearance_mm.value >= 0
                assert p.set_stop_mm > one.orifice_at_mm


@FEW
@given(cases())
def test_a_wider_chosen_plugger_stands_higher(text):
    for one in packed(text):
        chosen = sorted((p for p in one.pluggers if p.role), key=lambda p: p.tip_mm)
        stops = [p.set_stop_mm for p in chosen]
        # the one pre-bent plugger of this tray is the widest and may stand higher still
        assert stops == sorted(stops, reverse=True), one.name


@settings(max_examples=10)
@given(cases())
def test_the_same_case_twice_gives_the_same_plan(text):
    first = planned(text)
    assert first is None or plan_text(text) == first


ODD = st.one_of(
    st.sampled_from(
        [
            "0",
            "-1",
            "1e-9",
            "1e9",
            "nan",
            "inf",
            "-0.0",
            '""',
            '"x"',
            "true",
            "[]",
            "{}",
            '"1,5"',
            "0.5",
            "3",
            "200",
            "9" * 400,
        ]
    ),
    st.floats(-50, 50).map(lambda x: repr(round(x, 3))),
    st.floats(0, 2).map(lambda x: repr(round(x, 3))),
)


def plan_or_sentence(text: str) -> bool:
    """Whether the answer is a plan of some canals, or one refusing sentence; any other error is raised."""
    try:
        return bool(plan_text(text).canals)
    except InputRefused as refused:
        return refused.sentence.endswith(".") and "\n" not in refused.sentence


@settings(max_examples=80)
@given(st.data())
def test_whatever_number_is_mistyped_the_answer_is_a_plan_or_one_sentence(data):
    text = data.draw(cases())
    for _ in range(data.draw(st.integers(1, 3))):
        numbers = list(re.finditer(r"(?<=[=\[ ])-?\d+(\.\d+)?(?=[\s,\]}])", text))
        where = data.draw(st.sampled_from(numbers))
        text = text[: where.start()] + data.draw(ODD) + text[where.end() :]
    assert plan_or_sentence(text)


def test_a_number_of_thousands_of_digits_is_refused_in_a_sentence():
    text = case_text(21, [canal("B", 22.0, f"canal_length_mm = {'9' * 5000}", "30", ".04")])
    with pytest.raises(InputRefused):
        plan_text(text)


def refused_or_planned(text: str) -> list[CanalPlan]:
    try:
        return list(plan_text(text).canals)
    except InputRefused:
        return []


def test_a_packed_top_asked_for_below_the_join_is_refused_or_kept_above_it():
    # join at 18.0 - 4.0 = 14.0 mm: what lies below is filled with the other canal
    join = 'curvature = []\njoins = { canal = "A", at_mm = 4.0 }\npack_to_mm = 17.0'
    canals = [canal(n, 18.0, "canal_length_mm = 12", "25", ".06", more) for n, more in (("A", ""), ("B", join))]
    for one in refused_or_planned(case_text(36, canals)):
        assert one.ends_in is None or one.packed_top_mm.value <= 14.0


@pytest.mark.parametrize(
    ("more", "preferences", "end"),
    [
        ("", "[preferences]\nfill_below_orifice_mm = 5\n", 18.0),
        ('joins = { canal = "A", at_mm = 2.5 }', "", 15.5),
    ],
)
def test_no_fill_level_lies_deeper_than_the_canals_own_end(more, preferences, end):
    # a canal of 3 mm, orifice at 15.0: 5 mm below it is past the end, 1.5 mm below it past the join at 15.5
    canals = [
        canal("A", 18.0, "canal_length_mm = 12", "25", ".06", "curvature = []"),
        canal("B", 18.0, "canal_length_mm = 3.0", "30", ".04", f"curvature = []\n{more}"),
    ]
    for one in refused_or_planned(case_text(36, canals, preferences)):
        if one.name == "B":
            assert one.fill_level_mm <= end
            assert one.packed_top_mm.value <= end

"""The card as data: the same rows for paper, terminal and tests."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rootfill.clinic.card_rows import CONE, NOT_FOR, about, card_rows, rank, rows
from rootfill.plan.model import UNMEASURED, Plan
from rootfill.units import Estimate
from tests.drawing import sample


def cell(plan: Plan, label: str, canal: int) -> list[str]:
    return dict(card_rows(plan))[label][canal].split("\n")


def test_the_rows_come_in_the_order_the_hand_needs_them() -> None:
    labels = [label for label, _ in card_rows(sample.molar())]
    assert labels == [
        "canal", "reference", "end, set by you", "cone, set to", "cone", "pluggers", "heated tip 50",
        "heat, seconds", "cold part", "packed top", "back-fill", "fill to",
    ]  # fmt: skip


def test_each_row_has_a_cell_for_each_canal() -> None:
    for plan in (sample.molar(), sample.molar_with_exit(), sample.absurd()):
        assert {len(cells) for _, cells in card_rows(plan)} == {len(plan.canals)}


def test_pluggers_come_from_the_crown_down_whatever_their_order_in_the_plan() -> None:
    plan = sample.incisor()
    turned = replace(plan.canals[0], pluggers=plan.canals[0].pluggers[::-1])
    expected = ["12.0 plugger 90", "14.5 plugger 70", "17.0 plugger 60"]
    assert cell(replace(plan, canals=(turned,)), "pluggers", 0) == expected


def test_a_nickname_that_is_only_a_number_is_called_a_plugger() -> None:
    plan = sample.incisor()
    named = tuple(replace(p, name=p.name.removeprefix("plugger ")) for p in plan.canals[0].pluggers)
    assert cell(replace(plan, canals=(replace(plan.canals[0], pluggers=named),)), "pluggers", 0)[0] == (
        "12.0 plugger 90"
    )


def test_the_big_number_of_the_cone_is_the_one_to_set_and_where_it_rests_stands_small() -> None:
    row = rows(sample.molar())[0]
    assert (row.label, row.note) == (CONE, "from reference")
    number, rests = row.cells[1]
    assert (number.number, number.look, number.box) == ("15.5", "huge", True)
    assert (rests.number, rests.words) == ("", "rests at 15.7, 15.2–16.1")


def test_a_pluggers_stop_never_stands_deeper_than_the_packed_top() -> None:
    plan = sample.incisor()
    higher = replace(plan.canals[0], packed_top_mm=sample.mm(16.2, 0.0))
    assert cell(replace(plan, canals=(higher,)), "pluggers", 0)[-1] == "16.0 plugger 60"


def test_each_step_of_heat_says_which_plugger_follows() -> None:
    assert cell(sample.incisor(), "heated tip 50", 0) == ["14.0 then 70", "17.0 then 60"]
    plan = sample.premolar()
    other = tuple(replace(s, heated_tip="fine tip") for s in plan.canals[1].downpack)
    both = replace(plan, canals=(plan.canals[0], replace(plan.canals[1], downpack=other)))
    assert cell(both, "heated tip", 1)[0] == "12.5 fine tip, then 60"


def test_in_a_canal_that_is_injected_only_the_packed_top_is_the_top_of_the_plug() -> None:
    plan = sample.incisor()
    injected = replace(plan.canals[0], technique="injected_only", packed_top_mm=sample.mm(18.0, 0.0))
    assert cell(replace(plan, canals=(injected,)), "packed top", 0) == ["18.0 top of plug"]


@pytest.mark.parametrize(
    ("chances", "said"),
    [
        ({"right": 1.0, "loose": 0.0}, "right over 99 %"),
        ({"right": 0.996, "loose": 0.004}, "right over 99 %"),
        ({"right": 0.63, "loose": 0.37}, "right 63 %, too long 37 %"),
    ],
)
def test_no_chance_on_the_card_is_a_certainty(chances: dict[str, float], said: str) -> None:
    plan = sample.incisor()
    chosen = plan.canals[0].cone
    assert chosen is not None
    sure = replace(plan.canals[0], cone=replace(chosen, chances=chances))
    assert cell(replace(plan, canals=(sure,)), "cone", 0)[-1] == said


def test_a_cone_that_is_hardly_ever_held_right_is_said_to_be_under_one_percent() -> None:
    plan = sample.incisor()
    chosen = plan.canals[0].cone
    assert chosen is not None
    loose = replace(chosen, verdict="loose", chances={"loose": 0.999, "right": 0.001})
    said = cell(replace(plan, canals=(replace(plan.canals[0], cone=loose),)), "cone", 0)
    assert said[-2:] == ["too long", "right under 1 %"]


def test_a_canal_that_is_not_packed_has_no_rank_and_takes_none_from_the_others() -> None:
    plan = sample.molar_with_exit()
    assert [rank(plan, canal) for canal in plan.canals] == [1, 2, None, 3]


def test_the_joined_cone_is_trimmed_and_ends_at_its_own_depth() -> None:
    assert cell(sample.molar(), "cone, set to", 1) == ["15.5", "rests at 15.7, 15.2–16.1"]
    assert cell(sample.molar(), "cone", 1) == ["25/.06", "45 trim to, by gauge", "right 88 %, held all along 6 %"]
    assert cell(sample.molar(), "cone", 0) == ["25/.04", "25 tip, not trimmed", "right 88 %, held all along 6 %"]


def test_a_cone_trimmed_by_ruler_says_how_much_comes_off() -> None:
    plan = sample.molar()
    chosen = plan.canals[1].cone
    assert chosen is not None
    ruled = replace(plan.canals[1], cone=replace(chosen, trim_by="ruler"))
    assert cell(replace(plan, canals=(ruled,)), "cone", 0)[1].startswith("3.3 mm (3.0–3.6) off, by ruler")


def test_seconds_that_are_known_are_said_with_their_limits() -> None:
    plan = sample.incisor()
    steps = tuple(
        replace(s, heat_s=1.5, stop_by_s=2.0, wait_s=8.0, heat_setting_c=200.0) for s in plan.canals[0].downpack
    )
    warm = replace(plan, canals=(replace(plan.canals[0], downpack=steps),))
    assert len(steps) > 1
    assert cell(warm, "heat, seconds", 0) == [
        "1.5 s at 200 °C, each step",
        "stop by 2 s; push, wait 8 s",
    ]


def test_seconds_that_are_not_known_are_a_dash_and_the_sentence() -> None:
    assert cell(sample.incisor(), "heat, seconds", 0) == [f"— {UNMEASURED}"]


def test_an_increment_out_of_reach_says_that_it_is_filled_from_above() -> None:
    assert cell(sample.premolar(), "back-fill", 1)[0] == "2.0 needle 11.5, not reached"
    assert "not reached" not in "".join(cell(sample.premolar(), "back-fill", 0))


def test_two_needles_are_told_apart_in_their_cells() -> None:
    plan = sample.premolar()
    thin = tuple(replace(i, needle="25 G") for i in plan.canals[1].increments)
    both = replace(plan, canals=(plan.canals[0], replace(plan.canals[1], increments=thin)))
    assert cell(both, "back-fill", 0)[1] == "4.0 23 G needle 13.0"
    assert cell(both, "back-fill", 1)[1] == "4.0 needle 25 G 13.0"


def test_no_plugger_that_reaches_names_the_size_that_would_do() -> None:
    plan = sample.incisor()
    short = replace(plan.canals[0], pluggers=plan.canals[0].pluggers[:2], would_do_mm=0.45)
    assert cell(replace(plan, canals=(short,)), "pluggers", 0)[-1].endswith("a tip of 0.45 mm would")


def test_room_for_a_post_is_said_where_one_is_planned() -> None:
    plan = sample.incisor()
    post = replace(plan.canals[0], increments=(), post_available_mm=sample.mm(6.5, 0.2))
    with_post = replace(plan, canals=(post,))
    assert cell(with_post, "fill to", 0)[1] == "6.5 mm left for a post (6.3–6.7)"
    assert cell(with_post, "back-fill", 0) == ["— no back-fill"]


def test_an_exit_leaves_its_cells_empty_and_says_why_in_its_own_row() -> None:
    plan = sample.molar_with_exit()
    assert all(row.cells[2] == () for row in rows(plan))
    said = dict(card_rows(plan))[NOT_FOR]
    assert "0.70 mm wide" in said[2]
    assert said[0] == said[1] == said[3] == ""


def test_a_canal_that_the_order_does_not_name_has_no_rank() -> None:
    plan = sample.molar()
    assert [rank(plan, canal) for canal in plan.canals] == [1, 2, 3, 4]
    assert rank(replace(plan, order=plan.order[:1]), plan.canals[3]) is None


@pytest.mark.parametrize(
    ("estimate", "said"),
    [
        (Estimate(15.67, 14.9, 16.4, "mm", "", ""), ("15.7", "14.9–16.4")),
        (Estimate(15.67, 15.6, 15.74, "mm", "", ""), ("15.7", "15.6–15.7")),
        (Estimate(14.5, 14.5, 14.5, "mm", "", ""), ("14.5", "")),
    ],
)
def test_a_length_has_no_more_digits_than_its_interval_justifies_and_at_most_one_decimal(
    estimate: Estimate, said: tuple[str, str]
) -> None:
    assert about(estimate) == said

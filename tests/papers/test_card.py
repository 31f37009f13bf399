"""The tray card: one A4 page that says what was planned."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime

import pytest

from rootfill.clinic.card_notes import grouped_cautions, order_steps
from rootfill.clinic.card_rows import exit_lines, rows
from rootfill.papers.card import card_data, card_pdf
from rootfill.plan.model import OrderStep, Plan, Question
from tests.drawing import sample
from tests.drawing.sample import PLANS
from tests.papers.pages import fonts_of, in_order, reader, smallest_letters_pt, squeezed, text_of

PRINTED = datetime(2026, 11, 24, 10, 42)


def planned(plan: Plan) -> list[str]:
    """Every cell of the table, row by row, canal by canal, as the card must say it."""
    parts = []
    for row in rows(plan):
        parts.append(row.label)
        cells = row.cells if row.label != "heat, seconds" or plan.has_exit else row.cells[:1]
        parts += [line.text for cell in cells for line in cell]
    return parts


@pytest.mark.parametrize("plan", PLANS)
def test_the_card_is_one_a4_page_whatever_the_plan(plan: Callable[[], Plan]) -> None:
    pages = reader(card_pdf(plan(), PRINTED)).pages
    assert len(pages) == 1
    assert [float(side) for side in pages[0].mediabox[2:]] == pytest.approx([595.28, 841.89], abs=0.1)


@pytest.mark.parametrize("plan", PLANS)
def test_nothing_on_the_card_is_smaller_than_nine_points(plan: Callable[[], Plan]) -> None:
    assert smallest_letters_pt(card_pdf(plan(), PRINTED)) >= 8.99


@pytest.mark.parametrize("plan", PLANS)
def test_every_font_of_the_card_is_ours_and_embedded(plan: Callable[[], Plan]) -> None:
    fonts = fonts_of(card_pdf(plan(), PRINTED))
    assert len(fonts) == 3
    assert all("AtkinsonHyperlegibleNext" in name and embedded for name, embedded in fonts.items())


@pytest.mark.parametrize("plan", [sample.molar, sample.incisor])
def test_the_text_of_the_card_equals_what_was_planned_in_its_order(plan: Callable[[], Plan]) -> None:
    assert in_order(planned(plan()), text_of(card_pdf(plan(), PRINTED))) is None


def test_a_stop_that_changes_in_the_plan_changes_on_the_card() -> None:
    plan = sample.incisor()
    canal = plan.canals[0]
    moved = replace(canal.pluggers[0], set_stop_mm=11.5)
    other = replace(plan, canals=(replace(canal, pluggers=(moved, *canal.pluggers[1:])),))
    assert in_order(planned(plan), text_of(card_pdf(other, PRINTED))) is not None
    assert in_order(planned(other), text_of(card_pdf(other, PRINTED))) is None


def test_the_order_of_work_stands_whole_and_in_its_order() -> None:
    plan = sample.molar()
    assert in_order([step.says for step in plan.order], text_of(card_pdf(plan, PRINTED))) is None


def test_a_long_order_of_work_is_kept_whole_even_when_the_rest_is_shortened() -> None:
    plan = sample.absurd()
    says = tuple(f"Pack canal {i} before the next one, with the cone of canal {i + 1} in the join." for i in range(6))
    plan = replace(plan, order=tuple(OrderStep(f"canal {i}", text) for i, text in enumerate(says)))
    assert in_order(list(says), text_of(card_pdf(plan, PRINTED))) is None


@pytest.mark.parametrize("plan", [sample.molar_with_exit, sample.absurd])
def test_an_exit_is_said_with_its_reason_and_what_is_done_instead(plan: Callable[[], Plan]) -> None:
    text = text_of(card_pdf(plan(), PRINTED))
    for canal in plan().canals:
        assert all(squeezed(line.words) in text for line in exit_lines(canal))


def test_a_canal_with_an_exit_has_no_packing_number_on_the_card() -> None:
    plan = sample.molar_with_exit()
    assert all(row.cells[2] == () for row in rows(plan))
    text = text_of(card_pdf(plan, PRINTED))
    assert "35/.04" in text_of(card_pdf(sample.molar(), PRINTED))
    assert "35/.04" not in text


def test_cautions_and_open_questions_stand_on_the_card() -> None:
    plan = sample.molar()
    text = text_of(card_pdf(plan, PRINTED))
    for words in (*grouped_cautions(plan), *(q.question for q in plan.ready if q.answer == "open")):
        assert squeezed(words) in text
    assert squeezed("Isolated") not in text


def test_dangers_of_the_tooth_come_first_and_canals_to_look_for_last() -> None:
    plan = sample.molar()
    first, *_, last = said = grouped_cautions(plan)
    assert first == "No alcohol in the canal or on the tray while the tip is hot."
    assert said[1] == "Dimensions of the tray are assumed."
    assert said[2].startswith("MB, ML, DB, DL: Thin wall")
    assert last == "Look for a middle mesial canal."


def test_allergies_and_the_pacemaker_stay_however_little_room_there_is() -> None:
    plan = sample.absurd()
    vital = ("Allergies asked: latex", "Pacemaker asked")
    crowded = replace(plan, ready=(*plan.ready, *(Question(q, "open") for q in vital), Question("Isolated", "no")))
    text = text_of(card_pdf(crowded, PRINTED))
    for words in (*vital, "No: Isolated"):
        assert squeezed(words) in text
    for body in card_data(crowded)["bodies"]:
        assert all(any(word in said for said in body["open"]) for word in vital)
        assert body["refused"] == ["No: Isolated"]


def test_a_hundred_allergies_still_give_one_page_that_names_them() -> None:
    plan = sample.molar()
    many = tuple(Question(f"Allergy to thing {i}: not used", "open" if i % 2 else "no") for i in range(100))
    pdf = card_pdf(replace(plan, ready=many), PRINTED)
    assert len(reader(pdf).pages) == 1
    assert squeezed("No, 50 times: Allergy to thing 0") in text_of(pdf)


def test_sentences_are_kept_whole_by_drawing_smaller_and_without_the_crown() -> None:
    plan = sample.molar()
    canals = tuple(
        replace(c, cautions=tuple(f"Caution {i} of {c.name}, said in a whole sentence that goes on." for i in range(2)))
        for c in plan.canals
    )
    plan = replace(plan, canals=canals)
    text = text_of(card_pdf(plan, PRINTED))
    assert all(squeezed(words) in text for words in grouped_cautions(plan))
    assert squeezed("Lengths to scale") in text


def test_a_long_note_is_one_line_at_the_head_and_at_the_foot() -> None:
    pdf = card_pdf(replace(sample.molar(), note="A rather long remark about this patient. " * 10), PRINTED)
    text = text_of(pdf)
    line = squeezed("A rather long remark about this patient. A rather long remark about this patient. A…")
    assert text.count(line) == 2
    assert squeezed("Not validated as a medical device.") in text
    assert len(reader(pdf).pages) == 1


def test_only_what_is_packed_has_a_number_in_the_order_of_work() -> None:
    assert [number for number, _ in order_steps(sample.molar_with_exit())] == [1, 2, None, 3]


def test_a_canal_that_divides_says_where_above_its_column() -> None:
    canal = replace(sample.incisor().canals[0], splits_at_mm=17.0)
    assert squeezed("divides at 17.0") in text_of(card_pdf(replace(sample.incisor(), canals=(canal,)), PRINTED))


def test_long_names_of_canals_stay_different() -> None:
    plan = sample.absurd()
    names = [f"Mesiobuccal {i}" for i in range(6)]
    canals = tuple(replace(c, name=n, ends_in=None) for c, n in zip(plan.canals, names, strict=True))
    columns = card_data(replace(plan, canals=canals))["bodies"][0]["columns"]
    assert [c["name"] for c in columns] == [f"Mesio…al {i}" for i in range(6)]


def test_a_question_answered_no_is_said_as_no() -> None:
    plan = sample.molar()
    answered = replace(plan, ready=(replace(plan.ready[0], answer="no"), *plan.ready[1:]))
    assert squeezed(f"No: {plan.ready[0].question}") in text_of(card_pdf(answered, PRINTED))


def test_cautions_that_do_not_fit_are_counted_and_never_dropped_in_silence() -> None:
    plan = sample.absurd()
    data = card_data(plan)
    text = text_of(card_pdf(plan, PRINTED))
    total = len(grouped_cautions(plan))
    counts = {len(body["cautions"]) for body in data["bodies"] if len(body["cautions"]) < total}
    assert any(squeezed(f"and {total - count + 1} more: see report") in text for count in counts)


def test_seconds_that_were_not_computed_are_a_dash_and_a_sentence_and_never_nought() -> None:
    text = text_of(card_pdf(sample.incisor(), PRINTED))
    assert squeezed("heat, seconds—not computed: 1 s at a time, 5 s between") in text
    assert not re.search("seconds—?0", text)


def test_the_head_says_tooth_case_and_when_it_was_printed_and_leaves_room_for_the_patient() -> None:
    text = text_of(card_pdf(sample.molar(), PRINTED))
    for words in ("46", "lower right first molar", "K-0107", "patient’s name", "birth year"):
        assert squeezed(words) in text
    assert squeezed("printed 24 November 2026, 10:42") in text


def test_the_foot_says_what_the_card_is_and_that_its_data_are_invented() -> None:
    text = text_of(card_pdf(sample.molar(), PRINTED))
    for words in (
        "Invented for a demonstration.",
        "from each canal’s own reference",
        "Stops stand short of binding",
        "Supports a trained, licensed clinician",
        "Not validated as a medical device",
    ):
        assert squeezed(words) in text


def test_an_empty_note_is_not_replaced_by_one() -> None:
    assert "Invented" not in text_of(card_pdf(replace(sample.molar(), note=None), PRINTED))


def test_words_that_would_be_markup_are_printed_as_they_were_typed() -> None:
    hostile = "#set text(99pt) *B* $x$ <l> @r \\ `c`"
    plan = sample.incisor()
    canal = replace(plan.canals[0], reference=hostile)
    assert squeezed(hostile) in text_of(card_pdf(replace(plan, canals=(canal,)), PRINTED))


def test_the_same_plan_gives_the_same_card_to_the_byte() -> None:
    assert card_pdf(sample.molar(), PRINTED) == card_pdf(sample.molar(), PRINTED)

"""A tray card is called out of date as soon as it is, on every page that shows it, however the case stands."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.web.open_house import MB, ML, OpenHouse, open_house
from tests.web.visitor import Visitor

STALE = "out of date"
WARNED = '<span class="warn">'


@pytest.fixture
def house(tmp_path: Path) -> Iterator[OpenHouse]:
    with open_house(tmp_path) as opened:
        yield opened


def card_of(visitor: Visitor, case: int) -> str:
    """A new card; its address."""
    answer = visitor.send(f"/cases/{case}/cards")
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def say(visitor: Visitor, case: int, line: str) -> str:
    answer = visitor.send(f"/cases/{case}/say", text=line)
    assert answer.status_code == 200, answer.text
    return answer.text


def test_a_card_is_out_of_date_before_the_new_plan_is_there(house: OpenHouse) -> None:
    visitor, case = house.browser(), house.case(MB, ML)
    card = card_of(visitor, case)
    assert STALE not in visitor.get(card).text
    shown = say(visitor, case, "mb length 19")
    assert STALE in shown
    assert STALE in visitor.get(card).text
    assert STALE in visitor.get(f"/cases/{case}").text


def test_a_card_holds_again_when_the_change_was_taken_back(house: OpenHouse) -> None:
    visitor, case = house.browser(), house.case(MB, ML)
    card = card_of(visitor, case)
    say(visitor, case, "mb length 19")
    visitor.send(f"/cases/{case}/undo")
    assert STALE not in visitor.get(card).text


def test_a_card_of_a_case_without_a_plan_is_out_of_date(house: OpenHouse) -> None:
    visitor, case = house.browser(), house.case(MB)
    card = card_of(visitor, case)
    key = house.kept(case).canals[0].key
    visitor.send(f"/cases/{case}/cell", at=f"canal/{key}/orifice", was="8.0", text="")
    assert STALE in visitor.get(card).text
    assert STALE in visitor.get(f"/cases/{case}").text


def test_a_card_of_a_refused_case_is_out_of_date(house: OpenHouse) -> None:
    visitor, case = house.browser(), house.case(MB)
    card = card_of(visitor, case)
    key = house.kept(case).canals[0].key
    visitor.send(f"/cases/{case}/cell", at=f"canal/{key}/orifice", was="8.0", text="19.5")
    visitor.get(f"/cases/{case}/plan")
    assert STALE in visitor.get(card).text


def test_the_oldest_of_many_cards_is_out_of_date_too(house: OpenHouse) -> None:
    visitor, case = house.browser(), house.case(MB, ML)
    card = card_of(visitor, case)
    for length in ("19", "18.5", "18", "17.5", "17"):
        say(visitor, case, f"mb length {length}")
        card_of(visitor, case)
    assert STALE in visitor.get(card).text


def test_a_removed_canal_makes_its_card_out_of_date(house: OpenHouse) -> None:
    visitor, case = house.browser(), house.case(MB, ML)
    card = card_of(visitor, case)
    visitor.send(f"/cases/{case}/remove/canal/{house.kept(case).canals[1].key}")
    assert STALE in visitor.get(card).text


def test_another_tray_makes_its_card_out_of_date(house: OpenHouse) -> None:
    visitor, case = house.browser(), house.case(MB)
    card = card_of(visitor, case)
    visitor.send(f"/cases/{case}/tray", tray="")
    assert STALE in visitor.get(card).text


def test_a_tray_that_is_none_does_not_become_the_generic_one(house: OpenHouse) -> None:
    visitor, case = house.browser(), house.case(MB)
    before = house.kept(case).sections["tray"]
    assert visitor.send(f"/cases/{case}/tray", tray="room 2").status_code == 422
    assert house.kept(case).sections["tray"] == before
    answer = visitor.send("/new", id="other", tooth="36", notation="iso3950", tray="room 2", **{"name-0": "MB"})
    assert answer.status_code == 422


def test_a_look_leaves_what_is_said_of_cards_alone(house: OpenHouse) -> None:
    visitor, case = house.browser(), house.case(MB)
    card_of(visitor, case)
    key = house.kept(case).canals[0].key
    look = visitor.send(f"/cases/{case}/look", at=f"canal/{key}/length", text="19").text
    assert "not kept yet" in look
    assert 'id="standing"' not in look


def test_a_look_at_what_cannot_be_shows_what_is_kept(house: OpenHouse) -> None:
    visitor, case = house.browser(), house.case(MB)
    visitor.get(f"/cases/{case}/plan")
    key = house.kept(case).canals[0].key
    for text in ("210", "x", "2"):
        look = visitor.send(f"/cases/{case}/look", at=f"canal/{key}/length", text=text).text
        assert "plan 1" in look
        assert "not kept yet" not in look


def test_the_list_warns_of_a_card_made_before_the_last_change(house: OpenHouse) -> None:
    visitor, case = house.browser(), house.case(MB)
    card_of(visitor, case)
    assert WARNED not in visitor.get("/").text
    house.clock.passes(minutes=1)
    say(visitor, case, "mb length 19")
    assert WARNED in visitor.get("/").text


def test_a_call_out_comes_back_with_the_answers_of_today(house: OpenHouse) -> None:
    visitor, case = house.browser(), house.case(MB)
    answers = re.search(r'<select[^>]*-isolated"[^>]*>', say(visitor, case, "isolated"))
    assert answers is not None
    assert 'data-was="yes"' in html.unescape(answers[0])


def test_an_answer_of_today_is_never_kept_in_the_visit_before(house: OpenHouse) -> None:
    visitor, case = house.browser(), house.case(MB)
    first = house.kept(case).visits[0].key
    visitor.send(f"/cases/{case}/visits")
    answer = visitor.send(f"/cases/{case}/cell", at=f"visit/{first}/isolated", was="", text="yes")
    assert answer.status_code == 422
    assert "visit 2 was begun meanwhile" in answer.text
    assert "isolated" not in house.kept(case).visits[0].entered

"""Two thousand forms that no page would send: every one is answered, and what is kept stays whole."""

from __future__ import annotations

from pathlib import Path
from urllib.parse import urlencode

import pytest
from fastapi.routing import iter_route_contexts

from tests.clinic.accounts import NAME, PASSWORD
from tests.web.forms import every_form, inputs
from tests.web.mutate import SCRIPT, Mutator
from tests.web.open_house import MB, ML, open_house
from tests.web.shots import as_file, ramps, upload
from tests.web.storm import storm

COUNT = 2000


def test_two_thousand_mutated_forms_break_nothing(tmp_path: Path) -> None:
    with open_house(tmp_path) as house:
        seen = storm(house, seed=20261124, count=COUNT)
        assert seen.faults == []
        assert sum(seen.statuses.values()) == COUNT
        assert house.is_sound()
    assert seen.statuses[422] > 300, seen.statuses
    assert seen.statuses[200] + seen.statuses[303] > 300, seen.statuses


def test_there_is_a_form_for_every_address_that_takes_one(tmp_path: Path) -> None:
    with open_house(tmp_path) as house:
        case = house.case()
        house.program().post(f"/api/cases/{case}/pictures", **upload(("a.npy", as_file(ramps()))))
        sent = {form.route for form in every_form(house, case)}
        taken = {r.path for r in iter_route_contexts(house.app.routes) if "POST" in (r.methods or ())}
    assert {path for path in taken if path and not path.startswith("/api/")} - sent == set()


def test_the_same_seed_gives_the_same_mutations() -> None:
    first, second, other = Mutator(1), Mutator(1), Mutator(2)
    same = [first.mutated(MB) for _ in range(50)]
    assert same == [second.mutated(MB) for _ in range(50)]
    assert same != [other.mutated(MB) for _ in range(50)]


def test_a_form_that_fails_would_be_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_given: object) -> None:
        raise ZeroDivisionError

    with open_house(tmp_path) as house:
        monkeypatch.setattr("rootfill.web.tooth.use.add_visit", broken)
        faults = storm(house, seed=1, count=400).faults
    assert faults
    assert all("/visits" in fault and " 500 " in fault for fault in faults)


# What the storm has found.


@pytest.mark.parametrize(
    "at", ["foo/1/x", "tray/0/key", "preferences/0/x", "finding/1/kind", "case/1/id", "canal/²/name"]
)
def test_a_cell_that_the_page_does_not_have_is_refused(tmp_path: Path, at: str) -> None:
    with open_house(tmp_path) as house:
        answer = house.browser().send(f"/cases/{house.case()}/cell", at=at, text="1")
    assert answer.status_code in (404, 422)


def test_a_case_keeps_an_id(tmp_path: Path) -> None:
    with open_house(tmp_path) as house:
        case = house.case(id="C-0007")
        answer = house.browser().send(f"/cases/{case}/cell", at="case/0/id", was="C-0007", text=" ")
        assert answer.status_code == 422
        assert house.kept(case).sections["case"]["id"] == "C-0007"


@pytest.mark.parametrize("back", ["/cases/€", "/cases/\udcff", "/cases/1\r\nX: 1"])
def test_signing_in_leads_to_the_list_where_the_way_back_is_no_address(tmp_path: Path, back: str) -> None:
    with open_house(tmp_path) as house:
        typed = {"name": NAME, "password": PASSWORD, "back": back}
        body = urlencode(typed, errors="surrogateescape")
        headers = {"Content-Type": "application/x-www-form-urlencoded", "HX-Request": "true"}
        answer = house.stranger().post("/sign-in", content=body, headers=headers)
    assert (answer.status_code, answer.headers["hx-redirect"]) == (204, "/")


def test_what_was_typed_is_never_part_of_a_page(tmp_path: Path) -> None:
    with open_house(tmp_path) as house:
        case = house.case(MB, {**ML, "reference": SCRIPT, "name": SCRIPT}, note=SCRIPT)
        page = house.browser().get(f"/cases/{case}")
    assert page.status_code == 200
    assert "&lt;script&gt;alert" in page.text
    assert SCRIPT not in page.text


def test_the_fields_of_a_tray_are_read_off_its_page(tmp_path: Path) -> None:
    with open_house(tmp_path) as house:
        tray = f"/trays/{house.tray}"
        found = inputs(house.browser().get(tray).text, tray)
    assert found["name"] == "small tray"
    assert found["cones-0-size"] == "25"
    assert found["needles-0-use"] == "deliver"

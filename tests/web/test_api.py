"""A program does what the page does: makes a case, enters, calls out, takes back, plans, prints."""

from __future__ import annotations

import copy
import json
import tomllib
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import httpx
import pytest

from rootfill.clinic.cells import CELLS, cell_text
from rootfill.clinic.plan_case import demo_case, full_plan
from rootfill.clinic.result import plan_data
from rootfill.plan.case import Case
from rootfill.plan.model import CanalPlan, Plan
from rootfill.tray.model import Tray
from tests.web.forms import VALID
from tests.web.open_house import HEAD, MB, ML, SMALL_TRAY, AtOnce, OpenHouse, open_house
from tests.web.visitor import Visitor

DEMO: dict[str, Any] = json.loads(json.dumps(tomllib.loads(demo_case()), default=str))


@pytest.fixture
def house(tmp_path: Path) -> Iterator[OpenHouse]:
    with open_house(tmp_path) as opened:
        yield opened


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenHouse]:
    """A house for tests that look at a case of their own alone."""
    with open_house(tmp_path_factory.mktemp("shared")) as opened:
        yield opened


@pytest.fixture
def program(house: OpenHouse) -> Visitor:
    return house.program()


SHOWN = {
    "length": "20.0",
    "orifice": "8.0",
    "wall": "0 1; 8 0.85",
    "shape": "30/.04 to 20.0, 25/.06 to 18.0",
    "pack_to": "15.0",
}
"""What stands in a cell afterwards, where it is not what was typed."""


def error(answer: httpx.Response) -> tuple[int, str, str]:
    found = answer.json()["error"]
    return answer.status_code, found["kind"], found["says"]


def change(was: str, now: str) -> dict[str, str]:
    return {"was": was, "now": now}


# Cases.


def test_a_case_is_made_kept_and_read_again_where_its_address_says(program: Visitor) -> None:
    made = program.post("/api/cases", json={**HEAD, "id": "C-0007", "canals": [MB, ML]})
    assert made.status_code == 201
    read = program.get(made.headers["location"])
    assert read.json() == made.json()
    assert [row["cells"]["length"] for row in read.json()["canals"]] == ["20.5", "20.0"]
    assert read.json()["canals"][0]["entered"]["made"] == {"size": 30, "taper": 0.04}
    assert read.json()["sections"]["case"]["entered"] == {**HEAD, "id": "C-0007"}


def test_a_case_without_an_id_gets_the_next_free_one(program: Visitor) -> None:
    ids = [program.post("/api/cases", json={**HEAD, "canals": [MB]}).json() for _ in range(2)]
    assert [case["sections"]["case"]["entered"]["id"] for case in ids] == ["C-0001", "C-0002"]


@pytest.mark.parametrize(
    ("head", "canals", "says"),
    [
        ({"tooth": "55"}, [MB], "case.tooth is '55'; in iso3950 the upper right primary second molar: a resorbing"),
        ({}, [], "canals is missing; name at least one canal."),
        ({}, [MB, MB], "canal is 'MB'; every canal has a name of its own."),
        ({}, [{**MB, "length": "205"}], "MB: length to the end is 205; allowed: 8 to 40 mm (did you mean 20.5?)."),
        ({}, [{**MB, "lenght": "20"}], "field is 'canal.lenght'; fields here: name, reference, length, shape,"),
        ({"tray": 99}, [MB], "tray.key is 99; there is no such tray here: choose one of the list."),
    ],
)
def test_a_case_that_cannot_be_is_refused_in_one_sentence(
    program: Visitor, head: dict[str, Any], canals: list[dict[str, str]], says: str
) -> None:
    answer = program.post("/api/cases", json={**HEAD, **head, "canals": canals})
    status, kind, said = error(answer)
    assert (status, kind) == (422, "input_refused")
    assert said.startswith(says)
    assert program.get("/api/cases").json()["total"] == 0


def test_the_list_is_searched_and_turned_like_pages(house: OpenHouse, program: Visitor) -> None:
    for number in range(5):
        house.case(id=f"{'AB'[number % 2]}-{number}")
    assert [line["id"] for line in program.get("/api/cases?search=a-").json()["lines"]] == ["A-4", "A-2", "A-0"]
    page = program.get("/api/cases?limit=2&offset=3").json()
    assert ([line["id"] for line in page["lines"]], page["total"]) == (["B-1", "A-0"], 5)


def test_a_removed_case_is_gone_with_everything_that_belongs_to_it(house: OpenHouse, program: Visitor) -> None:
    case = house.case()
    program.post(f"/api/cases/{case}/cards")
    assert program.ask("DELETE", f"/api/cases/{case}").status_code == 204
    assert [program.get(f"/api/cases/{case}{rest}").status_code for rest in ("", "/plans/1", "/documents/1")] == [
        404
    ] * 3
    assert house.is_sound()


# Case files.


class Whole(AtOnce):
    """Plans in full, as the command line does."""

    def plan(self, case: Case, tray: Tray, keep: Mapping[str, CanalPlan]) -> Plan:
        return full_plan(case, tray, keep)


def test_a_case_file_gives_the_plan_that_the_command_line_gives(house: OpenHouse, program: Visitor) -> None:
    house.app.state.clinic = replace(house.clinic, work=Whole())
    case = program.post("/api/case-files", json=DEMO).json()["key"]
    version = program.get(f"/api/cases/{case}/plan").json()
    case_read, tray = read_demo()
    assert version["plan"] == plan_data(full_plan(case_read, tray, {}))


def test_two_case_files_with_one_tray_share_it(house: OpenHouse, program: Visitor) -> None:
    own = {**SMALL_TRAY, "name": "mine"}
    for name in ("A", "B"):
        answer = program.post("/api/case-files", json=with_head(id=name) | {"tray": own})
        assert answer.status_code == 201, answer.text
    assert {tray["entered"]["name"]: tray["cases"] for tray in program.get("/api/trays").json()} == {
        "mine": 2,
        "small tray": 0,
    }


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"tray": {"file": "mine.toml"}}, "tray.file is 'mine.toml'; list the instruments in the case file,"),
        ({"canals": [DEMO["canals"][0]] * 2}, "canal is 'MB'; every canal has a name of its own."),
        ({"case": {**DEMO["case"], "tooth": 99}}, "case.tooth is 99; the permanent teeth in iso3950 are"),
        ({"case": {**DEMO["case"], "baseline": {"mobility": [[[[]]]] * 3}}}, None),
        ({"nonsense": 1}, "nonsense is not known here;"),
    ],
)
def test_a_case_file_is_read_as_strictly_as_from_a_file(program: Visitor, changed: Any, says: str | None) -> None:
    answer = program.post("/api/case-files", json={**DEMO, **changed})
    if says is None:
        assert answer.status_code == 201
    else:
        assert error(answer)[0] == 422
        assert error(answer)[2].startswith(says)


@pytest.mark.parametrize("depth", [21, 500, 900, 50_000])
def test_what_is_nested_too_deep_is_not_kept(program: Visitor, depth: int) -> None:
    body = json.dumps(with_head(baseline={"mobility": "HERE"})).replace('"HERE"', "[" * depth + "]" * depth)
    answer = program.post("/api/case-files", content=body, headers={"Content-Type": "application/json"})
    assert answer.status_code in (400, 422)
    assert program.get("/api/cases").json()["total"] == 0


def test_a_bend_without_its_angle_is_shown_and_keeps_its_canal_out_of_the_plan(
    house: OpenHouse, program: Visitor
) -> None:
    canal = {**DEMO["canals"][0], "curvature": [{"radius_mm": 8}]}
    case = program.post("/api/case-files", json={**DEMO, "canals": [canal]}).json()["key"]
    assert program.get(f"/api/cases/{case}").json()["canals"][0]["cells"]["curve"] == "? r 8"
    assert house.browser().get(f"/cases/{case}").status_code == 200
    assert "MB curve is missing" in error(program.get(f"/api/cases/{case}/plan"))[2]


# Entering.


def test_several_fields_are_one_mark_and_are_taken_back_together(house: OpenHouse, program: Visitor) -> None:
    case = house.case()
    before = program.get(f"/api/cases/{case}").json()
    answer = patch(program, case, length=change("20.5", "21"), drying=change("", "dry"))
    assert (
        answer.json()["canals"][0]["cells"] | {"length": "21.0", "drying": "dry"} == answer.json()["canals"][0]["cells"]
    )
    (mark, first) = program.get(f"/api/cases/{case}/marks").json()
    assert (mark["says"], mark["by"]) == ("MB length to the end: 21; dry: dry", "Ada Grün")
    assert first["number"] == 1
    undone = program.post(f"/api/cases/{case}/undo").json()
    assert undone["mark"]["undoes"] == mark["number"]
    assert undone["case"]["canals"] == before["canals"]
    assert program.post(f"/api/cases/{case}/undo").json()["mark"] is None


def test_one_field_that_cannot_be_keeps_the_others_out_too(house: OpenHouse, program: Visitor) -> None:
    case = house.case()
    answer = patch(program, case, length=change("20.5", "21"), orifice=change("8.0", "80"))
    assert error(answer)[0] == 422
    assert "80" in error(answer)[2]
    assert program.get(f"/api/cases/{case}").json()["revision"] == 1


def test_a_field_that_somebody_changed_meanwhile_stays_as_it_is(house: OpenHouse, program: Visitor) -> None:
    case = house.case()
    patch(program, case, length=change("20.5", "21"))
    answer = patch(program, case, drying=change("", "dry"), length=change("20.5", "22"))
    assert error(answer)[:2] == (409, "changed_meanwhile")
    assert "is now '21.0'" in error(answer)[2]
    cells = program.get(f"/api/cases/{case}").json()["canals"][0]["cells"]
    assert (cells["length"], cells["drying"]) == ("21.0", "")


def test_of_many_that_change_one_field_at_once_one_is_kept_and_the_others_are_told(house: OpenHouse) -> None:
    case, programs = house.case(), [house.program() for _ in range(8)]
    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(lambda i: patch(programs[i], case, length=change("20.5", f"2{i % 4}.5")), range(8)))
    told = sorted(answer.status_code for answer in answers)
    assert set(told) <= {200, 409}
    kept = {answer.json()["canals"][0]["cells"]["length"] for answer in answers if answer.status_code == 200}
    assert len(house.store.records.marks(case, 50)) == 1 + len(kept - {"20.5"})
    assert told.count(409) >= 4


@pytest.mark.parametrize(("part", "name"), [(part, name) for part, texts in VALID.items() for name in texts])
def test_every_cell_of_the_page_can_be_set_and_shows_what_was_typed(shared: OpenHouse, part: str, name: str) -> None:
    case = shared.case(MB, {**ML, "name": "last"}, id=f"{part} {name}")
    key = shared.kept(case).rows(part)[-1].key
    address = f"sections/{part}" if part in ("case", "baseline", "patient", "materials") else f"{part}s/{key}"
    rows = shared.program().get(f"/api/cases/{case}").json()
    stands = (rows["sections"][part] if part in rows["sections"] else rows[f"{part}s"][-1])["cells"][name]
    sent = {name: change(stands, VALID[part][name])}
    answer = shared.program().ask("PATCH", f"/api/cases/{case}/{address}", json=sent)
    assert answer.status_code == 200, answer.text
    kept = shared.kept(case).rows(part)[-1].entered
    assert cell_text(next(c for c in CELLS[part] if c.field == name), kept) == SHOWN.get(name, VALID[part][name])


def test_there_is_a_valid_text_for_every_cell_of_the_page() -> None:
    assert {part: {one.field for one in cells} for part, cells in CELLS.items()} == {
        part: set(texts) for part, texts in VALID.items()
    }


def test_canals_visits_findings_and_the_tray_come_and_go(house: OpenHouse, program: Visitor) -> None:
    case = house.case()
    here = f"/api/cases/{case}"
    canal = program.post(f"{here}/canals", json={"name": "MB2"})
    finding = program.post(
        f"{here}/findings", json={"kind": "binds", "canal": "MB2", "instrument": "50", "value_mm": "14,5"}
    )
    visit = program.post(f"{here}/visits")
    assert [a.status_code for a in (canal, finding, visit)] == [201] * 3
    assert program.ask("PUT", f"{here}/tray", json={"tray": None}).json()["sections"]["tray"]["entered"] == {}
    kept = program.ask("DELETE", canal.headers["location"]).json()
    assert [row["entered"]["name"] for row in kept["canals"]] == ["MB"]
    assert kept["findings"] == []
    assert program.ask("DELETE", finding.headers["location"]).status_code == 404
    assert visit.json()["visits"][-1]["entered"] == {"id": 2, "date": "2026-05-04"}


@pytest.mark.parametrize(
    ("finding", "says"),
    [
        ({"canal": "MB"}, "kind is missing; give it"),
        ({"kind": "binds", "canal": "XX"}, "canal is 'XX'; of this case: MB."),
        ({"kind": "binds", "canal": "MB", "visit": 7}, "visit is 7; of this case: 1."),
        ({"kind": "binds", "value_mm": 200}, "value_mm is 200.0; allowed: 0 to 40 mm"),
        ({"kind": "guess"}, "kind is 'guess'; allowed: locator, paper_point,"),
    ],
)
def test_a_finding_that_cannot_be_is_refused_in_one_sentence(shared: OpenHouse, finding: Any, says: str) -> None:
    answer = shared.program().post(f"/api/cases/{shared.case()}/findings", json=finding)
    assert error(answer)[0] == 422
    assert error(answer)[2].startswith(says)


def test_a_call_out_is_heard_first_and_kept_as_one_mark(house: OpenHouse, program: Visitor) -> None:
    case, line = house.case(), "MB locator 21.5; MB dry"
    heard = program.get(f"/api/cases/{case}/heard", params={"text": line}).json()
    assert (len(heard["heard"]), heard["doubt"]) == (2, None)
    assert program.get(f"/api/cases/{case}").json()["revision"] == 1
    said = program.post(f"/api/cases/{case}/calls", json={"text": line}).json()
    assert (said["mark"]["number"], len(said["case"]["findings"])) == (2, 1)
    assert said["case"]["canals"][0]["cells"]["drying"] == "dry"


def test_a_call_out_in_doubt_is_refused_with_the_doubt(house: OpenHouse, program: Visitor) -> None:
    case, line = house.case(), "MB dry; MB gutta"
    doubt = program.get(f"/api/cases/{case}/heard", params={"text": line}).json()["doubt"]
    status, kind, says = error(program.post(f"/api/cases/{case}/calls", json={"text": line}))
    assert (status, kind) == (422, "input_refused")
    assert doubt.rstrip(".") in says
    assert program.get(f"/api/cases/{case}").json()["revision"] == 1


def test_what_a_program_enters_stands_on_the_page(house: OpenHouse, program: Visitor) -> None:
    case = house.case()
    patch(program, case, reference=change("MB cusp tip", "palatal cusp, flattened"))
    assert "palatal cusp, flattened" in house.browser().get(f"/cases/{case}").text


# Plans and documents.


def test_a_plan_is_a_new_version_only_where_something_changed(house: OpenHouse, program: Visitor) -> None:
    case = house.case()
    numbers = [program.get(f"/api/cases/{case}/plan").json()["number"] for _ in range(2)]
    patch(program, case, length=change("20.5", "21"))
    newest = program.get(f"/api/cases/{case}/plan").json()
    assert (numbers, newest["number"]) == ([1, 1], 2)
    lengths = [
        program.get(f"/api/cases/{case}/plans/{n}").json()["plan"]["canals"][0]["working_length_mm"] for n in (1, 2)
    ]
    assert lengths == [20.5, 21.0]
    assert newest["plan"] == json.loads(house.store.records.plan(case, 2).plan)


def test_without_what_a_plan_needs_it_says_what_is_missing(house: OpenHouse, program: Visitor) -> None:
    case = house.case({"name": "MB", "length": "20"})
    says = "the plan is missing; first: MB needs reference, last file, orifice."
    assert error(program.get(f"/api/cases/{case}/plan")) == (422, "input_refused", says)
    assert error(program.post(f"/api/cases/{case}/cards")) == (422, "input_refused", says)
    standing = program.get(f"/api/cases/{case}/standing").json()
    assert standing["left_out"] == {"MB": "needs reference, last file, orifice"}
    assert standing["plan"] is standing["refused"] is None


def test_a_canal_whose_numbers_do_not_fit_is_left_out_and_the_others_are_planned(
    house: OpenHouse, program: Visitor
) -> None:
    case = house.case(MB, ML)
    assert patch(program, case, orifice=change("8.0", "20")).status_code == 200
    standing = program.get(f"/api/cases/{case}/standing").json()
    assert list(standing["left_out"]) == ["MB"]
    assert "20" in standing["left_out"]["MB"]
    assert [canal["name"] for canal in standing["plan"]["canals"]] == ["ML"]


def test_what_no_plan_can_be_made_of_is_told_beside_the_case_and_instead_of_a_plan(
    house: OpenHouse, program: Visitor
) -> None:
    case, bare = house.case(), program.post("/api/trays", json={"name": "bare"}).json()["key"]
    program.ask("PUT", f"/api/cases/{case}/tray", json={"tray": bare})
    refused = program.get(f"/api/cases/{case}/standing").json()["refused"]
    assert refused["field"] == "tray.cones"
    assert error(program.get(f"/api/cases/{case}/plan")) == (422, "input_refused", refused["says"])


def test_the_standing_is_a_first_look_until_the_plan_is_asked_for(house: OpenHouse, program: Visitor) -> None:
    case = house.case()
    look = program.get(f"/api/cases/{case}/standing").json()
    assert (look["number"], look["plan"]["effort"]) == (None, "quick")
    program.get(f"/api/cases/{case}/plan")
    now = program.get(f"/api/cases/{case}/standing").json()
    assert (now["number"], now["plan"]["effort"]) == (1, "full")


def test_a_card_is_kept_as_it_was_made_and_known_to_be_out_of_date(house: OpenHouse, program: Visitor) -> None:
    case = house.case()
    made = program.post(f"/api/cases/{case}/cards")
    assert made.status_code == 201
    content = program.get(made.headers["location"])
    assert content.text == "card.pdf of C-0001, 2026-05-04"
    assert content.headers["content-type"] == "application/pdf"
    assert content.headers["content-disposition"] == 'attachment; filename="card.pdf"'
    assert program.get(f"/api/cases/{case}/standing").json()["cards"][0]["out_of_date"] == []
    patch(program, case, length=change("20.5", "19"))
    program.get(f"/api/cases/{case}/plan")
    (card,) = program.get(f"/api/cases/{case}/standing").json()["cards"]
    assert card["plan"] == 1
    assert card["out_of_date"]


def test_a_report_lies_beside_its_page_and_belongs_to_its_case_alone(house: OpenHouse, program: Visitor) -> None:
    case, other = house.case(), house.case()
    report = program.post(f"/api/cases/{case}/reports").json()
    assert {line["name"] for line in program.get(f"/api/cases/{case}/documents").json()} == {
        "report.pdf",
        "report.html",
    }
    assert program.get(f"/api/cases/{other}/documents/{report['key']}").status_code == 404


# Trays, settings, what is usual.


def test_a_tray_is_kept_changed_and_removed_once_no_case_uses_it(house: OpenHouse, program: Visitor) -> None:
    made = program.post("/api/trays", json={**SMALL_TRAY, "name": "mine"})
    here, was = made.headers["location"], made.json()["entered"]
    now = copy.deepcopy(was)
    now["pluggers"][0]["tip_mm"] = 0.55
    assert program.ask("PUT", here, json={"was": was, "now": now}).json()["entered"] == now
    assert error(program.ask("PUT", here, json={"was": was, "now": was}))[:2] == (409, "changed_meanwhile")
    case = house.case()
    program.ask("PUT", f"/api/cases/{case}/tray", json={"tray": made.json()["key"]})
    assert "used by 1 case" in error(program.ask("DELETE", here))[2]
    program.ask("PUT", f"/api/cases/{case}/tray", json={"tray": None})
    assert program.ask("DELETE", here).status_code == 204
    assert program.get(here).status_code == 404


def test_a_tray_that_no_plan_could_read_is_not_kept(program: Visitor) -> None:
    answer = program.post("/api/trays", json={**SMALL_TRAY, "name": "mine", "cones": [{"name": "x", "size": 3}]})
    assert error(answer)[0] == 422
    assert len(program.get("/api/trays").json()) == 1


def test_the_generic_tray_is_copied_under_a_name_of_its_own(program: Visitor) -> None:
    made = program.post("/api/tray-copies", json={"of": None, "name": "room 2"})
    assert made.status_code == 201
    copied = program.get(made.headers["location"]).json()["entered"]
    generic = program.get("/api/generic-tray").json()
    assert copied["name"] == "room 2"
    assert [cone["name"] for cone in copied["cones"]] == [cone["name"] for cone in generic["cones"]]


def test_the_settings_are_those_of_the_page(house: OpenHouse, program: Visitor) -> None:
    assert program.ask("PUT", "/api/settings", json={"notation": "universal", "idle_minutes": 7}).status_code == 200
    assert program.get("/api/settings").json() == {"notation": "universal", "idle_minutes": 7}
    assert 'value="7"' in house.browser().get("/settings").text
    assert program.ask("PUT", "/api/settings", json={"notation": "fdi", "idle_minutes": 7}).status_code == 422


def test_what_is_usual_for_a_tooth_comes_with_what_to_look_for(program: Visitor) -> None:
    found = program.get("/api/usual?tooth=16&notation=iso3950").json()
    assert (found["tooth"]["words"], found["tooth"]["universal"]) == ("upper right first molar", 3)
    assert {canal["name"] for canal in found["canals"]} >= {"MB", "DB", "P"}
    assert all(hint["says"].startswith("Look for ") and hint["source"] for hint in found["hints"])
    assert error(program.get("/api/usual?tooth=55&notation=iso3950"))[0] == 422


def test_the_schema_of_a_case_file_is_the_one_that_is_published(program: Visitor) -> None:
    schema = program.get("/api/schema").json()
    assert schema["title"] == "rootfill case file"
    assert {"case", "canals", "tray"} <= set(schema["properties"])


def patch(program: Visitor, case: int, **fields: dict[str, str]) -> httpx.Response:
    """Change fields of the first canal."""
    key = program.get(f"/api/cases/{case}").json()["canals"][0]["key"]
    return program.ask("PATCH", f"/api/cases/{case}/canals/{key}", json=fields)


def with_head(**head: Any) -> dict[str, Any]:
    """The demonstration case under another head."""
    return {**DEMO, "case": {**DEMO["case"], **head}}


def read_demo() -> Any:
    """The demonstration case and its tray, as the command line reads them."""
    from rootfill.clinic import read_case

    class NoShelf:
        def tray_text(self, name: str) -> str:
            raise AssertionError(name)

    return read_case(demo_case(), NoShelf())

"""Every error is one sentence in one shape, with a status that programs can rely on."""

from __future__ import annotations

import json
import logging
import re

import pytest

from tests.web.house import House

EXPECTED = {
    "refused": (422, "input_refused", "length_mm", "length_mm is 90; allowed: 8 to 40 mm."),
    "gone": (404, "not_found", None, "There is no case 9."),
    "changed": (409, "changed_meanwhile", "length_mm", "length_mm was changed meanwhile and is now 21; "),
    "out": (401, "not_signed_in", None, "That is not your password."),
    "full": (507, "not_kept", None, "The disk is full; make room and save again."),
    "solver": (500, "our_fault", None, "Something broke here; this is our fault, not yours."),
    "fault": (500, "our_fault", None, "Something broke here; this is our fault, not yours."),
}
TRACES = re.compile(r"Traceback|File \"|\.py|Error\b|gutta")


@pytest.mark.parametrize("how", EXPECTED)
def test_a_program_gets_kind_field_and_sentence(how: str) -> None:
    answer = House().owner().get(f"/api/breaks/{how}")
    status, kind, field, says = EXPECTED[how]
    error = answer.json()["error"]
    assert (answer.status_code, error["kind"], error["field"]) == (status, kind, field)
    assert error["says"].startswith(says)
    assert not TRACES.search(answer.text)


@pytest.mark.parametrize("how", EXPECTED)
def test_a_page_shows_the_same_sentence_as_a_page(how: str) -> None:
    answer = House().owner().get(f"/breaks/{how}")
    status, _, _, says = EXPECTED[how]
    assert answer.status_code == status
    assert says in answer.text
    assert answer.text.startswith("<!doctype html>")
    assert not TRACES.search(answer.text)


@pytest.mark.parametrize("how", EXPECTED)
def test_a_part_of_a_page_is_the_sentence_alone_and_goes_where_notices_are(how: str) -> None:
    answer = House().owner().get(f"/breaks/{how}", headers={"HX-Request": "true"})
    status, _, _, says = EXPECTED[how]
    assert answer.status_code == status
    assert says in answer.text
    assert "<html" not in answer.text
    assert (answer.headers["hx-retarget"], answer.headers["hx-reswap"]) == ("#notice", "innerHTML")
    assert not TRACES.search(answer.text)


@pytest.mark.parametrize("path", ["/breaks/fault", "/api/breaks/solver"])
def test_our_fault_is_logged_with_the_number_that_is_shown(path: str, caplog: pytest.LogCaptureFixture) -> None:
    answer = House().owner().get(path)
    number = re.search(r"number ([0-9a-f]{6})", answer.text)
    assert number is not None
    (record,) = [record for record in caplog.records if record.name == "rootfill.web"]
    assert record.levelno == logging.ERROR
    assert number[1] in record.getMessage()
    assert "/breaks/{how}" in record.getMessage()
    assert "house.py" in record.getMessage()


def test_what_is_expected_is_not_logged(caplog: pytest.LogCaptureFixture) -> None:
    owner = House().owner()
    for how in ("refused", "gone", "changed", "full"):
        owner.get(f"/breaks/{how}")
    assert [record for record in caplog.records if record.name == "rootfill.web"] == []


@pytest.mark.parametrize(
    ("method", "path", "status", "kind"),
    [
        ("GET", "/api/nowhere", 404, "not_found"),
        ("DELETE", "/api/limit", 405, "wrong_method"),
        ("GET", "/api/limit", 422, "input_refused"),
        ("GET", "/api/limit?limit=many", 422, "input_refused"),
    ],
)
def test_what_the_framework_refuses_has_the_same_shape(method: str, path: str, status: int, kind: str) -> None:
    owner = House().owner()
    answer = owner.ask(method, path, headers={"X-CSRF": owner.csrf})
    assert (answer.status_code, answer.json()["error"]["kind"]) == (status, kind)
    assert "detail" not in answer.json()


def test_a_wrong_method_names_the_right_ones() -> None:
    owner = House().owner()
    assert owner.ask("DELETE", "/api/limit", headers={"X-CSRF": owner.csrf}).headers["allow"] == "GET"


@pytest.mark.parametrize(
    ("path", "says"),
    [
        ("/api/limit", "limit is missing; give it."),
        (
            "/api/limit?limit=many",
            "limit is 'many'; allowed: a valid integer, unable to parse string as an integer.",
        ),
    ],
)
def test_a_wrong_value_is_told_with_field_value_and_what_is_allowed(path: str, says: str) -> None:
    assert House().owner().get(path).json()["error"] == {"kind": "input_refused", "field": "limit", "says": says}


def test_an_address_with_a_wrong_number_is_an_unknown_page() -> None:
    answer = House().owner().get("/cases/many")
    assert answer.status_code == 404
    assert "There is no such page here" in answer.text


@pytest.mark.parametrize("password", [12345678901, ["a secret"], {"a": "secret"}, "a secret" * 200, "\ud800 secret"])
def test_a_password_that_cannot_be_one_is_never_quoted(password: object) -> None:
    sent = json.dumps({"name": "Ada", "password": password})
    answer = House().stranger().post("/api/sign-in", content=sent, headers={"Content-Type": "application/json"})
    assert answer.status_code == 422
    assert answer.json()["error"]["field"] == "password"
    assert "secret" not in answer.text
    assert "1234" not in answer.text


def test_a_body_that_is_no_json_is_refused_in_words() -> None:
    answer = House().stranger().post("/api/sign-in", content=b"{", headers={"Content-Type": "application/json"})
    assert answer.status_code == 400
    assert answer.json()["error"] == {"kind": "not_readable", "field": "body", "says": "What was sent is not JSON."}


def test_what_somebody_typed_is_shown_as_text_and_never_as_markup() -> None:
    answer = House().stranger().post("/sign-in", data={"name": '"><script>alert(1)</script>'})
    assert answer.status_code == 401
    assert "<script>alert" not in answer.text
    assert "&lt;script&gt;" in answer.text


def test_the_notice_comes_even_when_the_page_around_it_is_broken(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_given: object, **_values: object) -> None:
        raise KeyError("gutta")

    owner = House().owner()
    monkeypatch.setattr("rootfill.web.errors.render", broken)
    answer = owner.get("/breaks/gone")
    assert (answer.status_code, answer.text) == (404, "There is no case 9.")


def test_every_operation_of_the_api_documents_the_one_error_shape() -> None:
    described = House().stranger().get("/openapi.json").json()
    for path, operations in described["paths"].items():
        for operation in operations.values():
            shape = operation["responses"]["422"]["content"]["application/json"]["schema"]
            assert shape == {"$ref": "#/components/schemas/ErrorAnswer"}, path

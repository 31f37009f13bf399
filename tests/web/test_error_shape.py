"""Whatever goes wrong on any route: a program gets one shape, a page a notice, nobody a traceback."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
import pytest
from fastapi.routing import iter_route_contexts

from rootfill.clinic.ports import Clinic
from rootfill.errors import NotKept
from rootfill.store import open_pictures
from rootfill.web.app import make_app
from tests.clinic.accounts import NAME, PASSWORD, owned_door
from tests.web.house import Clock
from tests.web.open_house import HEAD, MB, SMALL_TRAY, AtOnce, OpenHouse, open_house
from tests.web.visitor import PORT, Visitor

Ask = tuple[str, str]
"""Method and route."""
NO_PICTURES = open_pictures(Path("nowhere"))
TRACES = re.compile(r'Traceback|File "|\.py\b|\bError\b|gutta|\bat 0x')
FULL = "The disk is full; make room and save again."
CHANGE = {"was": "", "now": "no"}
BODIES: dict[str, Any] = {
    "/api/cases": {**HEAD, "id": "X", "canals": [MB]},
    "/api/case-files": {
        "case": {"id": "X", **HEAD},
        "canals": [{"name": "a", "reference": "b", "working_length_mm": 20}],
    },
    "/api/cases/{case}/canals/{key}": {"patent": CHANGE},
    "/api/cases/{case}/visits/{key}": {"rinsed": CHANGE},
    "/api/cases/{case}/sections/{part}": {"pacemaker": CHANGE},
    "/api/cases/{case}/canals": {"name": "MB2"},
    "/api/cases/{case}/findings": {"kind": "locator"},
    "/api/cases/{case}/tray": {"tray": None},
    "/api/cases/{case}/calls": {"text": "MB dry"},
    "/api/trays": {**SMALL_TRAY, "name": "mine"},
    "/api/trays/{key}": {"was": {}, "now": SMALL_TRAY},
    "/api/tray-copies": {"of": None, "name": "mine"},
    "/api/settings": {"notation": "iso3950", "idle_minutes": 9},
    "/api/sign-in": {"name": NAME, "password": PASSWORD},
}
FORMS = {
    "/new": {**HEAD, "id": "X", "name-0": "MB"},
    "/settings": {"notation": "iso3950", "minutes": "9"},
    "/trays": {"of": "", "name": "mine"},
    "/trays/{key}": {"was": "{}", "name": "mine"},
    "/cases/{case}/cell": {"at": "patient/0/pacemaker", "was": "", "text": "no"},
}
WITHOUT_RECORDS = {
    "/api/sign-in", "/api/sign-out", "/api/usual", "/api/schema", "/api/generic-tray", "/sign-in", "/sign-out", "/lock",
    "/locked", "/password", "/first/{secret}", "/enter/{secret}", "/keys", "/new/canals",
}  # fmt: skip


class Broken:
    """A store of which nothing works."""

    def __init__(self, error: type[Exception], says: str) -> None:
        self._error, self._says = error, says

    def __getattr__(self, name: str) -> Any:
        raise self._error(self._says)


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenHouse]:
    with open_house(tmp_path_factory.mktemp("house")) as opened:
        opened.case()
        yield opened


def routes() -> Iterator[Ask]:
    """Every route of the application."""
    door = owned_door()
    clinic = Clinic(Broken(ZeroDivisionError, ""), door.accounts, AtOnce(), NO_PICTURES, Clock())
    for route in iter_route_contexts(make_app(clinic, door, PORT).routes):
        if route.path and route.path != "/openapi.json":
            yield from ((method, route.path) for method in sorted(route.methods or ()) if method != "HEAD")


ROUTES = list(routes())
API = [ask for ask in ROUTES if ask[1].startswith("/api/")]
PAGES = [ask for ask in ROUTES if not ask[1].startswith("/api/")]


def address(path: str, key: str = "1", part: str = "canal") -> str:
    filled = path.replace("{part}", "patient" if "/sections/" in path else part)
    return re.sub(r"\{\w+\}", key, filled) + ("?tooth=36&notation=iso3950&text=MB" if path.startswith("/api/") else "")


def ask(visitor: Visitor, method: str, path: str, route: str = "") -> httpx.Response:
    """Send what the route takes."""
    given: dict[str, Any] = {"headers": {"X-CSRF": visitor.csrf}} if visitor.csrf else {}
    if method != "GET":
        given |= {"data": FORMS.get(route, {})} if visitor.csrf else {"json": BODIES.get(route, {})}
    return visitor.ask(method, path, **given)


def error(answer: httpx.Response) -> dict[str, str | None]:
    """The error of an answer of /api, which has the one shape."""
    assert answer.headers["content-type"] == "application/json", answer.text
    assert set(answer.json()) == {"error"}
    found: dict[str, str | None] = answer.json()["error"]
    assert set(found) == {"kind", "field", "says"}
    assert re.fullmatch(r"[a-z_]+", found["kind"] or "")
    assert re.search(r"[.?]$", found["says"] or ""), found
    assert not TRACES.search(answer.text), answer.text
    return found


def notice(answer: httpx.Response) -> None:
    """A whole page with a sentence."""
    assert answer.headers["content-type"] == "text/html; charset=utf-8"
    assert answer.text.startswith("<!doctype html>")
    assert not TRACES.search(re.sub(r"<(script|link)[^>]*>", "", answer.text)), answer.text


@contextmanager
def broken(house: OpenHouse, error: type[Exception], says: str) -> Iterator[None]:
    """Within, nothing of the store works but the accounts."""
    clinic = house.clinic
    house.app.state.clinic = Clinic(Broken(error, says), clinic.accounts, clinic.work, clinic.pictures, clinic.now)
    try:
        yield
    finally:
        house.app.state.clinic = clinic


def needs_records(asks: list[Ask]) -> list[Ask]:
    return [ask for ask in asks if ask[1] not in WITHOUT_RECORDS]


def of_one_thing(asks: list[Ask]) -> list[Ask]:
    return [ask for ask in needs_records(asks) if "{" in ask[1]]


def test_the_routes_are_those_of_the_page_and_of_the_api() -> None:
    assert {"/", "/new", "/cases/{case}/cell", "/settings", "/trays/{key}"} <= {path for _, path in PAGES}
    assert {"/api/cases", "/api/cases/{case}/plan", "/api/sign-out"} <= {path for _, path in API}
    assert len(API) > 35


@pytest.mark.parametrize(("method", "route"), needs_records(API))
def test_a_store_that_breaks_is_told_to_a_program_in_the_one_shape(house: OpenHouse, method: str, route: str) -> None:
    with broken(house, ZeroDivisionError, "gutta"):
        answer = ask(house.program(), method, address(route), route)
    assert (answer.status_code, error(answer)["kind"]) == (500, "our_fault")


@pytest.mark.parametrize(("method", "route"), needs_records(API))
def test_a_full_disk_is_told_to_a_program_in_the_one_shape(house: OpenHouse, method: str, route: str) -> None:
    with broken(house, NotKept, FULL):
        answer = ask(house.program(), method, address(route), route)
    assert (answer.status_code, error(answer)) == (507, {"kind": "not_kept", "field": None, "says": FULL})


@pytest.mark.parametrize(("method", "route"), needs_records(PAGES))
def test_a_store_that_breaks_is_a_notice_on_a_page(house: OpenHouse, method: str, route: str) -> None:
    with broken(house, ZeroDivisionError, "gutta"):
        answer = ask(house.browser(), method, address(route), route)
    assert answer.status_code == 500
    assert "this is our fault, not yours" in answer.text
    notice(answer)


@pytest.mark.parametrize(("method", "route"), of_one_thing(API))
@pytest.mark.parametrize("key", ["99", "-1", "9" * 30, "x", "²", "%00"])
def test_a_number_that_is_not_kept_is_not_found(house: OpenHouse, method: str, route: str, key: str) -> None:
    answer = ask(house.program(), method, address(route, key), route)
    assert (answer.status_code, error(answer)["kind"]) == (404, "not_found")


@pytest.mark.parametrize(("method", "route"), of_one_thing(PAGES))
@pytest.mark.parametrize("key", ["99", "9" * 30, "x"])
def test_a_page_that_is_not_there_is_a_notice(house: OpenHouse, method: str, route: str, key: str) -> None:
    answer = ask(house.browser(), method, address(route, key), route)
    assert answer.status_code == 404
    notice(answer)


@pytest.mark.parametrize(
    ("method", "route"), [ask for ask in API if ask[1] in BODIES and ask[0] in ("POST", "PUT", "PATCH")]
)
@pytest.mark.parametrize("body", ["", "{", "[]", "null", "3", '{"a": 1}', '{"was": NaN}', "\x00", '"\\ud800"'])
def test_a_body_that_is_not_what_is_asked_for_is_refused(house: OpenHouse, method: str, route: str, body: str) -> None:
    headers = {"Content-Type": "application/json"}
    answer = house.program().ask(method, address(route), content=body.encode(), headers=headers)
    assert answer.status_code in (400, 422), answer.text
    error(answer)


@pytest.mark.parametrize("route", sorted({route for _, route in ROUTES if "{secret}" not in route}))
def test_a_method_that_a_route_does_not_take_is_answered_with_those_it_does(house: OpenHouse, route: str) -> None:
    visitor = house.program() if route.startswith("/api/") else house.browser()
    answer = visitor.ask("PROPFIND", address(route), headers={"X-CSRF": visitor.csrf})
    assert answer.status_code == 405
    assert set(answer.headers["allow"].split(", ")) == {method for method, path in ROUTES if path == route}
    if route.startswith("/api/"):
        assert error(answer)["kind"] == "wrong_method"
    else:
        notice(answer)


@pytest.mark.parametrize(("method", "route"), [a for a in API if a[1] != "/api/sign-in"])
def test_no_route_answers_a_program_without_a_token(house: OpenHouse, method: str, route: str) -> None:
    answer = ask(house.stranger(), method, address(route), route)
    assert (answer.status_code, error(answer)["kind"]) == (401, "not_signed_in")

"""The description of the API is honest: what it says is asked for and answered, is; and it says all of it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.web.described import explore, operations
from tests.web.open_house import MB, OpenHouse, open_house

Operation = dict[str, Any]
NEVER = {"POST /api/sign-in", "PUT /api/trays/{key}", "POST /api/cases/{case}/pictures"}
"""Nobody guesses a password, what stands in a tray, or a picture."""


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenHouse]:
    with open_house(tmp_path_factory.mktemp("house")) as opened:
        yield opened


def described(house: OpenHouse) -> Iterator[tuple[str, str, Operation]]:
    for path, methods in house.app.openapi()["paths"].items():
        yield from ((method.upper(), path, operation) for method, operation in methods.items())


def test_every_answer_to_what_the_description_allows_and_forbids_keeps_to_it(tmp_path: Path) -> None:
    with open_house(tmp_path) as house:
        explored = explore(house, seed=20261124, examples=12)
        assert explored.faults == []
        assert house.is_sound()
        assert operations(house) - explored.done == NEVER
    assert explored.requests > 1500
    assert not [status for status in explored.statuses if status >= 500]


def test_an_answer_that_does_not_keep_to_the_description_would_be_seen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with open_house(tmp_path) as house:
        answers = house.app.openapi()
        del answers["paths"]["/api/cases/{case}/visits"]["post"]["responses"]["201"]
        answers["components"]["schemas"]["UsualShape"]["properties"]["canals"] = {"type": "string"}
        monkeypatch.setattr(house.app, "openapi_schema", answers)
        faults = explore(house, seed=1, examples=2, phases=("examples", "fuzzing")).faults
    assert any("/visits: status_code_conformance" in fault for fault in faults)
    assert any("/usual: response_schema_conformance" in fault for fault in faults)


def test_every_operation_has_a_summary_a_name_of_its_own_and_a_kind(house: OpenHouse) -> None:
    found = list(described(house))
    assert len(found) > 35
    assert [path for _, path, operation in found if not operation.get("summary") or not operation.get("tags")] == []
    names = [operation["operationId"] for _, _, operation in found]
    assert len(names) == len(set(names))


def test_every_answer_with_something_in_it_has_a_shape(house: OpenHouse) -> None:
    bare = [
        (method, path, status)
        for method, path, operation in described(house)
        for status, answer in operation["responses"].items()
        if status != "204" and not all(kind.get("schema") for kind in answer.get("content", {"": {}}).values())
    ]
    assert bare == []


def test_every_operation_says_how_it_fails_and_all_but_signing_in_that_it_needs_a_token(house: OpenHouse) -> None:
    for method, path, operation in described(house):
        for status in ("400", "401", "404", "405", "409", "422", "500", "507"):
            shape = operation["responses"][status]["content"]["application/json"]["schema"]
            assert shape == {"$ref": "#/components/schemas/ErrorAnswer"}, (method, path, status)
        assert operation.get("security") == (None if path == "/api/sign-in" else [{"token": []}]), path
    scheme = house.app.openapi()["components"]["securitySchemes"]["token"]
    assert (scheme["type"], scheme["scheme"]) == ("http", "bearer")


def test_every_operation_below_api_is_described_and_no_page_is(house: OpenHouse) -> None:
    from fastapi.routing import iter_route_contexts

    served = {route.path for route in iter_route_contexts(house.app.routes) if (route.path or "").startswith("/api/")}
    assert {path for _, path, _ in described(house)} == served


def test_the_example_of_each_change_is_one_that_is_taken(house: OpenHouse) -> None:
    case = house.case({**MB, "length": "20.5"})
    row = house.kept(case).canals[0].key
    paths = house.app.openapi()["paths"]
    for path, key in (
        ("canals/{key}", row),
        ("visits/{key}", house.kept(case).visits[0].key),
        ("sections/{part}", "case"),
    ):
        operation = paths[f"/api/cases/{{case}}/{path}"]["patch"]
        (example,) = operation["requestBody"]["content"]["application/json"]["schema"]["examples"]
        answer = house.program().ask("PATCH", f"/api/cases/{case}/{path.split('/')[0]}/{key}", json=example)
        assert answer.status_code == 200, answer.text

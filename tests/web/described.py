"""Requests made up from the description of the API, and every answer held against it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from dataclasses import dataclass, field
from typing import Any

import schemathesis
from schemathesis.config import SchemathesisConfig
from schemathesis.engine import events, from_schema

from tests.web.open_house import MB, ML, OpenHouse
from tests.web.shots import as_file, ramps, upload
from tests.web.visitor import HOME, PORT

PHASES = ("examples", "coverage", "fuzzing", "stateful")
CASES = 6
"""Each with two canals and two findings; of the last two, one is there to lose a finding, one to be removed."""
WORDS = {
    "cases": list(range(1, CASES - 1)),
    "spare findings": [2 * CASES - 3, 2 * CASES - 2],
    "rows": list(range(1, 9)),
    "axes": [0, 1, 2],
    "names": ["MB", "ML", "DB"],
    "lines": [
        "MB locator 21.5", "MB 30 at 19", "all dry", "MB length 20; ML length 19.5", "ML joins MB at 3", "isolated",
        "MB dry, ML damp", "mb 50 binds 14", "MB gutta", "ML paper point dry 19.5",
    ],
    "teeth": ["36", "11", "#19", "55", "48"],
    "notations": ["iso3950", "universal"],
    "texts": ["", "20.5", "30/.04", "dry", "yes", "straight", "MB at 3"],
}  # fmt: skip
PLACES = {
    "path.case": "cases", "path.key": "rows", "path.number": "rows",
    "path.axis": "axes", "path.index": "axes", "query.text": "lines", "body.text": "lines",
    "body.canal": "names", "query.tooth": "teeth", "query.notation": "notations", "body.tooth": "teeth",
    "body.notation": "notations", "body.was": "texts", "body.now": "texts",
}  # fmt: skip
"""Where words that mean something are put in most of the time; elsewhere anything of the right type comes."""
AS_TYPED = "^/api/(case-files|trays.*|cases/.case./findings)$"
"""They take what people type, '22,5' for 22.5 and 1 for yes: more than their schema says."""


@dataclass
class Explored:
    """What was asked and answered, and every answer that does not keep to the description."""

    requests: int = 0
    statuses: Counter[int] = field(default_factory=Counter)
    done: set[str] = field(default_factory=set)
    """Operations that were done at least once."""
    faults: list[str] = field(default_factory=list)


def explore(house: OpenHouse, seed: int, examples: int, phases: Collection[str] = PHASES) -> Explored:
    """Ask every operation but signing out, which would end it all."""
    for _ in range(CASES):
        case = house.case(MB, ML)
        house.program().post(f"/api/cases/{case}/calls", json={"text": "MB 50 binds 15; ML 50 binds 14"})
        house.program().post(f"/api/cases/{case}/cards")
        house.program().post(f"/api/cases/{case}/pictures", **upload(("a.npy", as_file(ramps()))))
    schema = schemathesis.openapi.from_asgi(
        "/openapi.json",
        house.app,
        config=SchemathesisConfig.from_dict(_settings(house.token(), seed, examples, phases)),
        headers={"Host": f"127.0.0.1:{PORT}"},
    )
    explored = Explored()
    for event in from_schema(schema).execute():
        if isinstance(event, events.ScenarioFinished):
            _note(explored, event)
        elif isinstance(event, events.NonFatalError):
            explored.faults.append(f"{event.label}: {event.info.title}: {event.info.message}")
    return explored


def operations(house: OpenHouse, without: Collection[str] = ("POST /api/sign-out",)) -> set[str]:
    """Every operation that is described."""
    paths = house.app.openapi()["paths"]
    return {f"{method.upper()} {path}" for path, methods in paths.items() for method in methods} - set(without)


def _settings(token: str, seed: int, examples: int, phases: Collection[str]) -> dict[str, Any]:
    return {
        "base-url": HOME,
        "seed": seed,
        "headers": {"Authorization": f"Bearer {token}"},
        "workers": 1,
        "continue-on-failure": True,
        "suppress-health-check": ["all"],
        "generation": {"max-examples": examples, "database": "none", "no-shrink": True},
        "phases": {name: {"enabled": name in phases} for name in PHASES},
        # What is right by its type may still be wrong: a tooth that does not exist, a name that is taken.
        "checks": {"positive_data_acceptance": {"enabled": False}},
        "dictionaries": {name: {"values": values} for name, values in WORDS.items()},
        "parameters": {place: {"dictionary": name, "probability": 0.8} for place, name in PLACES.items()},
        "operations": [
            {"include-path": "/api/sign-out", "enabled": False},
            {"include-name": "DELETE /api/cases/{case}", "parameters": {"path.case": CASES}},
            {"include-name": "DELETE /api/cases/{case}/findings/{key}", "parameters": _SPARE},
            {"include-path-regex": AS_TYPED, "checks": {"negative_data_rejection": {"enabled": False}}},
            # Every border of every key of a case file: 1,900 requests, and the rest has as many.
            {"include-path": "/api/case-files", "phases": {"coverage": {"enabled": False}}},
        ],
    }


_SPARE = {"path.case": CASES - 1, "path.key": {"dictionary": "spare findings", "probability": 0.8}}


def _note(explored: Explored, event: events.ScenarioFinished) -> None:
    recorder = event.recorder
    explored.requests += len(recorder.interactions)
    for key, interaction in recorder.interactions.items():
        if interaction.response is None:
            explored.faults.append(f"{event.label}: no answer")
            continue
        status = interaction.response.status_code
        explored.statuses[status] += 1
        if status < 300 and key in recorder.cases:
            explored.done.add(recorder.cases[key].value.operation.label)
    for checks in recorder.checks.values():
        for check in checks:
            if check.failure_info is not None:
                failure = check.failure_info.failure
                explored.faults.append(
                    f"{event.label}: {check.name}: {failure.title}: {failure.message}\n{check.failure_info.code_sample}"
                )

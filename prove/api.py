"""Requests made up from the description of the API, and forms no page would send: none breaks anything."""

from __future__ import annotations

import tempfile
from collections import Counter
from pathlib import Path
from typing import Any

from tests.web.described import explore, operations
from tests.web.open_house import open_house
from tests.web.storm import storm

COVERS = ["src/rootfill/web", "src/rootfill/clinic", "src/rootfill/store"]

EXAMPLES = 30
"""For each operation, beside every border of its description."""
FORMS = 2000
FAULTS = ("unlike_described", "broken_forms", "answered_500", "unsound")


def run(seed: int) -> dict[str, Any]:
    """Ask and send so many, each on a store of its own, and look at every answer and at what is left."""
    found: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        _explore(Path(folder) / "api", seed, found)
        _storm(Path(folder) / "forms", seed, found)
    passed = found["operations_done"] >= found["operations"] - 2 and not any(found[fault] for fault in FAULTS)
    return {**{name: found[name] for name in (*_COUNTED, *FAULTS)}, "passed": passed}


_COUNTED = ("operations", "operations_done", "requests", "forms")


def _explore(folder: Path, seed: int, found: Counter[str]) -> None:
    with open_house(folder) as house:
        explored = explore(house, seed, EXAMPLES)
        found.update(
            operations=len(operations(house)),
            operations_done=len(explored.done),
            requests=explored.requests,
            unlike_described=len(explored.faults),
            answered_500=_from_500(explored.statuses),
            unsound=not house.is_sound(),
        )


def _storm(folder: Path, seed: int, found: Counter[str]) -> None:
    with open_house(folder) as house:
        seen = storm(house, seed, FORMS)
        found.update(
            forms=sum(seen.statuses.values()),
            broken_forms=len(seen.faults),
            answered_500=_from_500(seen.statuses),
            unsound=not house.is_sound(),
        )


def _from_500(statuses: Counter[int]) -> int:
    return sum(count for status, count in statuses.items() if status >= 500)

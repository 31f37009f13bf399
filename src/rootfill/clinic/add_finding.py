"""One measurement, entered as the case file has it."""

from __future__ import annotations

from typing import Any

from rootfill.clinic.check_row import check_row
from rootfill.clinic.kept import Edit, Fields, KeptCase
from rootfill.clinic.ports import Clinic
from rootfill.errors import InputRefused


def add_finding(clinic: Clinic, by: str, case: int, entered: Fields) -> KeptCase:
    """A finding of the newest visit, unless it names another. Raises InputRefused."""
    kept = clinic.records.case(case)
    finding = {**_newest_visit(kept), **{name: value for name, value in entered.items() if value is not None}}
    check_row("finding", finding)
    if "kind" not in finding:
        raise InputRefused("kind", None, "give it, such as binds or locator")
    canals, visits = [r.entered.get("name") for r in kept.canals], [r.entered.get("id") for r in kept.visits]
    _check("canal", finding.get("canal"), canals)
    _check("visit", finding.get("visit"), visits)
    clinic.records.mark(case, [Edit("finding", None, None, finding)], _says(finding), by, clinic.now())
    return clinic.records.case(case)


def _newest_visit(kept: KeptCase) -> dict[str, Any]:
    known = kept.visits[-1].entered.get("id") if kept.visits else None
    return {} if known is None else {"visit": known}


def _check(field: str, value: object, known: list[Any]) -> None:
    if value is not None and str(value) not in map(str, known):
        raise InputRefused(field, value, f"of this case: {', '.join(map(str, known)) or 'none'}")


def _says(finding: Fields) -> str:
    words = (finding.get("canal"), str(finding["kind"]).replace("_", " "), finding.get("value_mm"))
    return " ".join(str(word) for word in words if word is not None)

"""One row of a case as it is entered: refused where a field cannot be right, passed where it is only incomplete."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from pydantic import TypeAdapter, ValidationError

from rootfill.clinic.kept import Fields
from rootfill.clinic.refusal import refusal_so_far
from rootfill.errors import InputRefused
from rootfill.plan.case import Baseline, CanalEntry, CaseHead, Finding, Materials, Patient, Preferences, Visit

_KINDS: Mapping[str, Any] = {
    "case": CaseHead,
    "baseline": Baseline,
    "patient": Patient,
    "preferences": Preferences,
    "materials": Materials,
    "visit": Visit,
    "canal": CanalEntry,
    "finding": Finding,
}


def check_row(part: str, entered: Fields) -> None:
    """Refuse a row of which a field cannot be right; one that is only incomplete passes. Raises InputRefused."""
    if part == "tray":
        return
    adapter = _adapter(part)
    try:
        adapter.validate_python(dict(entered))
    except ValidationError as error:
        refused = refusal_so_far(error, adapter, dict(entered))
        if refused is not None:
            raise refused from None


@cache
def _adapter(part: str) -> TypeAdapter[Any]:
    try:
        return TypeAdapter(_KINDS[part])
    except KeyError:
        raise InputRefused("part", part, f"allowed: {', '.join(_KINDS)}") from None

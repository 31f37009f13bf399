"""A kept case as the case file it will be: what can be planned already, and what is still to be entered."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from pydantic import TypeAdapter, ValidationError

from rootfill.clinic.casefile import case_adapter, generic_tray, tray_adapter
from rootfill.clinic.kept import Fields, KeptCase
from rootfill.clinic.ports import Records
from rootfill.clinic.refusal import refusal, refusal_so_far
from rootfill.errors import InputRefused
from rootfill.plan.case import Baseline, CanalEntry, Case, CaseHead, Finding, Materials, Patient, Preferences, Visit
from rootfill.tray.model import Tray

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
NEEDED = {
    "reference": ("reference",),
    "length": ("working_length_mm",),
    "last file": ("made", "profile", "files"),
    "orifice": ("orifice_at_mm", "canal_length_mm"),
}
"""What a canal cannot be planned without, in the words of the page, and the keys any of which gives it."""


@dataclass(frozen=True)
class Draft:
    """The part of a case that can be planned, and per canal left out what it still needs."""

    case: Case | None
    needs: Mapping[str, tuple[str, ...]]


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


def case_data(kept: KeptCase) -> dict[str, Any]:
    """The case in the shape of a case file, as far as it was entered."""
    head = {**kept.sections.get("case", {})}
    if kept.sections.get("baseline"):
        head["baseline"] = dict(kept.sections["baseline"])
    data: dict[str, Any] = {"case": head}
    for part in ("patient", "preferences", "materials"):
        if kept.sections.get(part):
            data[part] = dict(kept.sections[part])
    lists = (("visits", kept.visits), ("canals", kept.canals), ("findings", kept.findings))
    return {**data, **{name: [dict(r.entered) for r in rows] for name, rows in lists if rows}}


def draft_of(data: Mapping[str, Any]) -> Draft:
    """What can be planned of a case, perhaps incomplete. Raises InputRefused where it cannot be read."""
    needs = {str(c.get("name", "?")): tuple(_lacking(c)) for c in data.get("canals", [])}
    needs = _with_joined(needs, data.get("canals", []))
    whole = [c for c in data.get("canals", []) if not needs[str(c.get("name", "?"))]]
    left_out = {name: why for name, why in needs.items() if why}
    if not whole:
        return Draft(None, left_out)
    findings = [f for f in data.get("findings", []) if f.get("canal") not in left_out]
    return Draft(read_data({**data, "canals": whole, "findings": findings}), left_out)


def read_data(data: Mapping[str, Any]) -> Case:
    """A case from the shape of a case file. Raises InputRefused."""
    try:
        return case_adapter().validate_python(data)
    except ValidationError as error:
        raise refusal(error, case_adapter(), data) from None


def tray_of(kept: KeptCase, records: Records) -> Tray:
    """The tray of a case; the generic one where none was chosen. Raises InputRefused, NotFound."""
    key = kept.sections.get("tray", {}).get("key")
    return generic_tray() if key is None else read_tray_data(records.tray(int(key)).entered)


def read_tray_data(entered: Fields) -> Tray:
    """A tray from the fields of a tray file. Raises InputRefused."""
    try:
        return tray_adapter().validate_python(dict(entered))
    except ValidationError as error:
        raise refusal(error, tray_adapter(), entered) from None


def _lacking(canal: Fields) -> Iterator[str]:
    for words, keys in NEEDED.items():
        if all(canal.get(key) is None for key in keys):
            yield words


def _with_joined(needs: Mapping[str, tuple[str, ...]], canals: list[Fields]) -> dict[str, tuple[str, ...]]:
    """A canal that ends in one that cannot be planned yet cannot be planned either."""
    found = dict(needs)
    for _ in canals:
        for canal in canals:
            name, other = str(canal.get("name", "?")), (canal.get("joins") or {}).get("canal")
            if not found[name] and found.get(str(other)):
                found[name] = (f"what {other} needs, since it joins {other}",)
    return found


@cache
def _adapter(part: str) -> TypeAdapter[Any]:
    try:
        return TypeAdapter(_KINDS[part])
    except KeyError:
        raise InputRefused("part", part, f"allowed: {', '.join(_KINDS)}") from None

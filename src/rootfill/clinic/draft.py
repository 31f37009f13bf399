"""A kept case as the case file it will be: what can be planned already, and what is still to be entered."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

from rootfill.clinic.casefile import case_adapter, generic_tray, tray_adapter
from rootfill.clinic.cells import CANAL
from rootfill.clinic.kept import Fields, KeptCase
from rootfill.clinic.ports import Records
from rootfill.clinic.refusal import refusal
from rootfill.errors import InputRefused
from rootfill.plan.case import Case
from rootfill.plan.frame import frames
from rootfill.tray.model import Tray

NEEDED = {
    "reference": ("reference",),
    "length": ("working_length_mm",),
    "last file": ("made", "profile", "files"),
    "orifice": ("orifice_at_mm", "canal_length_mm"),
}
"""What a canal cannot be planned without, in the words of the page, and the keys any of which gives it."""


@dataclass(frozen=True)
class Draft:
    """The part of a case that can be planned, and for each canal left out why, in words."""

    case: Case | None
    left_out: Mapping[str, str]


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
    canals = data.get("canals", [])
    left_out = {str(c.get("name", "?")): f"needs {', '.join(why)}" for c in canals if (why := tuple(_lacking(c)))}
    while True:
        left_out |= _joined_to(left_out, canals)
        whole = [c for c in canals if str(c.get("name", "?")) not in left_out]
        if not whole:
            return Draft(None, left_out)
        findings = [f for f in data.get("findings", []) if f.get("canal") not in left_out]
        case = read_data({**data, "canals": whole, "findings": findings})
        misfit = _misfit(case)
        if misfit is None:
            return Draft(case, left_out)
        left_out |= misfit


def _misfit(case: Case) -> Mapping[str, str] | None:
    """The first canal whose numbers do not go together, and why; None where all do."""
    try:
        frames(case)
    except InputRefused as refused:
        found = re.match(r"canals\[(\d+)\]\.?(\w*)", refused.field)
        if found is None:
            raise
        word = next((c.label for c in CANAL if found[2] in c.keys), found[2].replace("_", " ") or "shape")
        said = InputRefused(word, refused.value, refused.allowed)
        return {case.canals[int(found[1])].name: said.sentence.rstrip(".")}
    return None


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


def _joined_to(left_out: Mapping[str, str], canals: Sequence[Fields]) -> dict[str, str]:
    """Canals that end in one that cannot be planned cannot be planned either."""
    found: dict[str, str] = {}
    for _ in canals:
        for canal in canals:
            name, other = str(canal.get("name", "?")), str((canal.get("joins") or {}).get("canal"))
            if name not in left_out and (other in left_out or other in found):
                found[name] = f"joins {other}, which is not planned"
    return found

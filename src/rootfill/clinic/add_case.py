"""A new case: from what is typed on one page, or from a case file."""

from __future__ import annotations

import datetime as dt
import json
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

from rootfill.clinic.casefile import read_case
from rootfill.clinic.cells import CANAL, with_cell
from rootfill.clinic.check_row import check_row
from rootfill.clinic.draft import read_data
from rootfill.clinic.kept import Edit, Fields, KeptCase
from rootfill.clinic.ports import Clinic
from rootfill.errors import InputRefused, Said
from rootfill.plan.case import TrayEntry
from rootfill.tooth.anatomy import LookFor, UsualCanal, look_for, usual_canals
from rootfill.tooth.notation import ToothNumber, tooth_number


def suggested_id(clinic: Clinic) -> str:
    """A pseudonym that no case has yet: 'C-0012'."""
    number = clinic.records.cases("", 1, 0).total + 1
    while clinic.records.cases(f"C-{number:04d}", 1, 0).total:
        number += 1
    return f"C-{number:04d}"


def usual(number: object, notation: str | None) -> tuple[ToothNumber, tuple[UsualCanal, ...], tuple[LookFor, ...]]:
    """What a new case of this tooth begins with. Raises InputRefused for a tooth that is refused."""
    tooth = tooth_number(number, notation)
    canals = usual_canals(tooth)
    return tooth, canals, look_for(tooth, [c.name for c in canals])


def add_case(
    clinic: Clinic, by: str, head: Fields, typed: Sequence[Mapping[str, str]], tray: int | None = None
) -> KeptCase:
    """A new case from what was typed of each canal (texts by cell); a canal without a name is left out.

    Raises InputRefused, naming canal and field.
    """
    tooth = tooth_number(head.get("tooth"), head.get("notation"))
    canals = [_typed_canal(one) for one in typed if one.get("name", "").strip()]
    check_names(canals)
    if not canals:
        raise InputRefused("canals", None, "name at least one canal")
    check_row("case", head)
    now = clinic.now()
    sections = {"case": dict(head), "tray": {} if tray is None else {"key": tray}}
    visit = {"id": 1, "date": f"{now:%Y-%m-%d}"}
    says = f"New case: {head['tooth']}, {tooth.words}"
    return clinic.records.add_case(sections, [visit], canals, says, by, now)


def keep_case_file(clinic: Clinic, by: str, text: str) -> KeptCase:
    """A case from the text of a case file. Raises InputRefused."""
    read_case(text, _NoShelf())
    return keep_case_data(clinic, by, json.loads(json.dumps(tomllib.loads(text), default=_plain_date)))


def keep_case_data(clinic: Clinic, by: str, data: Mapping[str, Any]) -> KeptCase:
    """A case from the plain data of a case file, its inline tray kept as a tray of the clinic. Raises InputRefused."""
    case = read_data(data)
    tooth_number(case.case.tooth, case.case.notation)
    check_names(data["canals"])
    now = clinic.now()
    tray = _kept_tray(clinic, case.tray, data.get("tray"), now)
    sections = {
        "case": {k: v for k, v in data["case"].items() if k != "baseline"},
        "baseline": data["case"].get("baseline", {}),
        **{part: data.get(part, {}) for part in ("patient", "preferences", "materials")},
        "tray": {} if tray is None else {"key": tray},
    }
    says = f"From a case file: {case.case.tooth}"
    kept = clinic.records.add_case(sections, data.get("visits") or [{"id": 1}], data["canals"], says, by, now)
    found = [Edit("finding", None, None, finding) for finding in data.get("findings", [])]
    if not found:
        return kept
    clinic.records.mark(kept.key, found, f"{len(found)} findings from the file", by, now)
    return clinic.records.case(kept.key)


def _kept_tray(clinic: Clinic, tray: TrayEntry | None, entered: Any, now: dt.datetime) -> int | None:
    """The key of a tray of the clinic with this content, made where there is none; None for the generic one."""
    if tray is None or tray.file == "generic":
        return None
    if tray.file is not None:
        _NoShelf().tray_text(tray.file)
    fields = {name: value for name, value in entered.items() if name != "file"}
    same = next((kept.key for kept in clinic.records.trays() if kept.entered == fields), None)
    return clinic.records.add_tray(fields, now).key if same is None else same


def _typed_canal(typed: Mapping[str, str]) -> dict[str, Any]:
    canal: dict[str, Any] = {}
    name = typed.get("name", "").strip()
    try:
        for one in CANAL:
            canal = with_cell("canal", one, canal, typed.get(one.field, ""))
        check_row("canal", canal)
    except InputRefused as refused:
        raise InputRefused(f"{name}: {refused.field}", refused.value, refused.allowed) from None
    return canal


def check_names(canals: Sequence[Fields]) -> None:
    """Refuse two canals of one name, and more than a case holds. Raises InputRefused."""
    names = [str(c.get("name", "")).casefold() for c in canals]
    for canal, name in zip(canals, names, strict=True):
        if names.count(name) > 1:
            raise InputRefused("canal", canal.get("name"), "every canal has a name of its own")
    for name in {"not", "no", "off", "all"}.intersection(names):
        raise InputRefused("canal", name, "another name: called out, this word would mean something else")
    if len(canals) > 8:
        raise InputRefused("canals", Said(f"{len(canals)} of them"), "at most 8")


def _plain_date(value: object) -> str:
    if isinstance(value, dt.date | dt.time):
        return value.isoformat()
    raise TypeError(type(value).__name__)


class _NoShelf:
    """A clinic keeps trays under their names, not in files."""

    def tray_text(self, name: str) -> str:
        raise InputRefused("tray.file", name, "list the instruments in the case file, or leave the tray out")

"""Kept cases to speak of, and what a line makes of them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from rootfill.clinic.callout import Understood, understand
from rootfill.clinic.casefile import generic_tray
from rootfill.clinic.kept import Edit, Fields, KeptCase, Row
from rootfill.tray.model import Tray

TRAY = generic_tray()
_WHEN = dt.datetime(2026, 10, 20, 9, 0, tzinfo=dt.UTC)


def canal(name: str, length: float | None = None, **more: Any) -> dict[str, Any]:
    known = {} if length is None else {"working_length_mm": length}
    return {"name": name, "reference": f"{name} cusp tip", **known, **more}


def kept(*canals: Fields, tooth: int = 36, visits: Sequence[Fields] = ({"id": 1},)) -> KeptCase:
    head = {"id": "invented", "tooth": tooth, "notation": "iso3950"}
    return KeptCase(1, 1, {"case": head}, _rows(visits, 1), _rows(canals, 11), (), _WHEN, _WHEN)


def _rows(entered: Sequence[Fields], first: int) -> tuple[Row, ...]:
    return tuple(Row(first + i, fields) for i, fields in enumerate(entered))


MOLAR = kept(canal("MB", 20.5), canal("ML", 20.0), canal("DB", 21.0), canal("DL"))
"""Lengths of three canals are known, that of DL is not."""
INCISOR = kept(canal("single"), tooth=21)


def hear(line: str, case: KeptCase = MOLAR, tray: Tray = TRAY) -> Understood:
    return understand(line, case, tray)


def sure(line: str, case: KeptCase = MOLAR, tray: Tray = TRAY) -> Understood:
    heard = hear(line, case, tray)
    assert heard.doubt is None, f"{line}: {heard.doubt}"
    return heard


def doubt(line: str, case: KeptCase = MOLAR, tray: Tray = TRAY) -> str:
    heard = hear(line, case, tray)
    assert heard.doubt is not None, f"{line}: {heard.says}"
    assert heard.edits == ()
    return heard.doubt


def findings(line: str, case: KeptCase = MOLAR, tray: Tray = TRAY) -> list[dict[str, Any]]:
    """What is found, without the visit."""
    edits = sure(line, case, tray).edits
    assert all(e.part == "finding" and e.before is None and e.key is None for e in edits)
    return [{k: v for k, v in (e.after or {}).items() if k != "visit"} for e in edits]


def set_fields(line: str, case: KeptCase = MOLAR, tray: Tray = TRAY) -> dict[str, dict[str, Any]]:
    """What is set of each canal that changes, by name."""
    edits = sure(line, case, tray).edits
    assert all(e.part == "canal" and e.before == _entered(case, e) for e in edits)
    return {str(_of(e.after)["name"]): {k: _of(e.after).get(k) for k in e.changed()} for e in edits}


def applied(case: KeptCase, edits: Sequence[Edit]) -> KeptCase:
    """The case after these edits, each field held against what its edit saw."""
    rows = {"visit": list(case.visits), "canal": list(case.canals), "finding": list(case.findings)}
    for edit in edits:
        part = rows[edit.part]
        if edit.key is None:
            part.append(Row(max((r.key for r in part), default=0) + 1, _of(edit.after)))
            continue
        i = next(i for i, row in enumerate(part) if row.key == edit.key)
        assert all(part[i].entered.get(name) == _of(edit.before).get(name) for name in edit.changed())
        part[i] = Row(edit.key, _of(edit.after))
    return replace(
        case, visits=tuple(rows["visit"]), canals=tuple(rows["canal"]), findings=tuple(rows["finding"])
    )  # fmt: skip


def _entered(case: KeptCase, edit: Edit) -> Fields | None:
    row = case.row(edit.part, edit.key or 0)
    return None if row is None else row.entered


def _of(fields: Fields | None) -> Mapping[str, Any]:
    assert fields is not None
    return fields

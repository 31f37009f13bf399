"""A case and its rows in the tables: read as they stand, changed by edits."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from rootfill.clinic.kept import SECTIONS, Edit, KeptCase, Row
from rootfill.errors import ChangedMeanwhile, InputRefused, NotFound
from rootfill.store.edits import edited, gone
from rootfill.store.model import CanalRow, CaseRow, FindingRow, MarkRow, Part, PictureRow, TrayRow, VisitRow

_TABLES: Mapping[str, type[Part]] = {
    "visit": VisitRow, "canal": CanalRow, "finding": FindingRow, "picture": PictureRow,
}  # fmt: skip


def case_row(session: Session, key: int) -> CaseRow:
    """The row of a case. Raises NotFound."""
    row = session.get(CaseRow, key)
    if row is None:
        raise NotFound(f"There is no case {key} here: it may have been removed; go back to the list of cases.")
    return row


def kept_case(session: Session, key: int) -> KeptCase:
    """A case as it stands. Raises NotFound."""
    row = case_row(session, key)
    rows = {part: _rows(session, table, key) for part, table in _TABLES.items()}
    return KeptCase(
        key=row.key,
        revision=row.revision,
        sections=row.sections,
        visits=rows["visit"],
        canals=rows["canal"],
        findings=rows["finding"],
        made_at=row.made_at,
        changed_at=row.changed_at,
        pictures=rows["picture"],
    )


def apply(session: Session, case: CaseRow, edit: Edit) -> Edit:
    """Do one edit; the answer names its row. Raises ChangedMeanwhile."""
    if edit.part in SECTIONS:
        fields = edited(case.sections.get(edit.part, {}), edit)
        case.sections = {**{p: f for p, f in case.sections.items() if p != edit.part}, **_named(edit.part, fields)}
        return edit
    if edit.part not in _TABLES:
        raise InputRefused("part", edit.part, f"allowed: {', '.join((*SECTIONS, *_TABLES))}")
    if edit.before is None:
        return _add(session, case, edit)
    row = session.get(_TABLES[edit.part], edit.key) if edit.key is not None else None
    if row is None or row.case != case.key:
        raise gone(edit)
    fields = edited(row.entered, edit)
    if edit.after is None:
        session.delete(row)
    else:
        _fill(row, fields)
    session.flush()
    return edit


def repeat_columns(session: Session, case: CaseRow) -> None:
    """Bring the columns of the list in step. Raises InputRefused for an id or a tray that cannot be."""
    head, tray = case.sections.get("case", {}), case.sections.get("tray", {}).get("key")
    case.id = str(head.get("id", "")) or None
    case.id_folded = (case.id or "").casefold()
    case.tooth, case.notation = str(head.get("tooth", "")), str(head.get("notation", ""))
    case.tray = tray
    with session.no_autoflush:
        other = select(CaseRow.key).where(CaseRow.id == case.id, CaseRow.key != case.key)
        if case.id is not None and session.scalar(other) is not None:
            raise InputRefused("case.id", case.id, "another case has this id: give each case an id of its own")
        if tray is not None and session.get(TrayRow, tray) is None:
            raise InputRefused("tray.key", tray, "there is no such tray here: choose one of the list")


def _add(session: Session, case: CaseRow, edit: Edit) -> Edit:
    table = _TABLES[edit.part]
    if edit.key is not None:
        _may_come_back(session, case, edit)
    row = table(case=case.key)
    if edit.key is not None:
        row.key = edit.key
    _fill(row, edited({}, edit))
    session.add(row)
    session.flush()
    return Edit(edit.part, row.key, edit.before, edit.after)


def _may_come_back(session: Session, case: CaseRow, edit: Edit) -> None:
    """A number may be had again only by the row that had it."""
    there = session.get(_TABLES[edit.part], edit.key)
    if there is not None:
        raise ChangedMeanwhile(f"{edit.part} {edit.key}", None, there.entered)
    had = session.scalars(select(MarkRow.edits).where(MarkRow.case == case.key))
    if not any(e["part"] == edit.part and e["key"] == edit.key for edits in had for e in edits):
        raise NotFound(f"There never was a {edit.part} {edit.key} in this case: add it without a number.")


def _fill(row: Part, fields: dict[str, Any]) -> None:
    row.entered = fields
    if isinstance(row, CanalRow):
        row.name = str(fields.get("name", ""))
    if isinstance(row, PictureRow):
        row.file = str(fields.get("file", ""))


def _rows(session: Session, table: type[Part], case: int) -> tuple[Row, ...]:
    found = session.execute(select(table.key, table.entered).where(table.case == case).order_by(table.key))
    return tuple(Row(key, entered) for key, entered in found)


def _named(part: str, fields: dict[str, Any]) -> dict[str, dict[str, Any]]:
    return {part: fields} if fields else {}

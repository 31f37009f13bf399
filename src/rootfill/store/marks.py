"""Marks: written with the change that they are of, taken back, read."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from rootfill.clinic.kept import Edit, Mark
from rootfill.store.case_rows import apply, case_row, repeat_columns
from rootfill.store.edits import from_json, plain_edit, to_json
from rootfill.store.model import CaseRow, MarkRow


def put_mark(
    session: Session, case: CaseRow, edits: Sequence[Edit], says: str, by: str, at: dt.datetime,
    undoes: int | None = None,
) -> Mark:  # fmt: skip
    """Do the edits of a case and write down that they were done."""
    done = [apply(session, case, plain_edit(edit)) for edit in edits]
    case.revision += 1
    case.changed_at = at
    repeat_columns(session, case)
    row = MarkRow(
        case=case.key,
        number=case.revision,
        at=at.astimezone(dt.UTC),
        by=by,
        says=says,
        undone=False,
        undoes=undoes,
        edits=[to_json(edit) for edit in done],
    )
    session.add(row)
    session.flush()
    return _mark(row)


def take_back(session: Session, key: int, by: str, at: dt.datetime) -> Mark | None:
    """Undo the newest mark that can be; None where there is none."""
    case = case_row(session, key)
    taken = session.scalar(
        select(MarkRow)
        .where(MarkRow.case == key, MarkRow.number > 1, MarkRow.undone.is_(False), MarkRow.undoes.is_(None))
        .order_by(MarkRow.number.desc())
        .limit(1)
    )
    if taken is None:
        return None
    taken.undone = True
    edits = [from_json(edit).reverse for edit in reversed(taken.edits)]
    return put_mark(session, case, edits, f"taken back: {taken.says}", by, at, taken.number)


def newest_marks(session: Session, key: int, limit: int) -> tuple[Mark, ...]:
    """The newest first. Raises NotFound."""
    case_row(session, key)
    found = session.scalars(select(MarkRow).where(MarkRow.case == key).order_by(MarkRow.number.desc()).limit(limit))
    return tuple(_mark(row) for row in found)


def _mark(row: MarkRow) -> Mark:
    edits = tuple(from_json(edit) for edit in row.edits)
    return Mark(row.number, row.at, row.by, row.says, edits, row.undone, row.undoes)

"""Plans and documents that are kept."""

from __future__ import annotations

import datetime as dt
import hashlib
import json
from collections.abc import Mapping

from sqlalchemy import select
from sqlalchemy.orm import Session

from rootfill.clinic.kept import DocumentLine, Fields, KeptPlan
from rootfill.errors import NotFound
from rootfill.store.case_rows import case_row
from rootfill.store.edits import plain
from rootfill.store.model import DocumentRow, PlanRow
from rootfill.store.transactions import Transactions

_LINE = (DocumentRow.key, DocumentRow.case, DocumentRow.plan, DocumentRow.name, DocumentRow.made_at)


class Plans:
    """See ``rootfill.clinic.ports.Records``."""

    def __init__(self, transactions: Transactions) -> None:
        self._transactions = transactions

    def newest_plan(self, case: int) -> KeptPlan | None:
        with self._transactions.reading() as session:
            case_row(session, case)
            row = _newest(session, case)
            return None if row is None else _kept(row)

    def plan(self, case: int, number: int) -> KeptPlan:
        with self._transactions.reading() as session:
            return _kept(_plan_row(session, case, number))

    def keep_plan(self, case: int, inputs: Fields, plan: str, program: str, at: dt.datetime) -> KeptPlan:
        made_of = plain(inputs)
        digest = digest_of(made_of)
        with self._transactions.writing() as session:
            case_row(session, case)
            newest = _newest(session, case)
            if newest is not None and (newest.digest, newest.program) == (digest, program):
                return _kept(newest)
            row = PlanRow(
                case=case,
                number=1 if newest is None else newest.number + 1,
                made_at=at.astimezone(dt.UTC),
                program=program,
                digest=digest,
                inputs=json.dumps(made_of),
                plan=plan,
            )
            session.add(row)
            session.flush()
            return _kept(row)

    def keep_documents(
        self, case: int, plan: int, contents: Mapping[str, bytes], at: dt.datetime
    ) -> tuple[DocumentLine, ...]:
        with self._transactions.writing() as session:
            _plan_row(session, case, plan)
            made_at = at.astimezone(dt.UTC)
            rows = [
                DocumentRow(case=case, plan=plan, name=name, made_at=made_at, content=content)
                for name, content in contents.items()
            ]
            session.add_all(rows)
            session.flush()
            return tuple(DocumentLine(row.key, case, plan, row.name, made_at) for row in rows)

    def documents(self, case: int) -> tuple[DocumentLine, ...]:
        with self._transactions.reading() as session:
            case_row(session, case)
            found = select(*_LINE).where(DocumentRow.case == case).order_by(DocumentRow.key.desc())
            return tuple(DocumentLine(*line) for line in session.execute(found))

    def document(self, case: int, key: int) -> tuple[DocumentLine, bytes]:
        with self._transactions.reading() as session:
            row = session.get(DocumentRow, key)
            if row is None or row.case != case:
                raise NotFound(f"There is no document {key} of this case here: go back to the case.")
            return DocumentLine(row.key, row.case, row.plan, row.name, row.made_at), row.content


def digest_of(inputs: Fields) -> str:
    """The same for the same inputs, in whatever order their fields stand."""
    text = json.dumps(inputs, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def _newest(session: Session, case: int) -> PlanRow | None:
    return session.scalar(select(PlanRow).where(PlanRow.case == case).order_by(PlanRow.number.desc()).limit(1))


def _plan_row(session: Session, case: int, number: int) -> PlanRow:
    row = session.scalar(select(PlanRow).where(PlanRow.case == case, PlanRow.number == number))
    if row is None:
        raise NotFound(f"There is no plan {number} of this case here: go back to the case.")
    return row


def _kept(row: PlanRow) -> KeptPlan:
    return KeptPlan(row.case, row.number, row.made_at, row.program, json.loads(row.inputs), row.plan)

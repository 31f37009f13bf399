"""Cases that are kept."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence

from sqlalchemy import select

from rootfill.clinic.kept import CaseList, Edit, Fields, KeptCase, Mark
from rootfill.store.case_list import case_list
from rootfill.store.case_rows import case_row, kept_case
from rootfill.store.marks import newest_marks, put_mark, take_back
from rootfill.store.model import CaseRow, PictureRow
from rootfill.store.transactions import Transactions


class Cases:
    """See ``rootfill.clinic.ports.Records``."""

    def __init__(self, transactions: Transactions) -> None:
        self._transactions = transactions

    def cases(self, search: str, limit: int, offset: int) -> CaseList:
        with self._transactions.reading() as session:
            return case_list(session, search, limit, offset)

    def case(self, key: int) -> KeptCase:
        with self._transactions.reading() as session:
            return kept_case(session, key)

    def add_case(
        self, sections: Mapping[str, Fields], visits: Sequence[Fields], canals: Sequence[Fields],
        says: str, by: str, at: dt.datetime,
    ) -> KeptCase:  # fmt: skip
        edits = [Edit(part, 0, None, fields) for part, fields in sections.items()]
        edits += [Edit("visit", None, None, fields) for fields in visits]
        edits += [Edit("canal", None, None, fields) for fields in canals]
        with self._transactions.writing() as session:
            row = CaseRow(id_folded="", tooth="", notation="", revision=0, made_at=at, changed_at=at, sections={})
            session.add(row)
            session.flush()
            put_mark(session, row, edits, says, by, at)
            session.flush()
            session.expire_all()
            return kept_case(session, row.key)

    def remove_case(self, key: int) -> None:
        with self._transactions.writing() as session:
            session.delete(case_row(session, key))

    def mark(self, case: int, edits: Sequence[Edit], says: str, by: str, at: dt.datetime) -> Mark:
        with self._transactions.writing() as session:
            return put_mark(session, case_row(session, case), edits, says, by, at)

    def undo(self, case: int, by: str, at: dt.datetime) -> Mark | None:
        with self._transactions.writing() as session:
            return take_back(session, case, by, at)

    def picture_files(self) -> frozenset[str]:
        with self._transactions.reading() as session:
            return frozenset(session.scalars(select(PictureRow.file)))

    def marks(self, case: int, limit: int) -> tuple[Mark, ...]:
        with self._transactions.reading() as session:
            return newest_marks(session, case, limit)

"""The list of cases: one page of it costs the same however many cases there are."""

from __future__ import annotations

import datetime as dt
import sys
from collections import defaultdict
from collections.abc import Mapping, Sequence

from sqlalchemy import ColumnElement, func, or_, select
from sqlalchemy.orm import Session

from rootfill.clinic.kept import CaseLine, CaseList
from rootfill.store.model import CanalRow, CaseRow, DocumentRow, PlanRow

CARD = "card.pdf"


def case_list(session: Session, search: str, limit: int, offset: int) -> CaseList:
    """Cases whose id or tooth number begins with ``search``, the last changed first."""
    wanted, newest_first = _wanted(search), (CaseRow.changed_at.desc(), CaseRow.key.desc())
    page = select(CaseRow.key).where(*wanted).order_by(*newest_first).limit(limit).offset(offset)
    columns = (CaseRow.key, CaseRow.id, CaseRow.tooth, CaseRow.notation, CaseRow.changed_at)
    rows = session.execute(select(*columns).where(CaseRow.key.in_(page)).order_by(*newest_first)).all()
    keys = [row.key for row in rows]
    canals, plans, cards = _canals(session, keys), _newest_plans(session, keys), _cards(session, keys)
    lines = (
        CaseLine(key, id_ or "", tooth, notation, tuple(canals[key]), changed_at, plans.get(key), *cards[key])
        for key, id_, tooth, notation, changed_at in rows
    )
    if len(rows) < limit and (rows or offset == 0):
        return CaseList(tuple(lines), offset + len(rows))
    total = session.scalar(select(func.count()).select_from(CaseRow).where(*wanted))
    return CaseList(tuple(lines), total or 0)


def _wanted(search: str) -> tuple[ColumnElement[bool], ...]:
    """Text is compared sign by sign, which is five times as fast as a pattern."""
    if not search:
        return ()
    begin = search.casefold()
    end = begin + chr(sys.maxunicode)
    tooth = CaseRow.tooth if begin.isdecimal() else func.lower(CaseRow.tooth)
    return (or_(CaseRow.id_folded.between(begin, end), tooth.between(begin, end)),)


def _canals(session: Session, keys: Sequence[int]) -> Mapping[int, list[str]]:
    names: defaultdict[int, list[str]] = defaultdict(list)
    found = select(CanalRow.case, CanalRow.name).where(CanalRow.case.in_(keys)).order_by(CanalRow.case, CanalRow.key)
    for case, name in session.execute(found):
        names[case].append(name)
    return names


def _newest_plans(session: Session, keys: Sequence[int]) -> Mapping[int, int]:
    newest = select(PlanRow.case, func.max(PlanRow.number)).where(PlanRow.case.in_(keys)).group_by(PlanRow.case)
    return dict(session.execute(newest).all())


def _cards(session: Session, keys: Sequence[int]) -> Mapping[int, tuple[int | None, dt.datetime | None]]:
    """Of which plan the newest tray card of each case was made, and when."""
    newest = (
        select(func.max(DocumentRow.key))
        .where(DocumentRow.case.in_(keys), DocumentRow.name == CARD)
        .group_by(DocumentRow.case)
    )
    columns = (DocumentRow.case, DocumentRow.plan, DocumentRow.made_at)
    found = session.execute(select(*columns).where(DocumentRow.key.in_(newest)))
    return dict.fromkeys(keys, (None, None)) | {case: (plan, made_at) for case, plan, made_at in found}

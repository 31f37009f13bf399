"""Trays and settings of the clinic."""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from rootfill.clinic.kept import Fields, KeptTray
from rootfill.errors import ChangedMeanwhile, InputRefused, NotFound, Said
from rootfill.store.edits import plain
from rootfill.store.model import CaseRow, SettingRow, TrayRow
from rootfill.store.transactions import Transactions


class Trays:
    """See ``rootfill.clinic.ports.Records``."""

    def __init__(self, transactions: Transactions) -> None:
        self._transactions = transactions

    def trays(self) -> tuple[KeptTray, ...]:
        with self._transactions.reading() as session:
            used = select(CaseRow.tray, func.count()).where(CaseRow.tray.is_not(None)).group_by(CaseRow.tray)
            cases = dict(session.execute(used).all())
            found = (_kept(row, cases.get(row.key, 0)) for row in session.scalars(select(TrayRow)))
            return tuple(sorted(found, key=lambda tray: (tray.name.casefold(), tray.name)))

    def tray(self, key: int) -> KeptTray:
        with self._transactions.reading() as session:
            return _kept(_tray_row(session, key), _cases(session, key))

    def add_tray(self, entered: Fields, at: dt.datetime) -> KeptTray:
        with self._transactions.writing() as session:
            row = TrayRow()
            _fill(session, row, plain(entered), at)
            session.add(row)
            session.flush()
            return _kept(row, 0)

    def change_tray(self, key: int, before: Fields, after: Fields, at: dt.datetime) -> KeptTray:
        with self._transactions.writing() as session:
            row, seen = _tray_row(session, key), plain(before)
            for name in dict.fromkeys((*seen, *row.entered)):
                if seen.get(name) != row.entered.get(name):
                    raise ChangedMeanwhile(f"{row.name}: {name}", seen.get(name), row.entered.get(name))
            _fill(session, row, plain(after), at)
            return _kept(row, _cases(session, key))

    def remove_tray(self, key: int) -> None:
        with self._transactions.writing() as session:
            row, cases = _tray_row(session, key), _cases(session, key)
            if cases:
                used = Said(f"used by {cases} case{'s' if cases > 1 else ''}")
                raise InputRefused(f"tray {row.name}", used, "choose another tray there first")
            session.delete(row)

    def setting(self, name: str) -> Any:
        with self._transactions.reading() as session:
            row = session.get(SettingRow, name)
            return None if row is None else row.value

    def set(self, name: str, value: Any) -> None:
        with self._transactions.writing() as session:
            session.merge(SettingRow(name=name, value=value))


def _tray_row(session: Session, key: int) -> TrayRow:
    row = session.get(TrayRow, key)
    if row is None:
        raise NotFound(f"There is no tray {key} here: it may have been removed; go back to the list of trays.")
    return row


def _fill(session: Session, row: TrayRow, entered: dict[str, Any], at: dt.datetime) -> None:
    name = str(entered.get("name", "tray"))
    with session.no_autoflush:
        other = session.scalar(select(TrayRow.key).where(TrayRow.name == name))
    if other not in (None, row.key):
        raise InputRefused("tray.name", name, "another tray has this name: give each tray a name of its own")
    row.name, row.entered, row.changed_at = name, entered, at.astimezone(dt.UTC)


def _cases(session: Session, key: int) -> int:
    return session.scalar(select(func.count()).select_from(CaseRow).where(CaseRow.tray == key)) or 0


def _kept(row: TrayRow, cases: int) -> KeptTray:
    return KeptTray(row.key, row.entered, row.changed_at, cases)

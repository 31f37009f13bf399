"""Invented cases, and a look at everything that is kept."""

from __future__ import annotations

import datetime as dt
from typing import Any

import sqlalchemy as sa

from rootfill.clinic.kept import Edit, KeptCase, Mark
from rootfill.store import Store
from rootfill.store.model import Base

AT = dt.datetime(2026, 11, 24, 9, 30, 15, 250, tzinfo=dt.UTC)
LATER = AT + dt.timedelta(minutes=5)
BY = "Ann"


def begin(store: Store, name: str | None = "A-1", **sections: Any) -> KeptCase:
    """A case of tooth 36 with two canals and one visit."""
    head = {"tooth": 36, "notation": "iso3950"} | ({} if name is None else {"id": name})
    canals: list[dict[str, Any]] = [{"name": "MB", "working_length_mm": 20.5}, {"name": "D"}]
    return store.records.add_case({"case": head, **sections}, [{"id": 1}], canals, "case begun", BY, AT)


def mark(store: Store, case: KeptCase | int, *edits: Edit, says: str = "typed", by: str = BY) -> Mark:
    return store.records.mark(case if isinstance(case, int) else case.key, edits, says, by, LATER)


def length(case: KeptCase, before: float | None, after: float | None) -> Edit:
    """The working length of the first canal of a case."""
    return Edit("canal", case.canals[0].key, {"working_length_mm": before}, {"working_length_mm": after})


def everything(store: Store) -> dict[str, list[Any]]:
    """Every row of every table."""
    with store.engine.connect() as connection:
        return {
            name: [tuple(row) for row in connection.execute(sa.select(table).order_by(*table.primary_key))]
            for name, table in Base.metadata.tables.items()
        }

"""A case as a program sees it: what is kept, and beside it the words in which each field is typed."""

from __future__ import annotations

import datetime as dt
from typing import Any

from pydantic import BaseModel, Field

from rootfill.clinic.cells import CELLS, cell_text
from rootfill.clinic.kept import SECTIONS, Fields, KeptCase, Mark, Row
from rootfill.web.api.shapes import Given, Text


def field_words(*parts: str) -> str:
    """The fields of these parts with an example of each, for the description of an operation."""
    lines = (
        f"- {part} `{one.field}` ({one.label}): {one.example or ', '.join(kept or 'empty' for kept, _ in one.choices)}"
        for part in parts
        for one in CELLS[part]
    )
    return "\n".join(lines)


class PartShape(BaseModel):
    """One part of a case."""

    entered: dict[str, Any] = Field(description="What is kept, under the keys of the case file.")
    cells: dict[str, str] = Field(description="The same in words, by field; empty for what is not known.")


class RowShape(PartShape):
    """One visit, canal or finding of a case."""

    key: int


class CaseShape(BaseModel):
    """A case as it stands."""

    key: int
    revision: int = Field(description="Number of the last mark; it grows with every change.")
    made_at: dt.datetime
    changed_at: dt.datetime
    sections: dict[str, PartShape]
    visits: list[RowShape]
    canals: list[RowShape]
    findings: list[RowShape]


class KeptShape(BaseModel):
    """A case after a change, and the mark that was made of it; no mark where nothing was new."""

    case: CaseShape
    mark: Mark | None


class Change(Given):
    """One field: what its writer saw there, and what is to stand there, both in words."""

    was: Text
    now: Text


def case_shape(kept: KeptCase) -> CaseShape:
    """The case for a program."""
    rows = {name: [_row(part, r) for r in kept.rows(part)] for name, part in _LISTS.items()}
    return CaseShape(
        key=kept.key,
        revision=kept.revision,
        made_at=kept.made_at,
        changed_at=kept.changed_at,
        sections={part: _part(part, kept.sections.get(part, {})) for part in SECTIONS},
        **rows,
    )


_LISTS = {"visits": "visit", "canals": "canal", "findings": "finding"}


def _row(part: str, row: Row) -> RowShape:
    return RowShape(key=row.key, entered=dict(row.entered), cells=_cells(part, row.entered))


def _part(part: str, entered: Fields) -> PartShape:
    return PartShape(entered=dict(entered), cells=_cells(part, entered))


def _cells(part: str, entered: Fields) -> dict[str, str]:
    return {one.field: cell_text(one, entered) for one in CELLS.get(part, ())}

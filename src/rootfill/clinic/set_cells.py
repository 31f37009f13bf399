"""Several fields of one row, kept in one mark or not at all."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from rootfill.clinic.cells import cell
from rootfill.clinic.change_case import cell_edits, with_edits
from rootfill.clinic.kept import SECTIONS, Edit, KeptCase
from rootfill.clinic.ports import Clinic

Typed = Mapping[str, tuple[str, str]]
"""By field: what its writer saw there, and what is to stand there."""


def set_cells(clinic: Clinic, by: str, case: int, row: tuple[str, int], typed: Typed) -> KeptCase:
    """Fields of one row: ``row`` is (part, key). Raises InputRefused, ChangedMeanwhile, NotFound."""
    kept = clinic.records.case(case)
    then = kept
    for field, (was, now) in typed.items():
        then = with_edits(then, cell_edits(then, (*row, field), was, now))
    edits = list(_edits(kept, then))
    if not edits:
        return kept
    clinic.records.mark(case, edits, _says(kept, row, typed), by, clinic.now())
    return clinic.records.case(case)


def _edits(before: KeptCase, after: KeptCase) -> Iterator[Edit]:
    """What leads from one to the other, which has the same rows."""
    for part in (*SECTIONS, "visit", "canal", "finding"):
        for old, new in zip(before.rows(part), after.rows(part), strict=True):
            if old != new:
                yield Edit(part, old.key, old.entered, new.entered)


def _says(kept: KeptCase, row: tuple[str, int], typed: Typed) -> str:
    found = kept.row(*row)
    name = f"{found.entered.get('name')} " if found is not None and row[0] == "canal" else ""
    told = "; ".join(f"{cell(row[0], field).label}: {now.strip() or 'not known'}" for field, (_, now) in typed.items())
    return f"{name}{told}"

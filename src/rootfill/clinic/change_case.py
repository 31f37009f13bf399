"""What is entered into a kept case, each in one mark: one field, a row more or less, a call-out, an undo."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from rootfill.clinic.add_case import check_names
from rootfill.clinic.callout import Understood, understand
from rootfill.clinic.casefile import GENERIC_TRAY
from rootfill.clinic.cells import Cell, cell, cell_text, with_cell
from rootfill.clinic.check_row import check_row
from rootfill.clinic.draft import tray_of
from rootfill.clinic.kept import Edit, Fields, KeptCase, Mark, Row
from rootfill.clinic.ports import Clinic
from rootfill.errors import ChangedMeanwhile, InputRefused, NotFound, Said


def set_cell(clinic: Clinic, by: str, case: int, at: tuple[str, int, str], was: str, now: str) -> KeptCase:
    """One field of one row: ``at`` is (part, key, field); ``was`` is what its writer saw there.

    Raises InputRefused, ChangedMeanwhile, NotFound.
    """
    kept = clinic.records.case(case)
    edits = cell_edits(kept, at, was, now)
    if not edits:
        return kept
    clinic.records.mark(case, edits, _says(kept, at, now), by, clinic.now())
    return clinic.records.case(case)


def cell_edits(kept: KeptCase, at: tuple[str, int, str], was: str | None, now: str) -> list[Edit]:
    """The edits that typing ``now`` into a cell means; () where it says what is there already.

    Raises InputRefused, ChangedMeanwhile, NotFound.
    """
    part, key, field = at
    one, row = cell(part, field), kept.row(part, key)
    if row is None:
        raise NotFound(f"This {part} is no longer part of the case: somebody took it out.")
    stands = cell_text(one, row.entered)
    if was is not None and stands != was:
        raise ChangedMeanwhile(_where(kept, at), was, stands or None)
    if now.strip() == stands:
        return []
    after = _typed(kept, at, one, row, now)
    if part == "case" and "id" not in after:
        raise InputRefused("the id of the case", None, "give it one, such as C-0012")
    if part != "canal":
        check_row(part, after)
        return [Edit(part, key, row.entered, after)]
    return _canal_edits(kept, row, one, after)


def with_edits(kept: KeptCase, edits: Sequence[Edit]) -> KeptCase:
    """The case as it would stand after these edits; nothing is kept."""
    parts = {"visit": list(kept.visits), "canal": list(kept.canals), "finding": list(kept.findings)}
    sections = dict(kept.sections)
    for edit in edits:
        if edit.part not in parts:
            sections[edit.part] = edit.after or {}
            continue
        rows = [r for r in parts[edit.part] if r.key != edit.key]
        if edit.after is not None:
            rows.append(Row(10**9 if edit.key is None else edit.key, edit.after))
        parts[edit.part] = sorted(rows, key=lambda r: r.key)
    return replace(
        kept, sections=sections, visits=tuple(parts["visit"]), canals=tuple(parts["canal"]),
        findings=tuple(parts["finding"]),
    )  # fmt: skip


def hear(clinic: Clinic, kept: KeptCase, text: str) -> Understood:
    """What a called-out line means in this case; nothing is kept."""
    return understand(text, kept, tray_of(kept, clinic.records))


def say(clinic: Clinic, by: str, case: int, text: str) -> tuple[KeptCase, Mark | None]:
    """Keep a called-out line as one mark; None where it says nothing new. Raises InputRefused for any doubt."""
    kept = clinic.records.case(case)
    heard = hear(clinic, kept, text)
    if heard.doubt is not None:
        raise InputRefused("the call-out", Said("not understood"), heard.doubt.rstrip("."))
    edits = [_dated(kept, edit) for edit in heard.edits]
    for edit in edits:
        check_row(edit.part, edit.after or {})
    if not edits:
        return kept, None
    mark = clinic.records.mark(case, edits, heard.says, by, clinic.now())
    return clinic.records.case(case), mark


def undo(clinic: Clinic, by: str, case: int) -> tuple[KeptCase, Mark | None]:
    """Take back the last mark of the case; None where there is none left."""
    mark = clinic.records.undo(case, by, clinic.now())
    return clinic.records.case(case), mark


def add_canal(clinic: Clinic, by: str, case: int, name: str) -> KeptCase:
    """One canal more. Raises InputRefused for a name that is taken."""
    kept = clinic.records.case(case)
    canal = {"name": name.strip()}
    check_row("canal", canal)
    check_names([*[r.entered for r in kept.canals], canal])
    clinic.records.mark(case, [Edit("canal", None, None, canal)], f"{name.strip()}: canal added", by, clinic.now())
    return clinic.records.case(case)


def remove_row(clinic: Clinic, by: str, case: int, part: str, key: int) -> KeptCase:
    """A canal with its findings, or one finding, taken out. Raises InputRefused, NotFound."""
    kept = clinic.records.case(case)
    row = kept.row(part, key)
    if row is None:
        raise NotFound(f"This {part} is no longer part of the case.")
    edits = [Edit(part, key, row.entered, None)]
    name = str(row.entered.get("name", ""))
    if part == "canal":
        edits += [Edit("finding", r.key, r.entered, None) for r in kept.findings if r.entered.get("canal") == name]
        edits += [_unjoined(r) for r in kept.canals if (r.entered.get("joins") or {}).get("canal") == name]
    if part == "canal" and len(kept.canals) == 1:
        raise InputRefused("canals", Said(f"only {name}"), "a case keeps at least one canal")
    says = f"{name}: canal taken out" if part == "canal" else f"{_finding_words(row.entered)}: taken out"
    clinic.records.mark(case, edits, says, by, clinic.now())
    return clinic.records.case(case)


def add_visit(clinic: Clinic, by: str, case: int) -> KeptCase:
    """Another visit, today; what was answered before is asked again."""
    kept = clinic.records.case(case)
    taken = {str(r.entered.get("id")) for r in kept.visits}
    number = next(n for n in range(len(kept.visits) + 1, 10_000) if str(n) not in taken)
    now = clinic.now()
    visit = {"id": number, "date": f"{now:%Y-%m-%d}"}
    edits = [Edit("visit", None, None, visit), *(_asked_again(r) for r in kept.canals if "drying" in r.entered)]
    clinic.records.mark(case, edits, f"Visit {number}, {now:%Y-%m-%d}", by, now)
    return clinic.records.case(case)


def choose_tray(clinic: Clinic, by: str, case: int, tray: int | None) -> KeptCase:
    """Which tray the case is planned with; None means the generic one."""
    kept = clinic.records.case(case)
    before, after = kept.sections.get("tray", {}), {} if tray is None else {"key": tray}
    if before != after:
        name = GENERIC_TRAY.replace("_", " ") if tray is None else clinic.records.tray(tray).name
        clinic.records.mark(case, [Edit("tray", 0, before, after)], f"Tray: {name}", by, clinic.now())
    return clinic.records.case(case)


def _typed(kept: KeptCase, at: tuple[str, int, str], one: Cell, row: Row, now: str) -> dict[str, Any]:
    try:
        return with_cell(at[0], one, row.entered, now)
    except InputRefused as refused:
        raise InputRefused(_where(kept, at), refused.value, refused.allowed) from None


def _canal_edits(kept: KeptCase, row: Row, one: Cell, after: dict[str, Any]) -> list[Edit]:
    """The canal's own edit, and those that follow from it: a new name is a new name everywhere."""
    if one.field == "joins" and after.get("joins"):
        after["joins"] = {**after["joins"], "canal": _as_named(kept, str(after["joins"]["canal"]))}
    check_row("canal", after)
    edits = [_dated(kept, Edit("canal", row.key, row.entered, after))]
    old, new = row.entered.get("name"), after.get("name")
    if old == new:
        return edits
    if not new:
        raise InputRefused("canal", None, "give it a name, or take the canal out")
    others = [r for r in kept.canals if r.key != row.key]
    check_names([*[r.entered for r in others], after])
    edits += [
        Edit("canal", r.key, r.entered, {**r.entered, "joins": {**r.entered["joins"], "canal": new}})
        for r in others
        if (r.entered.get("joins") or {}).get("canal") == old
    ]
    edits += [
        Edit("finding", r.key, r.entered, {**r.entered, "canal": new})
        for r in kept.findings
        if r.entered.get("canal") == old
    ]
    return edits


def _dated(kept: KeptCase, edit: Edit) -> Edit:
    """A length that is set belongs to the visit in which it was set."""
    if edit.part != "canal" or edit.after is None or not kept.visits or "working_length_mm" not in set(edit.changed()):
        return edit
    return replace(edit, after={**edit.after, "visit": kept.visits[-1].entered.get("id")})


def _asked_again(row: Row) -> Edit:
    """Dry at one visit says nothing of the next."""
    return Edit("canal", row.key, row.entered, {k: v for k, v in row.entered.items() if k != "drying"})


def _unjoined(row: Row) -> Edit:
    return Edit("canal", row.key, row.entered, {k: v for k, v in row.entered.items() if k != "joins"})


def _as_named(kept: KeptCase, typed: str) -> str:
    names = [str(r.entered.get("name")) for r in kept.canals]
    return next((n for n in names if n.casefold() == typed.strip().casefold()), typed)


def _says(kept: KeptCase, at: tuple[str, int, str], now: str) -> str:
    shown = dict(cell(at[0], at[2]).choices).get(now.strip(), now.strip())
    return f"{_where(kept, at)}: {shown or 'not known'}"


def _where(kept: KeptCase, at: tuple[str, int, str]) -> str:
    part, key, field = at
    row, label = kept.row(part, key), cell(part, field).label
    return f"{row.entered.get('name')} {label}" if part == "canal" and row is not None else label.capitalize()


def _finding_words(finding: Fields) -> str:
    words = (finding.get("canal"), str(finding.get("kind", "")).replace("_", " "), finding.get("value_mm"))
    return " ".join(str(w) for w in words if w is not None)

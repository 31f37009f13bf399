"""What a plan took for granted, and what was entered that it did not read."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator

from rootfill import tables
from rootfill.plan.case import CanalEntry, Case, Finding
from rootfill.plan.settings import same_name
from rootfill.tray.model import Tray

_UNREAD_BASELINE = (
    "symptoms",
    "sinus_tract",
    "lesion_mm",
    "probing_mm",
    "mobility",
    "restorable",
    "healing_index",
    "previous_treatment",
)


def assumed(case: Case) -> tuple[str, ...]:
    """Settings that stand at the program's default, with unit and mark; and what was assumed of a canal."""
    return (*_defaults(case), *(a for canal in case.canals for a in _of_canal(canal)))


def _defaults(case: Case) -> Iterator[str]:
    p = case.preferences
    unread = () if _speaks_of_foramen(case) else ("end_short_of_foramen_mm",)
    for field in dataclasses.fields(p):
        value = getattr(p, field.name)
        if isinstance(value, str):
            yield f"{field.name} = {value}"
        elif field.name not in unread and (field.name != "cone_sd_mm" or p.cone_spread == "measured"):
            rule = tables.rule(field.name)
            if math.isclose(value, rule.value):
                unit = "" if rule.unit == "1" else f" {rule.unit}"
                yield f"{field.name} = {value:g}{unit} ({rule.mark})"


def _of_canal(canal: CanalEntry) -> Iterator[str]:
    if canal.technique is None:
        yield f"{canal.name}: technique stepwise"
    if canal.wall_mm is None:
        yield f"{canal.name}: wall unknown"
    if canal.curvature is None:
        yield f"{canal.name}: curvature unknown, planned as straight"


def unused(case: Case, tray: Tray) -> tuple[str, ...]:
    """Entries that change no number of the plan in this version."""
    canals = (u for c in case.canals for u in _unread(c))
    return (*_of_case(case), *_of_findings(case, tray), *canals, *_of_tray(case, tray))


def _of_case(case: Case) -> Iterator[str]:
    if case.images is not None:
        yield "images"
    yield from (f"case.baseline.{n}" for n in _UNREAD_BASELINE if getattr(case.case.baseline, n) is not None)
    yield from (f"patient.{n}" for n in ("anticoagulant", "pregnant") if getattr(case.patient, n) is not None)
    rule = tables.rule("end_short_of_foramen_mm")
    changed = not math.isclose(case.preferences.end_short_of_foramen_mm, rule.value)
    if changed and not _speaks_of_foramen(case):
        yield "preferences.end_short_of_foramen_mm"


def _speaks_of_foramen(case: Case) -> bool:
    """Whether a finding is compared with where the foramen was expected."""
    return any(f.kind in ("locator", "paper_point") for f in case.findings)


def _of_findings(case: Case, tray: Tray) -> Iterator[str]:
    names = [p.name for p in (*tray.pluggers, *tray.heated_tips)] + [n.name for n in tray.needles]
    for i, finding in enumerate(case.findings):
        why = _unread_finding(finding, names)
        if why is not None:
            yield f"findings[{i}] ({why})"


def _unread_finding(finding: Finding, names: list[str]) -> str | None:
    if finding.kind == "reference_moved":
        return None
    if finding.kind != "binds":
        return finding.kind
    if finding.canal is None or finding.value_mm is None:
        return "binds: canal and value_mm are needed"
    if not any(same_name(finding.instrument, name) for name in names):
        return f"binds: {finding.instrument or 'no instrument named'} is not on the tray"
    return None


def _unread(canal: CanalEntry) -> Iterator[str]:
    for name in ("flare_mm", "natural"):
        if getattr(canal, name) is not None and canal.files is None:
            yield f"{canal.name}: {name} (the shape entered is final)"


def _of_tray(case: Case, tray: Tray) -> Iterator[str]:
    if case.materials.compound is not None:
        yield "materials.compound"
    if any(t.measured and tray.is_assumed(t) for t in tray.heated_tips):
        yield "tray.heated_tips.measured (of an assumed tip: measure it, and say so)"
    if any(n.working_mm is not None for n in tray.needles):
        yield "tray.needles.working_mm"

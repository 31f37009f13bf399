"""The plan of a kept case: the newest version where it still holds, else a first look at once, the whole when still."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from rootfill.clinic.casefile import tray_adapter
from rootfill.clinic.changes import Change, changes, out_of_date
from rootfill.clinic.draft import Draft, case_data, draft_of, read_tray_data, tray_of
from rootfill.clinic.kept import DocumentLine, Fields, KeptCase, KeptPlan
from rootfill.clinic.plan_case import first_look, program
from rootfill.clinic.ports import Clinic
from rootfill.clinic.result import plan_json, read_plan
from rootfill.errors import InputRefused
from rootfill.plan.case import Case
from rootfill.plan.model import CanalPlan, Plan
from rootfill.plan.unaffected import unaffected
from rootfill.tray.model import Tray

CARD = "card.pdf"
NOT_COMPARED = "the case was changed since, and its new plan is not there yet"
NO_PLAN = "the case was changed since, and cannot be planned as it stands"


@dataclass(frozen=True)
class Card:
    """A tray card that was made, and what of it no longer holds; () while all does."""

    line: DocumentLine
    out_of_date: tuple[str, ...]


@dataclass(frozen=True)
class Standing:
    """A case and what is known of it now. Without a plan, ``refused`` or ``left_out`` says why."""

    kept: KeptCase
    left_out: Mapping[str, str]
    """Canals that are not in the plan, and why."""
    tray: Tray
    plan: Plan | None = None
    version: KeptPlan | None = None
    """The kept version that ``plan`` is; None for a first look."""
    refused: InputRefused | None = None
    since: tuple[Change, ...] = ()
    """What changed since the version before."""
    cards: tuple[Card, ...] = ()
    """Cards made of this tooth, the newest first."""


@dataclass(frozen=True)
class _Asked:
    """What a plan is asked of: the case as far as it can be planned, its tray, both as they are kept."""

    draft: Draft
    case: Case
    tray: Tray
    inputs: Fields


_Judge = Callable[[DocumentLine], tuple[str, ...]]
"""What of a card no longer holds."""


def standing(clinic: Clinic, kept: KeptCase) -> Standing:
    """The newest plan where it still holds, else a first look: fewer draws, stiff instruments, never kept."""
    newest = clinic.records.newest_plan(kept.key)
    asked = _asked(clinic, kept)
    if isinstance(asked, Standing):
        return _unplanned(clinic, asked)
    if newest is not None and newest.inputs == asked.inputs and newest.program == program():
        return _kept_version(clinic, kept, asked, newest)
    try:
        plan = first_look(asked.case, asked.tray, _still_good(newest, asked))
    except InputRefused as refused:
        return _unplanned(clinic, Standing(kept, asked.draft.left_out, asked.tray, refused=refused))
    cards = _cards(clinic, kept.key, lambda _: (NOT_COMPARED,))
    return Standing(kept, asked.draft.left_out, asked.tray, _with_gaps(plan, asked.draft), cards=cards)


def settled(clinic: Clinic, key: int) -> Standing:
    """The full plan, kept as the next version of this case."""
    kept = clinic.records.case(key)
    newest = clinic.records.newest_plan(key)
    asked = _asked(clinic, kept)
    if isinstance(asked, Standing):
        return _unplanned(clinic, asked)
    if newest is None or newest.inputs != asked.inputs or newest.program != program():
        try:
            plan = clinic.work.plan(asked.case, asked.tray, _still_good(newest, asked))
        except InputRefused as refused:
            return _unplanned(clinic, Standing(kept, asked.draft.left_out, asked.tray, refused=refused))
        text = plan_json(_with_gaps(plan, asked.draft))
        newest = clinic.records.keep_plan(key, asked.inputs, text, program(), clinic.now())
    return _kept_version(clinic, kept, asked, newest)


def make_card(clinic: Clinic, key: int) -> DocumentLine:
    """The tray card of the case as it stands, kept with the moment it was made. Raises InputRefused without a plan."""
    return _made(clinic, key, ("card.pdf",))


def make_report(clinic: Clinic, key: int) -> DocumentLine:
    """The report, likewise."""
    return _made(clinic, key, ("report.pdf", "report.html"))


def card_out_of_date(clinic: Clinic, line: DocumentLine) -> tuple[str, ...]:
    """What of a card of any age no longer holds; () while all does."""
    now = standing(clinic, clinic.records.case(line.case))
    if now.version is None or now.plan is None:
        return (NO_PLAN if now.plan is None else NOT_COMPARED,)
    return _stale(clinic, line, now.version, now.plan)


def card_picture(clinic: Clinic, card: DocumentLine) -> bytes | None:
    """The page of a card for the screen, drawn again from its plan; None where another program made it."""
    version = clinic.records.plan(card.case, card.plan)
    if version.program != program():
        return None
    drawn = clinic.work.documents(read_plan(version.plan), ("card.png",), card.made_at.astimezone())
    return drawn["card.png"]


def _made(clinic: Clinic, key: int, names: tuple[str, ...]) -> DocumentLine:
    now = settled(clinic, key)
    if now.refused is not None:
        raise now.refused
    if now.plan is None or now.version is None:
        raise InputRefused("the plan", None, f"first: {spelled(now.left_out)}")
    made = clinic.now()
    contents = clinic.work.documents(now.plan, names, made.astimezone())
    lines = clinic.records.keep_documents(key, now.version.number, contents, made)
    return next(line for line in lines if line.name == names[0])


def spelled(left_out: Mapping[str, str]) -> str:
    """'MB needs length, orifice; ML joins MB, which is not planned'."""
    return "; ".join(f"{name} {why}" for name, why in left_out.items())


def _asked(clinic: Clinic, kept: KeptCase) -> _Asked | Standing:
    tray, data = tray_of(kept, clinic.records), case_data(kept)
    try:
        draft = draft_of(data)
    except InputRefused as refused:
        return Standing(kept, {}, tray, refused=refused)
    if draft.case is None:
        return Standing(kept, draft.left_out, tray)
    inputs = {"case": data, "tray": tray_adapter().dump_python(tray, mode="json")}
    return _Asked(draft, draft.case, tray, json.loads(json.dumps(inputs)))


def _still_good(newest: KeptPlan | None, asked: _Asked) -> Mapping[str, CanalPlan]:
    """Canals of the newest plan that nothing entered since has touched."""
    if newest is None or newest.program != program():
        return {}
    try:
        before = draft_of(newest.inputs["case"]).case
        tray = read_tray_data(newest.inputs["tray"])
    except InputRefused:
        return {}
    if before is None:
        return {}
    names = unaffected(before, tray, asked.case, asked.tray)
    return {c.name: c for c in read_plan(newest.plan).canals if c.name in names}


def _with_gaps(plan: Plan, draft: Draft) -> Plan:
    """The plan with a caution for each canal that is not in it."""
    missing = tuple(f"{name} is not in this plan: {why}." for name, why in draft.left_out.items())
    return dataclasses.replace(plan, cautions=(*missing, *plan.cautions))


def _kept_version(clinic: Clinic, kept: KeptCase, asked: _Asked, version: KeptPlan) -> Standing:
    plan = read_plan(version.plan)
    since: tuple[Change, ...] = ()
    if version.number > 1:
        since = changes(read_plan(clinic.records.plan(kept.key, version.number - 1).plan), plan)
    cards = _cards(clinic, kept.key, lambda line: _stale(clinic, line, version, plan))
    return Standing(kept, asked.draft.left_out, asked.tray, plan, version, None, since, cards)


def _unplanned(clinic: Clinic, now: Standing) -> Standing:
    """No card holds where there is no plan."""
    return dataclasses.replace(now, cards=_cards(clinic, now.kept.key, lambda _: (NO_PLAN,)))


def _cards(clinic: Clinic, key: int, stale: _Judge, most: int = 3) -> tuple[Card, ...]:
    """The newest cards, one per plan, and what ``stale`` says of each."""
    lines: dict[int, DocumentLine] = {}
    for line in clinic.records.documents(key):
        if line.name == CARD:
            lines.setdefault(line.plan, line)
    return tuple(Card(line, stale(line)) for line in list(lines.values())[:most])


def _stale(clinic: Clinic, line: DocumentLine, version: KeptPlan, now: Plan) -> tuple[str, ...]:
    if line.plan == version.number:
        return ()
    return out_of_date(read_plan(clinic.records.plan(line.case, line.plan).plan), now)

"""Plans: what stands now, the whole one, earlier versions."""

from __future__ import annotations

import datetime as dt

from fastapi import APIRouter
from pydantic import BaseModel, Field

from rootfill.clinic.kept import KeptPlan
from rootfill.clinic.plan_kept import Card, settled, spelled, standing
from rootfill.clinic.result import read_plan
from rootfill.errors import InputRefused
from rootfill.plan.model import Plan
from rootfill.web.asked import TheClinic
from rootfill.web.errors import ErrorSays

router = APIRouter(prefix="/cases/{case}", tags=["plans"])


class CardShape(BaseModel):
    """A tray card that was made, and what of it no longer holds; an empty list while all does."""

    document: int
    plan: int
    made_at: dt.datetime
    out_of_date: list[str]


class StandingShape(BaseModel):
    """What is known of a case now."""

    revision: int
    left_out: dict[str, str] = Field(description="Canals that are not in the plan, and why.")
    refused: ErrorSays | None = Field(description="Why there is no plan, where what was entered contradicts itself.")
    number: int | None = Field(description="Number of the plan where it is a kept version; null for a first look.")
    plan: Plan | None = Field(description="A first look has fewer draws and takes instruments as stiff.")
    since: list[str] = Field(description="What changed since the version before.")
    cards: list[CardShape] = Field(description="Known once the plan is a kept version.")


class PlanShape(BaseModel):
    """One version of the plan of a case; ``plan`` is what stands in plan.json."""

    number: int
    made_at: dt.datetime
    program: str
    plan: Plan


@router.get("/standing", summary="The plan where it still holds, else a first look; what is missing; which cards hold")
def read_standing(clinic: TheClinic, case: int) -> StandingShape:
    now = standing(clinic, clinic.records.case(case))
    refused = now.refused and ErrorSays(kind="input_refused", field=now.refused.field, says=now.refused.sentence)
    return StandingShape(
        revision=now.kept.revision,
        left_out=dict(now.left_out),
        refused=refused,
        number=now.version.number if now.version else None,
        plan=now.plan,
        since=[change.says for change in now.since],
        cards=[_card(card) for card in now.cards],
    )


@router.get(
    "/plan",
    summary="The full plan of the case as it stands",
    description="Computed where something changed since the last one, and kept as the next version.",
)
def read_newest_plan(clinic: TheClinic, case: int) -> PlanShape:
    now = settled(clinic, case)
    if now.refused is not None:
        raise now.refused
    if now.version is None:
        raise InputRefused("the plan", None, f"first: {spelled(now.left_out)}")
    return _version(now.version)


@router.get("/plans/{number}", summary="An earlier version of the plan")
def read_plan_version(clinic: TheClinic, case: int, number: int) -> PlanShape:
    return _version(clinic.records.plan(case, number))


def _version(kept: KeptPlan) -> PlanShape:
    return PlanShape(number=kept.number, made_at=kept.made_at, program=kept.program, plan=read_plan(kept.plan))


def _card(card: Card) -> CardShape:
    line = card.line
    return CardShape(document=line.key, plan=line.plan, made_at=line.made_at, out_of_date=list(card.out_of_date))

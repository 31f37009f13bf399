"""What is known before anything is entered: the usual canals of a tooth, the shape of a case file."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Query
from pydantic import BaseModel

from rootfill.clinic.add_case import usual
from rootfill.clinic.plan_case import case_schema
from rootfill.tooth.anatomy import LookFor, UsualCanal
from rootfill.tooth.notation import ToothNumber

router = APIRouter(tags=["knowing"])

Number = Annotated[str, Query(max_length=20, examples=["36"])]
Notation = Annotated[str, Query(max_length=20, description="iso3950 or universal", examples=["iso3950"])]


class Hint(BaseModel):
    """Something these teeth often have beside the usual canals; shares in percent of teeth."""

    canal: str
    says: str
    percent: float | None
    low: float | None
    high: float | None
    source: str
    mark: str


class UsualShape(BaseModel):
    """What a case of this tooth begins with."""

    tooth: ToothNumber
    canals: list[UsualCanal]
    hints: list[Hint]


@router.get("/usual", summary="The canals such a tooth usually has, and what else to look for")
def read_usual(tooth: Number, notation: Notation) -> UsualShape:
    number, canals, hints = usual(tooth, notation)
    return UsualShape(tooth=number, canals=list(canals), hints=[_hint(one) for one in hints])


@router.get("/schema", summary="JSON Schema of a case file")
def read_schema() -> dict[str, Any]:
    return case_schema()


def _hint(one: LookFor) -> Hint:
    return Hint(
        canal=one.canal,
        says=one.sentence,
        percent=one.percent,
        low=one.low,
        high=one.high,
        source=one.source,
        mark=one.mark,
    )

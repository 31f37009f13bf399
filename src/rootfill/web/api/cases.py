"""Cases: the list, new ones, one with all its rows."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Body, Query, Response
from pydantic import Field

from rootfill.clinic import add_case as use
from rootfill.clinic.cells import cell
from rootfill.clinic.keep_picture import remove_case as remove_case_for_good
from rootfill.clinic.kept import CaseList, Mark
from rootfill.plan.case import Case
from rootfill.web.api.case_shape import CaseShape, case_shape, field_words
from rootfill.web.api.shapes import MADE, Given, ShapeOf, Text, made
from rootfill.web.asked import By, TheClinic

router = APIRouter(tags=["cases"])

_FILE = {
    "case": {"id": "C-0012", "tooth": 36, "notation": "iso3950"},
    "canals": [
        {
            "name": "MB",
            "reference": "MB cusp tip",
            "working_length_mm": 20.5,
            "orifice_at_mm": 8,
            "made": {"size": 30, "taper": 0.04},
        }
    ],
}
CaseFile = Annotated[dict[str, Any], ShapeOf(Case), Body(examples=[_FILE])]


class NewCase(Given):
    """A case as it is begun on the page."""

    id: Text | None = Field(None, description="Without one the next free number is taken.")
    tooth: Text = Field(examples=["36"])
    notation: Text = Field(examples=["iso3950", "universal"])
    note: Text | None = None
    tray: int | None = Field(None, description="Key of a tray; the generic one where there is none.")
    canals: list[dict[str, Text]] = Field(
        description="Each canal by its fields, in words; a name is needed.",
        examples=[[{"name": "MB", "reference": "MB cusp tip", "length": "20.5", "shape": "30/.04", "orifice": "8"}]],
    )


@router.get("/cases", summary="The list of cases, the last changed first")
def list_cases(
    clinic: TheClinic,
    search: Annotated[str, Query(max_length=200, description="How the id or the tooth number begins.")] = "",
    limit: Annotated[int, Query(ge=1, le=200)] = 40,
    offset: Annotated[int, Query(ge=0, le=10**9)] = 0,
) -> CaseList:
    return clinic.records.cases(search.strip(), limit, offset)


@router.post(
    "/cases",
    status_code=201,
    responses=MADE,
    summary="A new case from what is typed of each canal",
    description=f"What a field may hold:\n\n{field_words('canal')}",
)
def add_case(clinic: TheClinic, by: By, response: Response, given: NewCase) -> CaseShape:
    for canal in given.canals:
        for field in canal:
            cell("canal", field)
    head = given.model_dump(include={"id", "tooth", "notation", "note"}, exclude_none=True)
    head.setdefault("id", use.suggested_id(clinic))
    kept = use.add_case(clinic, by, head, given.canals, given.tray)
    made(response, f"/api/cases/{kept.key}")
    return case_shape(kept)


@router.post(
    "/case-files",
    status_code=201,
    responses=MADE,
    summary="A new case from a case file",
    description="The case file as JSON, in the shape of /api/schema; a tray in it becomes a tray of the clinic.",
)
def add_case_file(clinic: TheClinic, by: By, response: Response, given: CaseFile) -> CaseShape:
    kept = use.keep_case_data(clinic, by, given)
    made(response, f"/api/cases/{kept.key}")
    return case_shape(kept)


@router.get("/cases/{case}", summary="A case as it is kept")
def read_case(clinic: TheClinic, case: int) -> CaseShape:
    return case_shape(clinic.records.case(case))


@router.delete(
    "/cases/{case}", status_code=204, summary="Remove a case with its plans, documents and pictures, for good"
)
def remove_case(clinic: TheClinic, case: int) -> None:
    remove_case_for_good(clinic, case)


@router.get("/cases/{case}/marks", summary="What was entered, the newest first")
def list_marks(clinic: TheClinic, case: int, limit: Annotated[int, Query(ge=1, le=1000)] = 50) -> tuple[Mark, ...]:
    return clinic.records.marks(case, limit)

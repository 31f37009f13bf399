"""What is entered into a case: fields, rows more or less, call-outs, and taking back. Each change is one mark."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Body, Query, Response
from pydantic import BaseModel, Field

from rootfill.clinic import change_case as use
from rootfill.clinic.add_finding import add_finding as keep_finding
from rootfill.clinic.callout import Understood
from rootfill.clinic.cells import CELLS
from rootfill.clinic.kept import KeptCase
from rootfill.clinic.set_cells import set_cells
from rootfill.plan.case import Finding
from rootfill.web.api.case_shape import CaseShape, Change, KeptShape, case_shape, field_words
from rootfill.web.api.shapes import MADE, Given, ShapeOf, Text, made
from rootfill.web.asked import By, TheClinic

router = APIRouter(prefix="/cases/{case}", tags=["entering"])


def _by_field(example: dict[str, dict[str, str]], *parts: str) -> Any:
    """A body of changes by the fields of these parts."""
    fields = [one.field for part in parts for one in CELLS[part]]
    says = "By field. All are kept in one mark, or none of them."
    return Body(
        min_length=1, description=says, examples=[example], json_schema_extra={"propertyNames": {"enum": fields}}
    )


SECTIONS = ("case", "baseline", "patient", "materials")
CanalChanges = Annotated[dict[str, Change], _by_field({"length": {"was": "20.5", "now": "21"}}, "canal")]
VisitChanges = Annotated[dict[str, Change], _by_field({"isolated": {"was": "", "now": "yes"}}, "visit")]
SectionChanges = Annotated[dict[str, Change], _by_field({"note": {"was": "", "now": "recall in May"}}, *SECTIONS)]
FindingFile = Annotated[
    dict[str, Any],
    ShapeOf(Finding),
    Body(examples=[{"kind": "binds", "canal": "MB", "instrument": "60", "value_mm": 15}]),
]
Line = Annotated[str, Field(min_length=1, max_length=400, examples=["MB locator 21.5"])]


class CanalName(Given):
    """A canal that is not named yet."""

    name: Text = Field(examples=["MB2"])


class TrayKey(Given):
    """Which tray; null means the generic one."""

    tray: int | None


class Call(Given):
    """A line as it is called across the chair."""

    text: Line


class Statement(BaseModel):
    """One statement that was understood; without a canal it is said of the whole tooth."""

    canal: str | None
    says: str


class HeardShape(BaseModel):
    """What a line means. In doubt nothing of it would be kept."""

    heard: list[Statement]
    doubt: str | None


@router.patch(
    "/canals/{key}",
    summary="Change fields of a canal",
    description=f"Each field in words, as in `cells` of the case:\n\n{field_words('canal')}",
)
def change_canal(clinic: TheClinic, by: By, case: int, key: int, given: CanalChanges) -> CaseShape:
    return _changed(clinic, by, case, ("canal", key), given)


@router.patch("/visits/{key}", summary="Answer questions of a visit", description=f"Fields:\n\n{field_words('visit')}")
def change_visit(clinic: TheClinic, by: By, case: int, key: int, given: VisitChanges) -> CaseShape:
    return _changed(clinic, by, case, ("visit", key), given)


@router.patch(
    "/sections/{part}",
    summary="Change fields of the tooth or the patient",
    description=f"Fields:\n\n{field_words(*SECTIONS)}",
)
def change_section(
    clinic: TheClinic,
    by: By,
    case: int,
    part: Literal["case", "baseline", "patient", "materials"],
    given: SectionChanges,
) -> CaseShape:
    return _changed(clinic, by, case, (part, 0), given)


@router.post("/canals", status_code=201, responses=MADE, summary="One canal more")
def add_canal(clinic: TheClinic, by: By, case: int, given: CanalName, response: Response) -> CaseShape:
    return _newest(response, use.add_canal(clinic, by, case, given.name), "canal")


@router.delete("/canals/{key}", summary="Take out a canal with its findings")
def remove_canal(clinic: TheClinic, by: By, case: int, key: int) -> CaseShape:
    return case_shape(use.remove_row(clinic, by, case, "canal", key))


@router.post("/visits", status_code=201, responses=MADE, summary="Another visit, today")
def add_visit(clinic: TheClinic, by: By, case: int, response: Response) -> CaseShape:
    return _newest(response, use.add_visit(clinic, by, case), "visit")


@router.post("/findings", status_code=201, responses=MADE, summary="One measurement, under the keys of the case file")
def add_finding(clinic: TheClinic, by: By, case: int, given: FindingFile, response: Response) -> CaseShape:
    return _newest(response, keep_finding(clinic, by, case, given), "finding")


@router.delete("/findings/{key}", summary="Take out a finding")
def remove_finding(clinic: TheClinic, by: By, case: int, key: int) -> CaseShape:
    return case_shape(use.remove_row(clinic, by, case, "finding", key))


@router.put("/tray", summary="Plan the case with another tray")
def choose_tray(clinic: TheClinic, by: By, case: int, given: TrayKey) -> CaseShape:
    return case_shape(use.choose_tray(clinic, by, case, given.tray))


@router.get("/heard", summary="What a call-out would mean; nothing is kept")
def hear(clinic: TheClinic, case: int, text: Annotated[Line, Query()]) -> HeardShape:
    return _heard(use.hear(clinic, clinic.records.case(case), text))


@router.post("/calls", summary="Keep a call-out; in doubt nothing of it is kept")
def say(clinic: TheClinic, by: By, case: int, given: Call) -> KeptShape:
    kept, mark = use.say(clinic, by, case, given.text)
    return KeptShape(case=case_shape(kept), mark=mark)


@router.post("/undo", summary="Take back the last mark of the case")
def undo(clinic: TheClinic, by: By, case: int) -> KeptShape:
    kept, mark = use.undo(clinic, by, case)
    return KeptShape(case=case_shape(kept), mark=mark)


def _changed(clinic: TheClinic, by: str, case: int, row: tuple[str, int], given: dict[str, Change]) -> CaseShape:
    changes = {field: (change.was, change.now) for field, change in given.items()}
    return case_shape(set_cells(clinic, by, case, row, changes))


def _newest(response: Response, kept: KeptCase, part: str) -> CaseShape:
    """The case with its new row, which has the highest number; its address is in the headers."""
    made(response, f"/api/cases/{kept.key}/{part}s/{kept.rows(part)[-1].key}")
    return case_shape(kept)


def _heard(said: Understood) -> HeardShape:
    return HeardShape(heard=[Statement(canal=one.canal, says=one.says) for one in said.heard], doubt=said.doubt)

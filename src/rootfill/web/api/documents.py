"""Tray cards and reports: made, listed, handed out as they were made."""

from __future__ import annotations

from fastapi import APIRouter, Response

from rootfill.clinic import plan_kept as use
from rootfill.clinic.kept import DocumentLine
from rootfill.web.api.shapes import MADE, made
from rootfill.web.asked import TheClinic
from rootfill.web.documents import TYPES

router = APIRouter(prefix="/cases/{case}", tags=["documents"])

_CONTENT = {kind.partition(";")[0]: {"schema": {"type": "string", "format": "binary"}} for kind in TYPES.values()}


@router.post("/cards", status_code=201, responses=MADE, summary="Make the tray card of the case as it stands")
def make_card(clinic: TheClinic, case: int, response: Response) -> DocumentLine:
    return _made(response, use.make_card(clinic, case))


@router.post("/reports", status_code=201, responses=MADE, summary="Make the report of the case as it stands")
def make_report(clinic: TheClinic, case: int, response: Response) -> DocumentLine:
    return _made(response, use.make_report(clinic, case))


@router.get("/documents", summary="Every document of the case, the newest first")
def list_documents(clinic: TheClinic, case: int) -> tuple[DocumentLine, ...]:
    return clinic.records.documents(case)


@router.get(
    "/documents/{key}",
    summary="A document as it was made",
    response_class=Response,
    responses={200: {"description": "The file.", "content": _CONTENT}},
)
def read_document(clinic: TheClinic, case: int, key: int) -> Response:
    line, content = clinic.records.document(case, key)
    headers = {"Content-Disposition": f'attachment; filename="{line.name}"'}
    return Response(content, media_type=TYPES[line.name.rpartition(".")[2]], headers=headers)


def _made(response: Response, line: DocumentLine) -> DocumentLine:
    made(response, f"/api/cases/{line.case}/documents/{line.key}")
    return line

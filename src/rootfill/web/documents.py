"""Cards and reports: made, shown, handed out as they were made."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from rootfill.clinic import plan_kept as use
from rootfill.clinic.kept import DocumentLine
from rootfill.clinic.plan_case import program
from rootfill.errors import NotFound
from rootfill.tooth.notation import tooth_number
from rootfill.web.asked import TheClinic
from rootfill.web.pages import render

pages = APIRouter(include_in_schema=False)

TYPES = {"pdf": "application/pdf", "html": "text/html; charset=utf-8"}
REPORT_POLICY = "default-src 'none'; style-src 'unsafe-inline'; font-src data:; img-src data:; frame-ancestors 'none'"
"""The report is one file that carries its style and letters within; it has no script and fetches nothing."""


@pages.post("/cases/{case}/cards")
def make_card(clinic: TheClinic, case: int) -> Response:
    made = use.make_card(clinic, case)
    return RedirectResponse(f"/cases/{case}/cards/{made.key}", 303)


@pages.post("/cases/{case}/reports")
def make_report(clinic: TheClinic, case: int) -> Response:
    made = use.make_report(clinic, case)
    beside = _beside(clinic, made, "report.html")
    return RedirectResponse(f"/cases/{case}/files/{beside.key}/report.html", 303)


@pages.get("/cases/{case}/cards/{key}")
def card_page(request: Request, clinic: TheClinic, case: int, key: int) -> Response:
    line, _ = clinic.records.document(case, key)
    kept = clinic.records.case(case)
    stale = use.card_out_of_date(clinic, line)
    head = kept.sections["case"]
    words = tooth_number(head.get("tooth"), head.get("notation")).words
    return render(
        request, "card.html", case=case, head=head, words=words, line=line, stale=stale, drawn=_is_ours(clinic, line)
    )


@pages.get("/cases/{case}/cards/{key}/picture")
def card_picture(clinic: TheClinic, case: int, key: int) -> Response:
    line, _ = clinic.records.document(case, key)
    picture = use.card_picture(clinic, line)
    if picture is None:
        raise NotFound("This card was made by another version of the program: open its PDF.")
    return Response(picture, media_type="image/png")


@pages.get("/cases/{case}/files/{key}/{name}")
def file(clinic: TheClinic, case: int, key: int, name: str) -> Response:
    line, content = clinic.records.document(case, key)
    if line.name != name:
        raise NotFound("There is no such document of this case.")
    headers = {"Content-Disposition": f'inline; filename="{line.name}"'}
    if name.endswith(".html"):
        headers["Content-Security-Policy"] = REPORT_POLICY
        content = content.replace(
            b"<body>", f"<body>{_way_back(case, _beside(clinic, line, 'report.pdf').key)}".encode(), 1
        )
    return Response(content, media_type=TYPES[name.rpartition(".")[2]], headers=headers)


def _is_ours(clinic: TheClinic, line: DocumentLine) -> bool:
    return clinic.records.plan(line.case, line.plan).program == program()


def _way_back(case: int, pdf: int) -> str:
    """Links above the report, which is a page by itself."""
    to_pdf = f'<a href="/cases/{case}/files/{pdf}/report.pdf">PDF</a>'
    return f'<p class="back"><a href="/cases/{case}">Back to the tooth</a> · {to_pdf}</p>'


def _beside(clinic: TheClinic, line: DocumentLine, name: str) -> DocumentLine:
    """The other file that was made together with this one."""
    made = (d for d in clinic.records.documents(line.case) if d.name == name and d.made_at == line.made_at)
    found = next(made, None)
    if found is None:
        raise NotFound("This document is not kept any more; make it again.")
    return found

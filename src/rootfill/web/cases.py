"""The list of cases, and a new one in under a minute."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from rootfill.clinic import add_case as use
from rootfill.clinic.cells import CANAL, Cell
from rootfill.errors import InputRefused
from rootfill.tooth.notation import tooth_number
from rootfill.web.asked import By, TheClinic, TheForm, tray_key
from rootfill.web.errors import notice_of
from rootfill.web.pages import render

pages = APIRouter(include_in_schema=False)

PAGE = 40
TYPED_FIELDS = ("name", "reference", "length", "shape", "orifice", "curve")
"""What a new case asks of each canal."""
MOST_CANALS = 8


@pages.get("/")
def list_cases(request: Request, clinic: TheClinic, find: str = "", page: int = 1) -> Response:
    page = min(max(page, 1), 100_000)
    found = clinic.records.cases(find.strip(), PAGE, (page - 1) * PAGE)
    lines = [(line, _words(line.tooth, line.notation)) for line in found.lines]
    last = max(-(-found.total // PAGE), 1)
    return render(request, "cases.html", lines=lines, total=found.total, find=find, page=page, last=last)


@pages.get("/new")
def new_case(request: Request, clinic: TheClinic) -> Response:
    notation = clinic.records.setting("notation") or "iso3950"
    head = {"id": use.suggested_id(clinic), "tooth": "", "notation": notation, "tray": ""}
    return _form(request, clinic, head, [], None)


@pages.get("/new/canals")
def canals_of(request: Request, tooth: str = "", notation: str = "iso3950") -> Response:
    """The canals such a tooth usually has, ready to be filled in; or what is wrong with the number."""
    return render(request, "new_canals.html", **_canals(tooth, notation, []))


@pages.post("/new")
def keep_new_case(request: Request, clinic: TheClinic, by: By, form: TheForm) -> Response:
    head = {name: str(form.get(name, "")).strip() for name in ("id", "tooth", "notation", "tray")}
    typed = [
        {field: str(form.get(f"{field}-{i}", "")) for field in TYPED_FIELDS}
        for i in range(MOST_CANALS)
        if f"name-{i}" in form
    ]
    try:
        entered = {"id": head["id"], "tooth": head["tooth"], "notation": head["notation"]}
        kept = use.add_case(clinic, by, entered, typed, tray_key(head["tray"]))
    except InputRefused as refused:
        return _form(request, clinic, head, typed, refused)
    clinic.records.set("notation", head["notation"])
    return RedirectResponse(f"/cases/{kept.key}", 303)


def _form(
    request: Request, clinic: TheClinic, head: dict[str, str], typed: list[dict[str, str]], refused: InputRefused | None
) -> Response:
    notice = notice_of(refused) if refused else None
    response = render(
        request,
        "new_case.html",
        head=head,
        trays=clinic.records.trays(),
        says=notice.says if notice else None,
        **_canals(head["tooth"], head["notation"], typed),
    )
    response.status_code = notice.status if notice else 200
    return response


def _canals(number: str, notation: str, typed: list[dict[str, str]]) -> dict[str, object]:
    fields = [c for c in CANAL if c.field in TYPED_FIELDS]
    nothing: dict[str, object] = {"words": None, "wrong": None, "rows": typed, "hints": [], "fields": fields}
    if not number.strip():
        return nothing
    try:
        tooth, canals, hints = use.usual(number, notation)
    except InputRefused as refused:
        return {**nothing, "wrong": refused.sentence}
    rows = typed or [_start(fields, c.name, c.reference) for c in canals]
    return {**nothing, "words": tooth.words, "rows": rows, "hints": [h.sentence for h in hints]}


def _start(fields: list[Cell], name: str, reference: str) -> dict[str, str]:
    return {**{c.field: "" for c in fields}, "name": name, "reference": reference}


def _words(number: str, notation: str) -> str:
    try:
        return tooth_number(number, notation).words
    except InputRefused:
        return "tooth not known"

"""The page of one tooth: everything typed is kept at once, a first look comes back at once, the plan when still."""

from __future__ import annotations

import json

from fastapi import APIRouter, Request
from starlette.responses import RedirectResponse, Response

from rootfill.clinic import change_case as use
from rootfill.clinic.cells import cell, cell_text
from rootfill.clinic.kept import KeptCase
from rootfill.clinic.plan_kept import Standing, settled, spelled, standing
from rootfill.errors import ChangedMeanwhile, InputRefused, NotFound, Said
from rootfill.web.asked import By, TheClinic, Typed, tray_key
from rootfill.web.errors import answer
from rootfill.web.pages import render
from rootfill.web.tooth_view import view

pages = APIRouter(include_in_schema=False)


@pages.get("/cases/{case}")
def tooth(request: Request, clinic: TheClinic, case: int) -> Response:
    now = standing(clinic, clinic.records.case(case))
    marks = clinic.records.marks(case, 8)
    return render(request, "tooth.html", marks=marks, trays=clinic.records.trays(), **view(now), **_quiet())


@pages.get("/cases/{case}/parts")
def parts(request: Request, clinic: TheClinic, case: int) -> Response:
    """The page as it stands, when its window comes back to the front."""
    return _parts(request, clinic, standing(clinic, clinic.records.case(case)), "", entries=True)


@pages.get("/cases/{case}/plan")
def full_plan(request: Request, clinic: TheClinic, case: int) -> Response:
    """The whole computation, kept as a version of the plan."""
    return _parts(request, clinic, settled(clinic, case), "")


@pages.get("/cases/{case}/heard")
def heard(request: Request, clinic: TheClinic, case: int, text: str = "") -> Response:
    """What a line means that is being typed."""
    kept = clinic.records.case(case)
    said = use.hear(clinic, kept, text[:400]) if text.strip() else None
    return render(request, "heard.html", said=said, names=[str(r.entered.get("name")) for r in kept.canals])


@pages.post("/cases/{case}/say")
def say(request: Request, clinic: TheClinic, by: By, case: int, text: Typed = "") -> Response:
    kept, mark = use.say(clinic, by, case, text)
    says = f"Kept: {mark.says}" if mark is not None else "That is what stands there already."
    return _answer(request, clinic, kept, says, entries=True)


@pages.post("/cases/{case}/undo")
def undo(request: Request, clinic: TheClinic, by: By, case: int) -> Response:
    kept, mark = use.undo(clinic, by, case)
    return _answer(request, clinic, kept, mark.says if mark is not None else "Nothing left to undo.", entries=True)


@pages.post("/cases/{case}/cell")
def set_cell(
    request: Request, clinic: TheClinic, by: By, case: int, at: Typed = "", was: Typed = "", text: Typed = ""
) -> Response:
    """One field, kept."""
    place = _place(at)
    _check_today(clinic.records.case(case), place)
    try:
        kept = use.set_cell(clinic, by, case, place, was, text)
    except ChangedMeanwhile as error:
        response = answer(request, error)
        response.headers["HX-Trigger"] = json.dumps({"theirs": {"at": at, "text": error.theirs or ""}})
        return response
    row = kept.row(place[0], place[1])
    stands = cell_text(cell(place[0], place[2]), row.entered) if row is not None else ""
    response = _answer(
        request, clinic, kept, f"Kept: {text.strip() or 'not known'}", entries=place[2] in ("name", "id")
    )
    response.headers["HX-Trigger"] = json.dumps({"kept": {"at": at, "typed": text, "text": stands}})
    return response


@pages.post("/cases/{case}/look")
def look(request: Request, clinic: TheClinic, case: int, at: Typed = "", text: Typed = "") -> Response:
    """What a number would change while it is being typed; what is kept where it cannot be. Nothing is kept."""
    kept = clinic.records.case(case)
    try:
        edits = use.cell_edits(kept, _place(at), None, text)
        now = standing(clinic, use.with_edits(kept, edits))
    except (InputRefused, NotFound):
        edits, now = [], standing(clinic, kept)
    if now.refused is not None and edits:
        edits, now = [], standing(clinic, kept)
    return _parts(request, clinic, now, "", looking=bool(edits))


@pages.post("/cases/{case}/canals")
def add_canal(clinic: TheClinic, by: By, case: int, name: Typed = "") -> Response:
    use.add_canal(clinic, by, case, name)
    return RedirectResponse(f"/cases/{case}", 303)


@pages.post("/cases/{case}/remove/{part}/{key}")
def remove(clinic: TheClinic, by: By, case: int, part: str, key: int) -> Response:
    if part not in ("canal", "finding"):
        raise NotFound("Only a canal or a finding can be taken out.")
    use.remove_row(clinic, by, case, part, key)
    return RedirectResponse(f"/cases/{case}", 303)


@pages.post("/cases/{case}/visits")
def add_visit(clinic: TheClinic, by: By, case: int) -> Response:
    use.add_visit(clinic, by, case)
    return RedirectResponse(f"/cases/{case}", 303)


@pages.post("/cases/{case}/tray")
def choose_tray(clinic: TheClinic, by: By, case: int, tray: Typed = "") -> Response:
    use.choose_tray(clinic, by, case, tray_key(tray))
    return RedirectResponse(f"/cases/{case}", 303)


def _answer(request: Request, clinic: TheClinic, kept: KeptCase, says: str, *, entries: bool) -> Response:
    return _parts(request, clinic, standing(clinic, kept), says, entries=entries)


def _parts(
    request: Request, clinic: TheClinic, now: Standing, says: str, *, entries: bool = False, looking: bool = False
) -> Response:
    """The parts of the page that numbers appear in, each swapped by its id."""
    marks = clinic.records.marks(now.kept.key, 8)
    swapped = {"marks": marks, "says": says, "entries": entries, "looking": looking, "oob": True}
    response = render(request, "tooth_parts.html", **{**_quiet(), **view(now), **swapped})
    response.headers["X-Revision"] = str(now.kept.revision)
    return response


def _quiet() -> dict[str, object]:
    return {"says": "", "entries": False, "looking": False, "oob": False, "spelled": spelled}


def _check_today(kept: KeptCase, place: tuple[str, int, str]) -> None:
    """An answer of today is none of the visit before. Raises InputRefused."""
    if place[0] == "visit" and kept.row(*place[:2]) is not None and place[1] != kept.visits[-1].key:
        newest = Said(f"of an earlier visit; visit {kept.visits[-1].entered.get('id')} was begun meanwhile")
        raise InputRefused("this answer", newest, "load the page again and give it there")


def _place(at: str) -> tuple[str, int, str]:
    part, _, rest = at.partition("/")
    key, _, field = rest.partition("/")
    if not key.isdecimal() or len(key) > 15:
        raise InputRefused("field", at, "load the page again and type it once more")
    return part, int(key), field

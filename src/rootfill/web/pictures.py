"""Pictures of a case: kept as they come, listed, looked at slice by slice, turned, removed."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import RedirectResponse, Response

from rootfill.clinic import keep_picture as use
from rootfill.clinic.kept_picture import KeptPicture
from rootfill.clinic.picture_words import Line, line, scale_words
from rootfill.errors import InputRefused
from rootfill.tooth.notation import tooth_number
from rootfill.web.asked import By, TheClinic, Typed
from rootfill.web.body import largest_picture
from rootfill.web.canals_view import canals_view
from rootfill.web.guard import go_to
from rootfill.web.pages import render
from rootfill.web.picture_form import take
from rootfill.web.picture_view import reading
from rootfill.web.waiting import waited

pages = APIRouter(include_in_schema=False)

RAW = "application/octet-stream"


@dataclass(frozen=True)
class Listed:
    """A picture in the list, and its words there."""

    one: KeptPicture
    words: Line


@pages.get("/cases/{case}/pictures")
def list_pictures(request: Request, clinic: TheClinic, case: int) -> Response:
    kept = clinic.records.case(case)
    listed = [Listed(one, line(one)) for one in use.pictures_of(kept)]
    last = use.last_step(clinic, case)
    head = _head(kept.sections["case"])
    return render(
        request, "pictures.html", case=case, **head, listed=listed, last=last, largest=largest_picture(), says=None
    )


@pages.post("/cases/{case}/pictures")
async def keep(request: Request, clinic: TheClinic, by: By, case: int) -> Response:
    """The files of one picture, streamed to the disk, read apart, and kept whole or not at all."""
    await run_in_threadpool(clinic.records.case, case)
    with clinic.pictures.incoming() as come:
        told = use.told(await take(request, come))
        made = await waited(request, lambda gone: use.keep_picture(clinic, by, case, come, told, gone))
    return go_to(request, f"/cases/{case}/pictures/{made.key}")


@pages.post("/cases/{case}/undo/pictures")
def take_back(clinic: TheClinic, by: By, case: int, number: Typed = "") -> Response:
    clinic.records.case(case)
    if not (number.isascii() and number.isdecimal() and len(number) < 16):
        raise InputRefused("the step", number, "load the page again and take it back there")
    use.take_back(clinic, by, case, int(number))
    return RedirectResponse(f"/cases/{case}/pictures", 303)


@pages.get("/cases/{case}/pictures/{key}")
def look(request: Request, clinic: TheClinic, case: int, key: int) -> Response:
    one = use.picture(clinic, case, key)
    clinic.pictures.size(one.file)
    clinic.pictures.soon(one.file)
    kept = clinic.records.case(case)
    head = _head(kept.sections["case"])
    shown = reading(case, one)
    return render(
        request,
        "picture.html",
        case=case,
        **head,
        one=one,
        words=line(one),
        scale=scale_words(one),
        shown=shown,
        found=canals_view(one, kept),
    )


@pages.get("/cases/{case}/pictures/{key}/slices/{axis}/{index}")
def one_slice(clinic: TheClinic, case: int, key: int, axis: int, index: int) -> Response:
    """Kept grey values, row by row, 8 or 16 bits each, the lower byte first."""
    return Response(use.slice_of(clinic, case, key, axis, index).tobytes(), media_type=RAW)


@pages.post("/cases/{case}/pictures/{key}/turn")
def turn(clinic: TheClinic, by: By, case: int, key: int) -> Response:
    use.turn_picture(clinic, by, case, key)
    return RedirectResponse(f"/cases/{case}/pictures/{key}", 303)


@pages.post("/cases/{case}/pictures/{key}/remove")
def remove(clinic: TheClinic, by: By, case: int, key: int) -> Response:
    use.remove_picture(clinic, by, case, key)
    return RedirectResponse(f"/cases/{case}/pictures", 303)


def _head(head: object) -> dict[str, object]:
    assert isinstance(head, dict)
    return {"head": head, "tooth": tooth_number(head.get("tooth"), head.get("notation")).words}

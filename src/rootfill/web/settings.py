"""What the clinic sets once: tooth numbers, how long until the page locks."""

from __future__ import annotations

from fastapi import APIRouter, Request
from starlette.responses import Response

from rootfill.clinic.sessions import IDLE_RANGE, idle_minutes, set_idle_minutes
from rootfill.errors import InputRefused
from rootfill.tooth.notation import NOTATIONS
from rootfill.web.asked import TheClinic, Typed
from rootfill.web.errors import notice_of
from rootfill.web.pages import render

pages = APIRouter(include_in_schema=False)


@pages.get("/settings")
def settings(request: Request, clinic: TheClinic) -> Response:
    return _page(request, clinic, None, saved=False)


@pages.post("/settings")
def keep_settings(request: Request, clinic: TheClinic, notation: Typed = "", minutes: Typed = "") -> Response:
    try:
        if notation not in NOTATIONS:
            raise InputRefused("tooth numbers", notation, f"allowed: {', '.join(NOTATIONS)}")
        set_idle_minutes(clinic.records, minutes)
    except InputRefused as refused:
        return _page(request, clinic, refused, saved=False)
    clinic.records.set("notation", notation)
    return _page(request, clinic, None, saved=True)


@pages.get("/keys")
def keys(request: Request) -> Response:
    return render(request, "keys.html")


def _page(request: Request, clinic: TheClinic, refused: InputRefused | None, *, saved: bool) -> Response:
    notice = notice_of(refused) if refused else None
    response = render(
        request,
        "settings.html",
        notation=clinic.records.setting("notation") or "iso3950",
        minutes=idle_minutes(clinic.records),
        range=IDLE_RANGE,
        says=notice.says if notice else None,
        saved=saved,
    )
    response.status_code = notice.status if notice else 200
    return response

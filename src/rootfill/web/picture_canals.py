"""Canals of a kept scan: found, named, their ends set; each answer is the part of the page that shows them."""

from __future__ import annotations

import re

from fastapi import APIRouter, Request
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from rootfill.clinic import find_canals as use
from rootfill.clinic.along_canal import section
from rootfill.clinic.keep_picture import picture
from rootfill.clinic.kept_picture import KeptPicture
from rootfill.clinic.ports import Clinic
from rootfill.clinic.put_canals import put_canals
from rootfill.errors import InputRefused
from rootfill.web.asked import By, TheClinic, Typed
from rootfill.web.canals_view import canals_view
from rootfill.web.guard import go_to
from rootfill.web.pages import render
from rootfill.web.waiting import waited

pages = APIRouter(prefix="/cases/{case}/pictures/{key}/canals", include_in_schema=False)

_POINT = re.compile(r"\s*(\d{1,5})\s*,\s*(\d{1,5})\s*,\s*(\d{1,5})\s*", re.ASCII)


@pages.post("")
async def find(
    request: Request, clinic: TheClinic, by: By, case: int, key: int, seed: Typed = "", edge: Typed = ""
) -> Response:
    """In the tooth at the seed, or the largest; in a process that ends when the browser gives up."""
    search = use.Search(() if not seed else (_point(seed),), _edge(edge))
    await run_in_threadpool(picture, clinic, case, key)
    one = await waited(request, lambda gone: use.find_canals(clinic, by, case, key, search, gone))
    return await run_in_threadpool(_part, request, clinic, case, one)


@pages.post("/case")
def put(request: Request, clinic: TheClinic, by: By, case: int, key: int) -> Response:
    """The named canals into the case; then to the tooth, where undo takes it back."""
    put_canals(clinic, by, case, key)
    return go_to(request, f"/cases/{case}")


@pages.get("/{number}/along")
def along(clinic: TheClinic, case: int, key: int, number: int) -> Response:
    """Kept grey values of the section along a canal, row by row from the orifice down."""
    return Response(section(clinic, case, key, number).tobytes(), media_type="application/octet-stream")


@pages.post("/{number}/name")
def name(request: Request, clinic: TheClinic, by: By, case: int, key: int, number: int, name: Typed = "") -> Response:
    return _part(request, clinic, case, use.name_canal(clinic, by, case, key, number, name))


@pages.post("/{number}/end")
def end(request: Request, clinic: TheClinic, by: By, case: int, key: int, number: int, point: Typed = "") -> Response:
    """Without a point, the end that the picture suggests counts again."""
    at = _point(point) if point else None
    return _part(request, clinic, case, use.set_end(clinic, by, case, key, number, at))


def _part(request: Request, clinic: Clinic, case: int, one: KeptPicture) -> Response:
    found = canals_view(one, clinic.records.case(case))
    return render(request, "picture_canals.html", case=case, one=one, found=found)


def _point(typed: str) -> tuple[float, float, float]:
    found = _POINT.fullmatch(typed)
    if found is None:
        raise InputRefused("the point", typed, "put the cross into the picture and press the button again")
    x, y, z = map(float, found.groups())
    return x, y, z


def _edge(typed: str) -> float | None:
    if not typed:
        return None
    if not (typed.isascii() and typed.isdecimal() and len(typed) < 6):
        raise InputRefused("the grey between canal and dentine", typed, "choose it with the slider")
    return float(typed)

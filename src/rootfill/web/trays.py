"""The clinic's trays: copied from the generic one, typed line by line, kept on one Save."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from typing import Any

from fastapi import APIRouter, Request
from starlette.datastructures import FormData
from starlette.responses import RedirectResponse, Response

from rootfill.clinic import keep_tray as use
from rootfill.clinic.draft import read_tray_data
from rootfill.clinic.kept import KeptTray
from rootfill.clinic.tray_cells import GROUPS, TICK, Group, Line
from rootfill.errors import ChangedMeanwhile, InputRefused, Said
from rootfill.web.asked import TheClinic, TheForm, Typed
from rootfill.web.errors import Notice, notice_of
from rootfill.web.pages import render
from rootfill.web.trays_view import GENERIC, listed, sections

pages = APIRouter(include_in_schema=False)

_THEIRS = Notice(409, "changed_meanwhile", "")


@dataclass(frozen=True)
class _Shown:
    """How the form stands: what was refused, what others changed, and where the next key goes."""

    refused: InputRefused | None = None
    theirs: tuple[str, ...] = ()
    focus: str = ""
    saved: bool = False
    unsaved: bool = False


@pages.get("/trays")
def list_trays(request: Request, clinic: TheClinic) -> Response:
    return _list(request, clinic)


@pages.post("/trays")
def copy_tray(request: Request, clinic: TheClinic, of: Typed = GENERIC, name: Typed = "") -> Response:
    try:
        made = use.copy_tray(clinic, int(of) if _is_key(of) else None, name)
    except InputRefused as refused:
        return _list(request, clinic, of, name, refused)
    return RedirectResponse(f"/trays/{made.key}", 303)


@pages.get("/trays/{key}")
def tray(request: Request, clinic: TheClinic, key: int, saved: bool = False) -> Response:
    kept = clinic.records.tray(key)
    return _form(request, kept, use.show(kept.entered), _Shown(saved=saved))


@pages.post("/trays/{key}")
def change_tray(request: Request, clinic: TheClinic, key: int, form: TheForm) -> Response:
    """One line more or less of the form, or all of it kept; what was typed always comes back."""
    typed, kept = _typed(form), clinic.records.tray(key)
    try:
        changed, focus = _changed(form, typed)
        if changed is not None:
            return _form(request, kept, changed, _Shown(focus=focus, unsaved=True))
        use.keep_tray(clinic, key, typed)
    except InputRefused as refused:
        return _form(request, kept, typed, _Shown(refused=refused, unsaved=True))
    except ChangedMeanwhile:
        return _changed_meanwhile(request, clinic.records.tray(key), typed)
    return RedirectResponse(f"/trays/{key}?saved=true", 303)


@pages.post("/trays/{key}/remove")
def remove_tray(request: Request, clinic: TheClinic, key: int) -> Response:
    try:
        use.remove_tray(clinic, key)
    except InputRefused as refused:
        return _list(request, clinic, refused=refused)
    return RedirectResponse("/trays", 303)


def _list(
    request: Request, clinic: TheClinic, of: str = GENERIC, name: str = "", refused: InputRefused | None = None
) -> Response:
    notice = notice_of(refused) if refused else None
    values = {"lines": listed(clinic.records.trays()), "of": of, "own": name, "says": notice.says if notice else None}
    response = render(request, "trays.html", **values)
    response.status_code = notice.status if notice else 200
    return response


def _form(request: Request, kept: KeptTray, typed: use.TypedTray, shown: _Shown) -> Response:
    notice = notice_of(shown.refused) if shown.refused else (_THEIRS if shown.theirs else None)
    bad = shown.refused.field if shown.refused else ""
    response = render(
        request,
        "tray.html",
        kept=kept,
        typed=typed,
        was=json.dumps(typed.was),
        sections=sections(typed, bad),
        bad_name=bad == use.NAME,
        shown=shown,
        says=notice.says if notice else None,
        tick=TICK,
    )
    response.status_code = notice.status if notice else 200
    return response


def _changed_meanwhile(request: Request, kept: KeptTray, typed: use.TypedTray) -> Response:
    """The form as it was typed; whoever saves it again has read what others changed."""
    theirs = tuple(use.differences(typed.was, kept.entered))
    return _form(request, kept, replace(typed, was=kept.entered), _Shown(theirs=theirs, unsaved=True))


def _changed(form: FormData, typed: use.TypedTray) -> tuple[use.TypedTray | None, str]:
    """The form with a line more or less and where to go on in it; None where it is to be kept."""
    if (added := str(form.get("add", ""))) != "":
        return use.with_line(typed, added), f"{added}-{len(typed.lines[added])}-name"
    if (out := str(form.get("out", ""))) != "":
        key, _, index = out.rpartition("-")
        left = use.without_line(typed, key, int(index) if _is_key(index) else -1)
        near = min(int(index) if _is_key(index) else 0, len(left.lines[key]) - 1)
        return left, f"{key}-{near}-name" if near >= 0 else f"{key}-add"
    if (ticked := str(form.get("all", ""))) != "":
        return use.with_measured(typed, ticked), f"{ticked}-all"
    return None, ""


def _typed(form: FormData) -> use.TypedTray:
    """What stands in the form. Raises InputRefused for a form that is not whole."""
    lines = {group.key: tuple(_lines(form, group)) for group in GROUPS}
    was = _read(str(form.get("was", "")))
    read_tray_data(was)
    return use.TypedTray(was, str(form.get("name", "")), lines)


def _lines(form: FormData, group: Group) -> list[Line]:
    lines = []
    for i in range(use.MOST_LINES + 1):
        row = f"{group.key}-{i}"
        if f"{row}-was" not in form:
            break
        texts = {cell.field: str(form.get(f"{row}-{cell.field}", "")) for cell in group.cells}
        lines.append(Line(_read(str(form[f"{row}-was"])), texts, form.get(f"{row}-sure") == "yes"))
    return lines


def _read(text: str) -> dict[str, Any]:
    """Fields of a hidden part of the form."""
    try:
        read = json.loads(text)
    except (ValueError, RecursionError):
        read = None
    if not isinstance(read, dict):
        raise InputRefused("this form", Said("not whole"), "load the page again and type it once more")
    return read


def _is_key(text: str) -> bool:
    return text.isascii() and text.isdecimal() and len(text) < 10

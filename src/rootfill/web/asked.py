"""What every route asks for: the clinic it works for, and by whom."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends, Form, Request
from starlette.datastructures import FormData

from rootfill.clinic.ports import Clinic
from rootfill.errors import InputRefused
from rootfill.web.guard import SignedIn


def _clinic(request: Request) -> Clinic:
    clinic: Clinic = request.app.state.clinic
    return clinic


def _by(caller: SignedIn) -> str:
    return caller.user.name


async def _form(request: Request) -> FormData:
    return await request.form(max_files=0, max_fields=2000)


def tray_key(typed: str) -> int | None:
    """The tray of a form; None for the generic one. Raises InputRefused for what is no tray."""
    if not typed:
        return None
    if not (typed.isascii() and typed.isdecimal() and len(typed) < 16):
        raise InputRefused("tray", typed, "choose one of the list")
    return int(typed)


TheClinic = Annotated[Clinic, Depends(_clinic)]
By = Annotated[str, Depends(_by)]
Typed = Annotated[str, Form(max_length=2000)]
TheForm = Annotated[FormData, Depends(_form)]
"""Whatever fields a form has, as texts."""

"""Routes to come in, to lock, and to go out."""

from __future__ import annotations

import datetime as dt
from typing import Annotated

from fastapi import APIRouter, Form, Request
from pydantic import BaseModel, Field
from starlette.responses import PlainTextResponse, Response

from rootfill.clinic import sign_in as use
from rootfill.clinic.passwords import LONGEST, RULE
from rootfill.clinic.sessions import LONGEST_SESSION
from rootfill.errors import InputRefused, NotFound, NotSignedIn, RootfillError
from rootfill.web.bearer import BEARER
from rootfill.web.errors import API_ERRORS, notice_of
from rootfill.web.guard import Now, SignedIn, TheDoor, drop_token, go_to, keep_token
from rootfill.web.origin import coming_back, local_path
from rootfill.web.pages import render

pages = APIRouter(include_in_schema=False)
api = APIRouter(prefix="/api", tags=["signing in"], responses=API_ERRORS)

Typed = Annotated[str, Form()]


class NameAndPassword(BaseModel):
    """Who wants to sign in."""

    name: str = Field(max_length=LONGEST)
    password: str = Field(max_length=LONGEST)


class Token(BaseModel):
    """To be sent as ``Authorization: Bearer``; good until then, or until it is not used for a while."""

    token: str
    ends_at: dt.datetime


@api.post("/sign-in")
def sign_in_program(door: TheDoor, now: Now, given: NameAndPassword) -> Token:
    """Sign in, for programs."""
    token, session = use.sign_in(door, given.name, given.password, now)
    return Token(token=token, ends_at=session.made_at + LONGEST_SESSION)


@api.post("/sign-out", status_code=204, dependencies=[BEARER])
def sign_out_program(door: TheDoor, caller: SignedIn) -> None:
    """Sign out, for programs."""
    door.sessions.end(caller.session)


@pages.get("/sign-in")
def sign_in_page(request: Request, door: TheDoor, back: str = "/") -> Response:
    return _sign_in_form(request, door, back)


@pages.post("/sign-in")
def sign_in(
    request: Request, door: TheDoor, now: Now, name: Typed = "", password: Typed = "", back: Typed = "/"
) -> Response:
    try:
        token, _ = use.sign_in(door, name, password, now)
    except NotSignedIn as refused:
        return _sign_in_form(request, door, back, name, refused)
    return _let_in(request, door, token, back)


@pages.get("/first/{secret}")
def first_page(request: Request, door: TheDoor, secret: str) -> Response:
    if not use.opens(door, use.FIRST, secret):
        raise NotFound("There is no such page here.")
    return _form(request, "first_start.html", typed="", rule=RULE)


@pages.post("/first/{secret}")
def make_owner(
    request: Request, door: TheDoor, now: Now, secret: str, name: Typed = "", password: Typed = "", again: Typed = ""
) -> Response:
    try:
        use.check_typed_twice(password, again)
        token, _ = use.make_owner(door, secret, name, password, now)
    except InputRefused as refused:
        return _form(request, "first_start.html", refused, typed=name, rule=RULE)
    return _let_in(request, door, token, "/")


@pages.get("/enter/{secret}")
def enter(request: Request, door: TheDoor, now: Now, secret: str) -> Response:
    token, _ = use.enter_demo(door, secret, now)
    return _let_in(request, door, token, "/")


@pages.get("/locked")
def locked_page(request: Request, caller: SignedIn, back: str = "/") -> Response:
    if not caller.session.locked:
        return go_to(request, local_path(back))
    return _form(request, "locked.html", back=local_path(back))


@pages.post("/locked")
def unlock(
    request: Request, door: TheDoor, now: Now, caller: SignedIn, password: Typed = "", back: Typed = "/"
) -> Response:
    try:
        token, _ = use.unlock(door, caller, password, now)
    except NotSignedIn as refused:
        return _form(request, "locked.html", refused, back=local_path(back))
    response = go_to(request, local_path(back))
    keep_token(request, response, token)
    return response


@pages.post("/lock")
def lock(request: Request, door: TheDoor, caller: SignedIn) -> Response:
    door.sessions.lock(caller.session)
    return go_to(request, coming_back(request, "/locked"))


@pages.post("/sign-out")
def sign_out(request: Request, door: TheDoor, caller: SignedIn) -> Response:
    door.sessions.end(caller.session)
    response = go_to(request, "/sign-in")
    drop_token(request, response)
    return response


@pages.get("/password")
def password_page(request: Request) -> Response:
    return _form(request, "password.html", rule=RULE, changed=False)


@pages.post("/password")
def change_password(
    request: Request, door: TheDoor, now: Now, caller: SignedIn, old: Typed = "", new: Typed = "", again: Typed = ""
) -> Response:
    try:
        use.check_typed_twice(new, again)
        use.change_password(door, caller, old, new, now)
    except (InputRefused, NotSignedIn) as refused:
        return _form(request, "password.html", refused, rule=RULE, changed=False)
    return _form(request, "password.html", rule=RULE, changed=True)


def _let_in(request: Request, door: use.Door, token: str, back: str) -> Response:
    """A fresh token, never the one that was there before: nobody can have planted it."""
    if request.state.session is not None:
        door.sessions.end(request.state.session)
    response = _onward(request, local_path(back))
    keep_token(request, response, token)
    return response


def _onward(request: Request, path: str) -> Response:
    if request.headers.get("sec-fetch-site") == "cross-site":
        # A link clicked in another page, such as a terminal in the browser: a redirect would still count as that
        # page's, and the strict cookie would not come along.
        return PlainTextResponse("Come in.", headers={"Refresh": f"0; url={path}"})
    return go_to(request, path)


def _sign_in_form(
    request: Request, door: use.Door, back: str, name: str = "", refused: RootfillError | None = None
) -> Response:
    nobody = not door.accounts.users()
    return _form(request, "sign_in.html", refused, typed=name, back=local_path(back), nobody_yet=nobody)


def _form(request: Request, template: str, refused: RootfillError | None = None, **values: object) -> Response:
    """The form, with what was refused above it and the status that belongs to it."""
    notice = notice_of(refused) if refused else None
    response = render(request, template, says=notice.says if notice else None, **values)
    response.status_code = notice.status if notice else 200
    return response

"""Everything stands behind this: who asks, from where, how much, and what the answer carries.

Closed unless named here: a route that is added is closed, whoever adds it.
"""

from __future__ import annotations

import datetime as dt
import re
import secrets
from collections.abc import Callable
from typing import Annotated

from fastapi import Depends, FastAPI
from fastapi.exceptions import RequestValidationError
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send
from starlette.websockets import WebSocketClose

from rootfill.clinic.kept import Session, User
from rootfill.clinic.sessions import Caller
from rootfill.clinic.sign_in import ENTER, FIRST, Door, opens
from rootfill.errors import NotSignedIn, RootfillError
from rootfill.web.body import Limited, form_field, largest
from rootfill.web.errors import Notice, Refused, answer, answer_with, is_api, is_part, log_fault
from rootfill.web.headers import STATIC, Covered
from rootfill.web.origin import SAFE_METHODS, check_host, check_origin, coming_back

OPEN = frozenset({"/openapi.json", "/sign-in", "/api/sign-in"})
WHILE_LOCKED = frozenset({"/locked", "/sign-out", "/api/sign-out"})
_LINK = re.compile(rf"/({FIRST}|{ENTER})/([^/]+)")
_NOT_SIGNED_IN = Notice(401, "not_signed_in", "Nobody is signed in here; sign in first.")
_LOCKED = Notice(401, "locked", "This session is locked; enter the password to go on. Nothing is lost.")

Clock = Callable[[], dt.datetime]


def install(app: FastAPI, door: Door, now: Clock, port: int) -> None:
    """Put the guard around an application, as the last of its middleware to be added."""
    app.state.door, app.state.now, app.state.port = door, now, port
    for kind in (RootfillError, HTTPException, RequestValidationError):
        app.add_exception_handler(kind, answer)
    app.add_middleware(Guard, door=door, now=now, port=port)


class Guard:
    """Pure ASGI: every request passes here or is turned away."""

    def __init__(self, app: ASGIApp, door: Door, now: Clock, port: int) -> None:
        self._app = app
        self._door = door
        self._now = now
        self._port = port

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
        elif scope["type"] == "http":
            await self._answer(scope, receive, Covered(send, scope["path"]))
        else:
            # No page uses web sockets; an open door for them would be one without a guard.
            await WebSocketClose()(scope, receive, send)

    async def _answer(self, scope: Scope, receive: Receive, send: Covered) -> None:
        scope.setdefault("state", {}).update(user=None, session=None)
        request = Request(scope)
        try:
            check_host(request, self._port)
            check_origin(request)
            away, receive = await self._look(request, Limited(request, receive, largest(request)))
            await (away or self._app)(scope, receive, send)
        except ClientDisconnect:
            return
        except Exception as error:
            # Caught here and not further out, so that this answer too carries the headers.
            if send.begun:
                log_fault(request, error)
            else:
                await (await run_in_threadpool(answer, request, error))(scope, receive, send)

    async def _look(self, request: Request, receive: Receive) -> tuple[Response | None, Receive]:
        """The answer that turns somebody away, None for who may pass; and what is left to read."""
        path, session = request.scope["path"], None
        if not path.startswith(STATIC):
            away, session = await run_in_threadpool(self._judge, request, path)
            if away is not None:
                return away, receive
        if session is None or request.method in SAFE_METHODS or _bearer(request) is not None:
            return None, receive
        return None, await _check_csrf(request, receive, session.csrf)

    def _judge(self, request: Request, path: str) -> tuple[Response | None, Session | None]:
        """The answer that turns somebody away, or the session on which the request relies, if on any."""
        caller = self._caller(request)
        if caller is not None:
            request.state.session, request.state.user = caller.session, caller.user
        if self._is_open(path):
            return None, None
        if caller is None:
            return turn_away(request, "/sign-in", _NOT_SIGNED_IN), None
        if caller.session.locked and path not in WHILE_LOCKED:
            return turn_away(request, "/locked", _LOCKED), None
        return None, caller.session

    def _caller(self, request: Request) -> Caller | None:
        bearer = _bearer(request)
        token = request.cookies.get(cookie_name(self._port), "") if bearer is None else bearer
        if not token:
            return None
        return self._door.sessions.find(token, self._now(), active="x-background" not in request.headers)

    def _is_open(self, path: str) -> bool:
        link = _LINK.fullmatch(path)
        return path in OPEN or (link is not None and opens(self._door, link[1], link[2]))


def cookie_name(port: int) -> str:
    """Two servers on one machine share all cookies but for their names."""
    return f"rootfill-{port}"


def keep_token(request: Request, response: Response, token: str) -> None:
    """Hand the token to the browser, until it is closed."""
    # Not Secure: the page is served in the clear and only to this machine, where nothing passes over a wire;
    # some browsers would drop a secure cookie there. Strict: no other site can send it along.
    response.set_cookie(cookie_name(request.app.state.port), token, path="/", httponly=True, samesite="strict")


def drop_token(request: Request, response: Response) -> None:
    """Take the token back from the browser."""
    response.delete_cookie(cookie_name(request.app.state.port), path="/", httponly=True, samesite="strict")


def go_to(request: Request, path: str) -> Response:
    """Lead the browser on, also where htmx asked for a part of a page."""
    if is_part(request):
        return Response(status_code=204, headers={"HX-Redirect": path})
    return RedirectResponse(path, 303)


def turn_away(request: Request, path: str, notice: Notice) -> Response:
    """To sign in or unlock and then come back; a program gets the notice alone."""
    if is_api(request):
        return answer_with(request, notice)
    there = coming_back(request, path)
    if is_part(request):
        return answer_with(request, Notice(notice.status, notice.kind, notice.says, headers={"HX-Redirect": there}))
    return RedirectResponse(there, 303)


def _bearer(request: Request) -> str | None:
    """The token of a program, which no browser sends by itself; None where none is given."""
    given = request.headers.get("authorization")
    if given is None or not is_api(request):
        return None
    scheme, _, token = given.partition(" ")
    return token.strip() if scheme.lower() == "bearer" else ""


async def _check_csrf(request: Request, receive: Receive, expected: str) -> Receive:
    given = request.headers.get("x-csrf")
    if given is None:
        given, receive = await form_field(request, receive, "csrf")
    if not secrets.compare_digest(given.encode("utf-8", "replace"), expected.encode()):
        says = "This form is of an earlier session and was not taken; load the page again and send it once more."
        raise Refused(403, "old_form", says)
    return receive


def the_door(request: Request) -> Door:
    """The door this application was installed with."""
    door: Door = request.app.state.door
    return door


def the_time(request: Request) -> dt.datetime:
    """Now."""
    now: Clock = request.app.state.now
    return now()


def the_caller(request: Request) -> Caller:
    """Session and user of a route that is not open. Raises NotSignedIn."""
    session: Session | None = request.state.session
    user: User | None = request.state.user
    if session is None or user is None:
        raise NotSignedIn(_NOT_SIGNED_IN.says)
    return Caller(session, user)


TheDoor = Annotated[Door, Depends(the_door)]
Now = Annotated[dt.datetime, Depends(the_time)]
SignedIn = Annotated[Caller, Depends(the_caller)]

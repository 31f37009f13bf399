"""Every error as one answer: one JSON shape for /api, one notice for the page. Nobody sees a traceback."""

from __future__ import annotations

import logging
import secrets
import traceback
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response

from rootfill.errors import ChangedMeanwhile, InputRefused, NotFound, NotKept, NotSignedIn, RootfillError, Said
from rootfill.web.methods import methods_of
from rootfill.web.pages import render

log = logging.getLogger("rootfill.web")

_OURS: tuple[tuple[type[RootfillError], int, str], ...] = (
    (InputRefused, 422, "input_refused"),
    (NotFound, 404, "not_found"),
    (ChangedMeanwhile, 409, "changed_meanwhile"),
    (NotSignedIn, 401, "not_signed_in"),
    (NotKept, 507, "not_kept"),
)
_FRAMEWORKS: dict[int, tuple[str, str]] = {
    400: ("not_readable", "What was sent could not be read; load the page again and send it once more."),
    404: ("not_found", "There is no such page here; go back, or begin at the list of cases."),
    405: ("wrong_method", "This address does not take that kind of request; use the buttons of the page."),
}
_SECRET = frozenset({"password", "again", "old", "new"})


class Refused(HTTPException):
    """Turned away before any use case was asked: status, kind, and a sentence."""

    def __init__(self, status: int, kind: str, says: str) -> None:
        super().__init__(status, says)
        self.kind = kind


class ErrorSays(BaseModel):
    """What went wrong, for programs (kind, field) and for people (says)."""

    kind: str
    field: str | None
    says: str


class ErrorAnswer(BaseModel):
    """Every answer of /api with a status from 400 on."""

    error: ErrorSays


API_ERRORS: dict[int | str, dict[str, Any]] = {
    status: {"model": ErrorAnswer} for status in (400, 401, 403, 404, 405, 409, 413, 422, 500, 507)
}
"""``responses=`` of every router below /api."""


@dataclass(frozen=True)
class Notice:
    """An error as it is answered."""

    status: int
    kind: str
    says: str
    field: str | None = None
    headers: Mapping[str, str] | None = None


def is_api(request: Request) -> bool:
    """Whether a program asks, and gets JSON."""
    path: str = request.scope["path"]
    return path.startswith("/api/")


def is_part(request: Request) -> bool:
    """Whether htmx asks for a part of a page."""
    return "hx-request" in request.headers


def answer(request: Request, error: Exception) -> Response:
    """The answer to an error; the unexpected goes to the log."""
    return answer_with(request, notice_of(error) or _our_fault(request, error))


def answer_with(request: Request, notice: Notice) -> Response:
    """The answer that a notice makes: JSON, a part of a page, or a page."""
    response: Response
    if is_api(request):
        said = {"kind": notice.kind, "field": notice.field, "says": notice.says}
        response = JSONResponse({"error": said}, notice.status)
        if notice.status == 401:
            response.headers["WWW-Authenticate"] = "Bearer"
    else:
        response = _shown(request, notice)
    response.headers.update(notice.headers or {})
    if notice.status == 405:
        response.headers["Allow"] = ", ".join(methods_of(request.app, request.scope["path"]))
    return response


def notice_of(error: Exception) -> Notice | None:
    """What is said of an expected error; None for any other."""
    for kind_of, status, kind in _OURS:
        if isinstance(error, kind_of):
            return Notice(status, kind, str(error), getattr(error, "field", None))
    if isinstance(error, Refused):
        return Notice(error.status_code, error.kind, str(error.detail))
    if isinstance(error, HTTPException):
        kind, says = _FRAMEWORKS.get(error.status_code, ("refused", str(error.detail)))
        return Notice(error.status_code, kind, says, headers=error.headers)
    if isinstance(error, RequestValidationError):
        return _not_valid(error.errors()[0])
    return None


def log_fault(request: Request, error: Exception) -> str:
    """One entry in the log, without what anybody typed: the number that finds it."""
    number = secrets.token_hex(3)
    log.error("our fault %s at %s:\n%s", number, _place(request), "\n".join(_trace(error)))
    return number


def _our_fault(request: Request, error: Exception) -> Notice:
    number = log_fault(request, error)
    says = (
        "Something broke here; this is our fault, not yours. Load the page again: what was saved is safe. "
        f"If it happens again, report it with the number {number} from the log."
    )
    return Notice(500, "our_fault", says)


def _shown(request: Request, notice: Notice) -> Response:
    name = "notice_fragment.html" if is_part(request) else "notice.html"
    try:
        response: Response = render(request, name, says=notice.says, status=notice.status)
    except Exception as error:
        # The notice has to come even when the page around it is what broke.
        log_fault(request, error)
        response = PlainTextResponse(notice.says)
    response.status_code = notice.status
    if is_part(request):
        response.headers.update({"HX-Retarget": "#notice", "HX-Reswap": "innerHTML"})
    return response


def _not_valid(first: Mapping[str, Any]) -> Notice:
    place = [str(step) for step in first["loc"]]
    name = ".".join(place[1:]) or "what was sent"
    if place[0] == "path":
        return Notice(404, *_FRAMEWORKS[404])
    if first["type"] == "json_invalid":
        return Notice(400, "not_readable", "What was sent is not JSON.", "body")
    refused = InputRefused(name, *_why(name, first))
    return Notice(422, "input_refused", refused.sentence, name)


def _why(name: str, first: Mapping[str, Any]) -> tuple[object, str]:
    if first["type"] == "missing":
        return None, "give it"
    wanted = str(first["msg"]).removeprefix("Input should be ").removeprefix("Value error, ")
    typed = first.get("input")
    hidden = name.rpartition(".")[2] in _SECRET or isinstance(typed, dict | list)
    return Said("not usable") if hidden else typed, f"allowed: {wanted}"


def _place(request: Request) -> str:
    """Method and route, never the path as asked: it may hold a secret."""
    path = getattr(request.scope.get("route"), "path", "no route")
    return f"{request.method} {path}"


def _trace(error: BaseException) -> Iterator[str]:
    """Where it broke, without messages: they may quote what somebody typed."""
    earlier = error.__cause__ or error.__context__
    if earlier is not None:
        yield from _trace(earlier)
    for frame in traceback.extract_tb(error.__traceback__):
        yield f"  {frame.filename}:{frame.lineno} in {frame.name}"
    yield type(error).__name__

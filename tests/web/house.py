"""A small application behind the guard, its clock, and whoever is in it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator
from typing import Annotated

from fastapi import APIRouter, FastAPI, Form, Request
from fastapi.routing import APIRoute, iter_route_contexts
from starlette.responses import HTMLResponse, PlainTextResponse, Response

from rootfill.clinic.sign_in import Door
from rootfill.errors import ChangedMeanwhile, InputRefused, NotFound, NotKept, NotSignedIn, SolverError
from rootfill.web import guard, sign_in
from rootfill.web.errors import API_ERRORS
from rootfill.web.guard import SignedIn
from tests.clinic.accounts import NAME, NOON, PASSWORD, owned_door
from tests.web.visitor import PORT, Visitor

BREAKS: dict[str, Callable[[], Exception]] = {
    "refused": lambda: InputRefused("length_mm", 90, "allowed: 8 to 40 mm"),
    "gone": lambda: NotFound("There is no case 9."),
    "changed": lambda: ChangedMeanwhile("length_mm", 20, 21),
    "out": lambda: NotSignedIn("That is not your password."),
    "full": lambda: NotKept("The disk is full; make room and save again."),
    "solver": lambda: SolverError("gutta"),
    "fault": lambda: ZeroDivisionError("the secret word is gutta"),
}


class Clock:
    """Time that passes when a test says so."""

    def __init__(self) -> None:
        self.time = NOON

    def __call__(self) -> dt.datetime:
        return self.time

    def passes(self, **by: float) -> None:
        self.time += dt.timedelta(**by)


class House:
    """The application with a door and a clock."""

    def __init__(self, door: Door | None = None) -> None:
        self.door = door or owned_door()
        self.clock = Clock()
        self.app = an_app()
        guard.install(self.app, self.door, self.clock, PORT)

    def stranger(self, **headers: str) -> Visitor:
        return Visitor(self.app, **headers)

    def owner(self, **headers: str) -> Visitor:
        """Somebody signed in."""
        visitor = self.stranger(**headers)
        visitor.post("/sign-in", data={"name": NAME, "password": PASSWORD})
        visitor.csrf = visitor.get("/api/csrf").json()
        return visitor


def an_app() -> FastAPI:
    """Routes of every kind: pages, parts, a program's, static files, and all that can go wrong."""
    app = FastAPI(docs_url=None, redoc_url=None)
    app.include_router(sign_in.pages)
    app.include_router(sign_in.api)
    app.include_router(_rooms())
    return app


def _rooms() -> APIRouter:
    router = APIRouter(responses=API_ERRORS)

    @router.get("/cases/{key}")
    def page(key: int) -> HTMLResponse:
        return HTMLResponse(f"case {key}")

    @router.post("/cases/{key}/mark")
    def mark(key: int, caller: SignedIn, text: Annotated[str, Form()] = "") -> Response:
        return PlainTextResponse(f"{caller.user.name} marked {key}: {text}")

    @router.get("/report")
    def report() -> HTMLResponse:
        return HTMLResponse("<style></style>", headers={"Content-Security-Policy": "default-src 'none'"})

    @router.get("/static/page.css")
    def style() -> Response:
        return PlainTextResponse("h1 {}", headers={"Cache-Control": "max-age=60"})

    @router.get("/api/csrf")
    def csrf(request: Request, caller: SignedIn) -> str:
        return caller.session.csrf

    @router.get("/api/limit")
    def limit(limit: int) -> int:
        return limit

    @router.post("/api/text")
    async def text(request: Request) -> int:
        return len(await request.body())

    @router.get("/breaks/{how}")
    @router.get("/api/breaks/{how}")
    def breaks(how: str) -> None:
        raise BREAKS[how]()

    return router


def addresses(app: FastAPI) -> Iterator[tuple[str, str]]:
    """Method and an address for every route of an application, whoever added it."""
    for route in iter_route_contexts(app.routes):
        path = (route.path or "").replace("{key}", "1")
        if isinstance(route.original_route, APIRoute) or path:
            yield from ((method, path.replace("{", "").replace("}", "")) for method in sorted(route.methods or {"GET"}))

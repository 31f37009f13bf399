"""Pages out of templates: what every page knows, and the keys that work on it."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse

from rootfill.clinic.sessions import idle_minutes
from rootfill.web.keys import KEYS
from rootfill.web.static import stamp


@cache
def environment() -> Environment:
    """The templates of the page; every value is escaped, a name that is not given is an error."""
    made = Environment(
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals["keys"] = KEYS
    return made


def render(request: Request, name: str, **values: object) -> HTMLResponse:
    """A template with its values and what every page knows: who is signed in, the token of its forms."""
    session, user = request.state.session, request.state.user
    around = {
        "user": user,
        "csrf": session.csrf if session is not None else "",
        "stamp": stamp(),
        "idle_minutes": idle_minutes(request.app.state.door.settings),
        "demo": request.app.state.door.demo,
    }
    return HTMLResponse(environment().get_template(name).render({**around, **values}))

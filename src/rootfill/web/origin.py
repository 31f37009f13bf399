"""Where a request comes from: the served address, our own page, and back to where."""

from __future__ import annotations

from urllib.parse import quote, urlsplit

from starlette.requests import Request

from rootfill.web.errors import Refused

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
HOSTS = ("127.0.0.1", "localhost", "[::1]")
LONGEST_BACK = 500
_NOT_BACK = ("/sign-in", "/sign-out", "/locked", "/lock", "/first", "/enter", "/api", "/static")


def check_host(request: Request, port: int) -> None:
    """Refuse any name but this machine's own: a foreign name that points here would read along (DNS rebinding)."""
    served = {f"{host}:{port}" for host in HOSTS} | (set(HOSTS) if port == 80 else set())
    named = request.headers.getlist("host")
    if len(named) != 1 or named[0].lower() not in served:
        raise Refused(400, "wrong_host", f"Open this page at http://{HOSTS[0]}:{port}; it answers to no other name.")


def check_origin(request: Request) -> None:
    """Refuse to change anything for another page.

    Browsers say with every unsafe request where it comes from, in one of two headers or in both. A program that is
    no browser sends neither; nobody can make it send a cookie. This is also what guards forms before there is a
    session: they have no cookie to ride on, and no state has to be kept for a stranger.
    """
    if request.method in SAFE_METHODS:
        return
    site, origin = request.headers.get("sec-fetch-site"), request.headers.get("origin")
    ours = f"{request.url.scheme}://{request.headers['host'].lower()}"
    if site not in (None, "same-origin", "none") or origin not in (None, ours):
        raise Refused(403, "foreign_page", "This came from another page and was not done; do it on the page itself.")


def local_path(back: str) -> str:
    """A path on this server to go back to; ``/`` for anything else.

    >>> local_path("/cases/3?tab=plan"), local_path("//evil"), local_path("https://evil"), local_path("/locked")
    ('/cases/3?tab=plan', '/', '/', '/')
    """
    # Browsers read a backslash as a slash and leave out tabs and line ends; a header takes no other alphabet.
    harmless = back.startswith("/") and not back.startswith("//") and "\\" not in back and back.isprintable()
    if not harmless or not back.isascii() or " " in back or len(back) > LONGEST_BACK:
        return "/"
    return "/" if _below(back.partition("?")[0].partition("#")[0], _NOT_BACK) else back


def coming_back(request: Request, path: str) -> str:
    """An address that remembers where the person who asks is: the page asked for, or from which something was."""
    here = _path_of(str(request.url))
    if request.method != "GET" or "hx-request" in request.headers:
        here = _path_of(request.headers.get("hx-current-url") or request.headers.get("referer") or "/")
    return f"{path}?back={quote(local_path(here), safe='/')}"


def _path_of(address: str) -> str:
    try:
        parts = urlsplit(address)
    except ValueError:
        return "/"
    return f"{parts.path}?{parts.query}" if parts.query else parts.path


def _below(path: str, starts: tuple[str, ...]) -> bool:
    return any(path == start or path.startswith(f"{start}/") for start in starts)

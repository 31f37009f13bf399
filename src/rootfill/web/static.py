"""Style, script and letters: what is the same for everybody and holds nothing of a case."""

from __future__ import annotations

import hashlib
from functools import cache
from importlib.resources import files as package
from pathlib import Path

from starlette.requests import Request
from starlette.responses import FileResponse, PlainTextResponse, Response
from starlette.routing import Route, Router

from rootfill.drawing import DARK, FONT, PAPER, READING, SCALE, css_variables
from rootfill.errors import RootfillError

STATIC = Path(__file__).parent / "static"
FONTS = Path(str(package("rootfill") / "data" / "fonts"))
BUILT = ("page.js", "page.css", "picture.js")
WEIGHTS = {"400Regular": 400, "600SemiBold": 600, "700Bold": 700}
FOREVER = "public, max-age=31536000, immutable"


def files() -> Router:
    """Routes of everything under /static. Raises RootfillError where script and style were never built."""
    missing = [name for name in BUILT if not (STATIC / name).is_file()]
    if missing:
        raise RootfillError(f"{' and '.join(missing)} of the page were not built: run make in the project's folder")
    return Router([Route("/tokens.css", _tokens), Route("/{name}", _built)])


@cache
def stamp() -> str:
    """Changes whenever style or script do, so that a browser may keep them until then."""
    parts = [(STATIC / name).read_bytes() for name in BUILT] + [tokens().encode()]
    return hashlib.sha256(b"".join(parts)).hexdigest()[:12]


@cache
def tokens() -> str:
    """Colours, type scale and letters as one style sheet."""
    sizes = " ".join(f"--size-{i}: {size}px;" for i, size in enumerate(SCALE, start=1))
    dark = css_variables(DARK)
    return "\n".join(
        (
            *(_face(name, weight) for name, weight in WEIGHTS.items()),
            f':root {{ color-scheme: light; {css_variables(PAPER)} {sizes} --font: "{FONT}", sans-serif; }}',
            f"@media screen and (prefers-color-scheme: dark) {{ :root {{ color-scheme: dark; {dark} }} }}",
            f".reading {{ color-scheme: dark; {css_variables(READING)} }}",
            "",
        )
    )


def _face(name: str, weight: int) -> str:
    address = f"/static/{_font(name)}"
    return (
        f'@font-face {{ font-family: "{FONT}"; font-weight: {weight}; font-display: swap; '
        f'src: url("{address}") format("truetype"); }}'
    )


def _font(weight: str) -> str:
    return next(f.name for f in sorted(FONTS.glob("*.ttf")) if weight in f.name)


def _tokens(request: Request) -> Response:
    del request
    return PlainTextResponse(tokens(), media_type="text/css", headers={"Cache-Control": FOREVER})


def _built(request: Request) -> Response:
    """A built file or a font; nothing else has an address here."""
    name = request.path_params["name"]
    known = {path.name: path for path in (*(STATIC / n for n in BUILT), *FONTS.glob("*.ttf"))}
    if name not in known:
        return PlainTextResponse("There is no such file.", 404)
    return FileResponse(known[name], headers={"Cache-Control": FOREVER})

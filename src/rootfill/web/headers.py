"""Headers that every answer carries."""

from __future__ import annotations

from starlette.datastructures import MutableHeaders
from starlette.types import Message, Send

STATIC = "/static/"
CONTENT_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
ALWAYS = {
    "X-Content-Type-Options": "nosniff",
    # Not "no-referrer": with it browsers send "Origin: null" with every form, and the check of where a form comes
    # from would be blind. Nothing goes to another origin either way.
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=(), payment=(), usb=(), serial=()",
}


class Covered:
    """``send`` that adds the headers, and knows whether an answer has begun."""

    def __init__(self, send: Send, path: str) -> None:
        self._send = send
        self._path = path
        self.begun = False

    async def __call__(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.begun = True
            self._cover(MutableHeaders(raw=message["headers"]), message["status"])
        await self._send(message)

    def _cover(self, headers: MutableHeaders, status: int) -> None:
        headers.update(ALWAYS)
        # A route may have its own: the report is one file and carries its style within.
        headers.setdefault("Content-Security-Policy", CONTENT_POLICY)
        if not (self._path.startswith(STATIC) and status < 400):
            headers["Cache-Control"] = "no-store"

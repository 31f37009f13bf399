"""The body of a request: never more than is allowed, and read ahead where the guard must see a form."""

from __future__ import annotations

import re

from starlette.requests import Request
from starlette.types import Message, Receive

from rootfill import tables
from rootfill.web.errors import Refused

LARGEST_BODY = 2**20
PICTURES = re.compile(r"(?:/api)?/cases/[0-9]+/pictures")
"""Addresses that take pictures, which go to the disk as they come."""
FORMS = ("application/x-www-form-urlencoded", "multipart/form-data")


class Limited:
    """``receive`` that ends with a refusal as soon as more has come than is allowed."""

    def __init__(self, request: Request, receive: Receive, most: int = LARGEST_BODY) -> None:
        self._receive = receive
        self._most = most
        self._had = 0
        announced = request.headers.get("content-length", "0")
        if not (announced.isascii() and announced.isdigit() and int(announced) <= most):
            raise _too_large(most)

    async def __call__(self) -> Message:
        message = await self._receive()
        self._had += len(message.get("body", b""))
        if self._had > self._most:
            raise _too_large(self._most)
        return message


def largest_picture() -> int:
    """The most that is taken as one picture, in bytes."""
    return int(tables.rule("picture_largest_gib").value * 2**30)


def largest(request: Request) -> int:
    """The most that is taken at an address; a form whose secret stands within is read ahead, and never large."""
    trusted = "x-csrf" in request.headers or "authorization" in request.headers
    large = request.method == "POST" and trusted and PICTURES.fullmatch(request.scope["path"])
    return largest_picture() if large else LARGEST_BODY


async def form_field(request: Request, receive: Receive, name: str) -> tuple[str, Receive]:
    """A field of the form that was sent, empty where there is none; and ``receive`` for whoever reads it next."""
    if not request.headers.get("content-type", "").startswith(FORMS):
        return "", receive
    body = await Request(request.scope, receive).body()
    async with Request(request.scope, _once(body, receive)).form() as form:
        value = form.get(name)
    return (value if isinstance(value, str) else ""), _once(body, receive)


def _once(body: bytes, then: Receive) -> Receive:
    waiting: list[Message] = [{"type": "http.request", "body": body, "more_body": False}]

    async def receive() -> Message:
        return waiting.pop() if waiting else await then()

    return receive


def _too_large(most: int) -> Refused:
    return Refused(413, "too_large", f"What was sent is too large; at most {most // 2**20} MB are taken.")

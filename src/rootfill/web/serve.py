"""Serving the page on this machine alone, until it is stopped."""

from __future__ import annotations

import signal
import socket
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import uvicorn

from rootfill.clinic.ports import Clinic
from rootfill.clinic.sign_in import ENTER, FIRST, Door, demo_link, first_link
from rootfill.errors import InputRefused, Said
from rootfill.web.app import make_app

HOST = "127.0.0.1"


def serve(clinic: Clinic, door: Door, port: int, say: Callable[[str], None]) -> None:
    """Answer at this port until interrupted; 0 takes a free one. Raises InputRefused for a port that is taken."""
    with _bound(port) as listening:
        port = listening.getsockname()[1]
        app = make_app(clinic, door, port)
        say(f"rootfill answers at http://{HOST}:{port}")
        for line in _links(clinic, door, f"http://{HOST}:{port}"):
            say(line)
        say("Ctrl+C ends it. Everything entered is kept at once.")
        settings = uvicorn.Config(
            app, log_level="warning", access_log=False, server_header=False, date_header=False, lifespan="off"
        )
        with _ended_in_order():
            uvicorn.Server(settings).run(sockets=[listening])


@contextmanager
def _ended_in_order() -> Iterator[None]:
    """Ctrl+C and a polite request to end both let whoever called tidy up."""
    # The server raises the signal again when it has ended; by default that would end the process there and then.
    before = signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        yield
    except KeyboardInterrupt:
        return
    finally:
        signal.signal(signal.SIGTERM, before)


def _links(clinic: Clinic, door: Door, address: str) -> list[str]:
    if door.demo:
        return [f"Enter the demonstration, once: {address}/{ENTER}/{demo_link(door, clinic.now())}"]
    secret = first_link(door)
    return [] if secret is None else [f"First start, make the owner, once: {address}/{FIRST}/{secret}"]


def _bound(port: int) -> socket.socket:
    # The protocol by name: only then are answers sent at once, and not 40 ms later when the browser has nodded.
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((HOST, port))
        listening.listen(128)
    except (OSError, OverflowError) as error:
        listening.close()
        why = (getattr(error, "strerror", None) or "not usable").lower()
        raise InputRefused("--port", Said(f"{port} ({why})"), "name a free port from 1024 to 65535, or 0") from None
    return listening

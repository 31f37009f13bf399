"""Long work that is given up when the browser that asked for it has gone."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from typing import TypeVar

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request

T = TypeVar("T")
LOOK_S = 0.5


async def waited(request: Request, does: Callable[[Callable[[], bool]], T]) -> T:
    """What ``does`` answers; it is told, by a function, whether the browser is gone. The body must be read by then."""
    gone = threading.Event()
    work = asyncio.ensure_future(run_in_threadpool(does, gone.is_set))
    while not work.done():
        await asyncio.wait({work}, timeout=LOOK_S)
        if not work.done() and not gone.is_set() and await request.is_disconnected():
            gone.set()
    return work.result()

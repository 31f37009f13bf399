"""Which kinds of request an address takes."""

from __future__ import annotations

from fastapi import FastAPI
from fastapi.routing import iter_route_contexts
from starlette.routing import compile_path


def methods_of(app: FastAPI, path: str) -> tuple[str, ...]:
    """All methods that the routes of an address take; the framework names those of the first of them alone."""
    found = {
        method
        for route in iter_route_contexts(app.routes)
        if route.methods and compile_path(route.path or "")[0].match(path)
        for method in route.methods
    }
    return tuple(sorted(found))

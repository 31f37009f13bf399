"""Everything below /api but signing in."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.routing import APIRoute

from rootfill.web.api import cases, documents, entries, pictures, plans, settings, trays, usual
from rootfill.web.bearer import BEARER
from rootfill.web.errors import API_ERRORS


def _name(route: APIRoute) -> str:
    return route.name


api = APIRouter(prefix="/api", responses=API_ERRORS, dependencies=[BEARER], generate_unique_id_function=_name)
for part in (cases, entries, plans, documents, pictures, trays, usual, settings):
    api.include_router(part.router)

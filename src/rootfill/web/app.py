"""The application: every route behind one guard."""

from __future__ import annotations

from fastapi import FastAPI

from rootfill.clinic.plan_case import program
from rootfill.clinic.ports import Clinic
from rootfill.clinic.sign_in import Door
from rootfill.web import (
    api,
    cases,
    documents,
    guard,
    heat,
    picture_canals,
    pictures,
    settings,
    sign_in,
    static,
    tooth,
    trays,
)


def make_app(clinic: Clinic, door: Door, port: int) -> FastAPI:
    """The page and the API of one clinic, served at this port."""
    app = FastAPI(title="rootfill", version=program().split()[-1], docs_url=None, redoc_url=None)
    app.state.clinic = clinic
    for part in (sign_in, cases, tooth, heat, pictures, picture_canals, documents, trays, settings):
        app.include_router(part.pages)
    app.include_router(sign_in.api)
    app.include_router(api.api)
    app.mount("/static", static.files())
    guard.install(app, door, clinic.now, port)
    return app

"""The clinic's trays, under the keys of a tray file."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Body, Response
from pydantic import BaseModel, Field

from rootfill.clinic import keep_tray as use
from rootfill.clinic.casefile import generic_tray
from rootfill.clinic.kept import KeptTray
from rootfill.tray.model import Tray
from rootfill.web.api.shapes import MADE, Given, ShapeOf, Text, made
from rootfill.web.asked import TheClinic

router = APIRouter(tags=["trays"])

TrayFile = Annotated[dict[str, Any], ShapeOf(Tray)]


class TrayCopy(Given):
    """Which tray to copy, null for the generic one, and how the copy is called."""

    of: int | None = Field(examples=[None])
    name: Text = Field(examples=["room 2"])


class TrayChange(BaseModel):
    """A tray as its writer saw it, and as it is to be."""

    was: TrayFile = Field(description="`entered` of the tray, as it was read.")
    now: TrayFile


@router.get("/generic-tray", summary="The tray that is taken where none was chosen; every dimension assumed")
def read_generic_tray() -> Tray:
    return generic_tray()


@router.get("/trays", summary="The trays of the clinic, by name")
def list_trays(clinic: TheClinic) -> tuple[KeptTray, ...]:
    return clinic.records.trays()


@router.post("/trays", status_code=201, responses=MADE, summary="A new tray")
def add_tray(clinic: TheClinic, given: Annotated[TrayFile, Body()], response: Response) -> KeptTray:
    use.check_readable(given)
    kept = clinic.records.add_tray(given, clinic.now())
    made(response, f"/api/trays/{kept.key}")
    return kept


@router.post("/tray-copies", status_code=201, responses=MADE, summary="A new tray, as a copy to be measured")
def copy_tray(clinic: TheClinic, given: TrayCopy, response: Response) -> KeptTray:
    kept = use.copy_tray(clinic, given.of, given.name)
    made(response, f"/api/trays/{kept.key}")
    return kept


@router.get("/trays/{key}", summary="A tray as it is kept")
def read_tray(clinic: TheClinic, key: int) -> KeptTray:
    return clinic.records.tray(key)


@router.put("/trays/{key}", summary="Change a tray")
def change_tray(clinic: TheClinic, key: int, given: TrayChange) -> KeptTray:
    use.check_readable(given.now)
    return clinic.records.change_tray(key, given.was, given.now, clinic.now())


@router.delete("/trays/{key}", status_code=204, summary="Remove a tray that no case uses")
def remove_tray(clinic: TheClinic, key: int) -> None:
    use.remove_tray(clinic, key)

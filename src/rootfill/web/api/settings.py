"""What the clinic sets once."""

from __future__ import annotations

from typing import Literal

from fastapi import APIRouter
from pydantic import Field

from rootfill.clinic.sessions import IDLE_RANGE, idle_minutes, set_idle_minutes
from rootfill.web.api.shapes import Given
from rootfill.web.asked import TheClinic

router = APIRouter(prefix="/settings", tags=["settings"])


Notation = Literal["iso3950", "universal"]


class SettingsShape(Given):
    """Tooth numbers of a new case on the page, and minutes without a key until the page locks."""

    notation: Notation
    idle_minutes: int = Field(ge=IDLE_RANGE[0], le=IDLE_RANGE[1])


@router.get("", summary="The settings of the clinic")
def read_settings(clinic: TheClinic) -> SettingsShape:
    kept: Notation | None = clinic.records.setting("notation")
    return SettingsShape(notation=kept or "iso3950", idle_minutes=idle_minutes(clinic.records))


@router.put("", summary="Set them")
def keep_settings(clinic: TheClinic, given: SettingsShape) -> SettingsShape:
    set_idle_minutes(clinic.records, given.idle_minutes)
    clinic.records.set("notation", given.notation)
    return given

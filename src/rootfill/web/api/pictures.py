"""Pictures of a case: kept, listed, handed out slice by slice, turned, removed."""

from __future__ import annotations

import datetime as dt
from typing import Any

from fastapi import APIRouter, Request, Response
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool

from rootfill.clinic import keep_picture as use
from rootfill.clinic.kept_picture import KeptPicture
from rootfill.web.api.shapes import MADE, made
from rootfill.web.asked import By, TheClinic
from rootfill.web.picture_form import take
from rootfill.web.waiting import waited

router = APIRouter(prefix="/cases/{case}/pictures", tags=["pictures"])

RAW = "application/octet-stream"
_BYTES = {"type": "string", "format": "binary"}
_FORM: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "content": {
            "multipart/form-data": {
                "schema": {
                    "type": "object",
                    "required": ["files"],
                    "properties": {
                        "files": {"type": "array", "items": _BYTES, "minItems": 1},
                        "kind": {"type": "string", "enum": ["volume", "film"], "default": "volume"},
                        "words": {"type": "string", "maxLength": use.LONGEST_WORDS},
                        "spacing": {
                            "type": "string",
                            "description": "One step in mm, where it is known better than by the file: 0.2, or one "
                            "number for each of x, y, z.",
                        },
                    },
                }
            }
        },
    }
}


class ScaleShape(BaseModel):
    """How long a step is along x, y, z; null where nothing says so, and then lengths are in voxels or pixels."""

    spacing_mm: list[float] | None
    source: str
    low: float = Field(description="A true length is at least this part of the measured one, 90 %.")
    high: float = Field(description="And at most this part.")


class PictureShape(BaseModel):
    """A picture; grey value = grey_zero + grey_step × kept value."""

    key: int
    kind: str
    words: str
    size: list[int] = Field(description="Voxels along x, y, z; pixels of a film along x, y.")
    bits: int = Field(description="Of a kept value: 8 or 16, the lower byte first.")
    grey_zero: float
    grey_step: float
    scale: ScaleShape
    to_patient: list[list[float]] | None = Field(description="From voxel indices to mm: left, back, head positive.")
    turned: int = Field(description="Quarter turns of a film; a scan stands upside down at 2.")
    cautions: list[str]
    read_from: str
    made_at: dt.datetime
    by: str
    digest: str = Field(description="SHA-256 of the kept values.")


@router.get("", summary="The pictures of a case, the newest first")
def list_pictures(clinic: TheClinic, case: int) -> list[PictureShape]:
    return [_shape(one) for one in use.pictures_of(clinic.records.case(case))]


@router.post(
    "",
    status_code=201,
    responses=MADE,
    openapi_extra=_FORM,
    summary="Keep a picture: a file, the files of one series, or a zip of them",
)
async def keep_picture(request: Request, clinic: TheClinic, by: By, case: int, response: Response) -> PictureShape:
    await run_in_threadpool(clinic.records.case, case)
    with clinic.pictures.incoming() as come:
        told = use.told(await take(request, come))
        kept = await waited(request, lambda gone: use.keep_picture(clinic, by, case, come, told, gone))
    made(response, f"/api/cases/{case}/pictures/{kept.key}/slices/2/0")
    return _shape(kept)


@router.get(
    "/{key}/slices/{axis}/{index}",
    summary="Kept grey values of one slice, row by row",
    description="Axis 0 cuts across x, 1 across y, 2 across z; rows run along the higher of the other two axes. "
    "A film is slice 0 of axis 2.",
    response_class=Response,
    responses={200: {"description": "The values.", "content": {RAW: {"schema": _BYTES}}}},
)
def read_slice(clinic: TheClinic, case: int, key: int, axis: int, index: int) -> Response:
    return Response(use.slice_of(clinic, case, key, axis, index).tobytes(), media_type=RAW)


@router.post("/{key}/turns", summary="Turn a film by a quarter, a scan upside down")
def turn_picture(clinic: TheClinic, by: By, case: int, key: int) -> PictureShape:
    return _shape(use.turn_picture(clinic, by, case, key))


@router.delete("/{key}", status_code=204, summary="Take a picture out of its case; undo brings it back")
def remove_picture(clinic: TheClinic, by: By, case: int, key: int) -> None:
    use.remove_picture(clinic, by, case, key)


def _shape(one: KeptPicture) -> PictureShape:
    read = one.read
    scale = read.scale
    return PictureShape(
        key=one.key,
        kind=read.kind,
        words=one.words,
        size=[*reversed(read.shape)],
        bits=read.bits,
        grey_zero=read.grey_zero,
        grey_step=read.grey_step,
        scale=ScaleShape(
            spacing_mm=None if scale.spacing_mm is None else list(scale.spacing_mm),
            source=scale.trust.value,
            low=scale.low,
            high=scale.high,
        ),
        to_patient=None if read.to_patient is None else [list(line) for line in read.to_patient],
        turned=one.turned,
        cautions=list(read.cautions),
        read_from=one.read_from,
        made_at=dt.datetime.fromisoformat(one.made_at),
        by=one.by,
        digest=read.digest,
    )

"""Shapes that several operations take or answer with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import Response
from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler
from pydantic_core import CoreSchema, core_schema

LONGEST_TEXT = 2000
Text = Annotated[str, Field(max_length=LONGEST_TEXT)]
MADE: dict[int | str, dict[str, Any]] = {
    201: {
        "description": "Made and kept.",
        "headers": {"Location": {"description": "Where it is from now on.", "schema": {"type": "string"}}},
    }
}
"""``responses=`` of what makes something that has an address of its own."""


class Given(BaseModel):
    """What is sent: exactly these fields, of exactly these types."""

    model_config = ConfigDict(strict=True, extra="forbid")


@dataclass(frozen=True)
class ShapeOf:
    """Marks an object that is described as this type, and handed on as it was sent.

    What is wrong with it is told by the use case, in the words of whoever typed it.
    """

    kind: type

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        taken = handler(source)
        shown = handler.generate_schema(self.kind)
        return core_schema.json_or_python_schema(json_schema=shown, python_schema=taken)


def made(response: Response, address: str) -> None:
    """Say where the new thing is."""
    response.headers["Location"] = address

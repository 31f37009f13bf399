"""Shapes that several operations take or answer with."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import Response
from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler
from pydantic_core import CoreSchema, core_schema

LONGEST_TEXT = 2000
DEEPEST = 20
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
        taken = core_schema.no_info_after_validator_function(_not_deep, handler(source))
        shown = handler.generate_schema(self.kind)
        return core_schema.json_or_python_schema(json_schema=shown, python_schema=taken)


def _not_deep(given: dict[str, Any]) -> dict[str, Any]:
    """What is nested deeper than anything here is could be kept, but never be written out again."""
    level: list[Any] = [given]
    for _ in range(DEEPEST):
        level = [inside for one in level for inside in _inside(one)]
        if not level:
            return given
    raise ValueError(f"nothing nested deeper than {DEEPEST} levels")


def _inside(one: Any) -> Iterable[Any]:
    return one.values() if isinstance(one, dict) else one if isinstance(one, list) else ()


def made(response: Response, address: str) -> None:
    """Say where the new thing is."""
    response.headers["Location"] = address

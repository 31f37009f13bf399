"""docs/heat.md explains every key of a section file with its range, and every key of the result."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from rootfill.clinic.heat_file import heat_adapter
from rootfill.clinic.heat_section import HeatResult

PAGE = (Path(__file__).parents[2] / "docs" / "heat.md").read_text(encoding="utf-8")
SCHEMA = heat_adapter().json_schema()
ROWS = {
    key: line
    for line in PAGE.splitlines()
    if line.startswith("| `")
    for key in re.findall(r"`([^`]+)`", line.split("|")[1])
}


def leaves(node: dict[str, Any], path: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Keys of a section file as the page writes them, each with its schema."""
    if "$ref" in node:
        node = SCHEMA["$defs"][node["$ref"].rsplit("/", 1)[-1]]
    if isinstance(node.get("items"), dict) and "$ref" in node["items"]:
        yield from leaves(node["items"], f"{path}[]")
    for option in node.get("anyOf", []):
        yield from leaves(option, path)
    for key, inner in node.get("properties", {}).items():
        below = "materials.*" if path == "materials" else f"{path}.{key}" if path else key
        found = list(leaves(inner, below))
        yield from found or [(below, inner)]


KEYS = dict(leaves(SCHEMA))


def test_every_key_of_a_section_file_and_of_the_result_is_explained_and_no_other():
    assert set(ROWS) == set(KEYS) | {field.name for field in dataclasses.fields(HeatResult)}


def ranges(schema: dict[str, Any]) -> list[dict[str, Any]]:
    return [o for o in schema.get("anyOf", [schema]) if "maximum" in o]


@pytest.mark.parametrize("key", [k for k, s in KEYS.items() if ranges(s)])
def test_the_range_of_a_number_is_that_of_the_schema(key):
    said = ROWS[key].split("|")[2]
    if key in ("source[].tip_s_mm", "source[].from_s", "source[].until_s", "source[].contact_w_m2k"):
        assert said.strip().startswith(("0 to", "above 0"))
        return
    for option in ranges(KEYS[key]):
        low = f"above {option['exclusiveMinimum']:g}" if "exclusiveMinimum" in option else f"{option['minimum']:g}"
        assert f" {low} to {option['maximum']:.7g}" in said

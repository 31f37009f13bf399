"""A plan as plain data, the same whichever face asked for it."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping
from typing import Any

from rootfill.plan.model import Plan

PLACES = 6
"""Decimals kept in plan.json: a nanometre; display rounds by the interval."""


def plan_data(plan: Plan) -> dict[str, Any]:
    """The plan as dicts, lists, numbers and text."""
    data = _plain(plan)
    assert isinstance(data, dict)
    return data


def plan_json(plan: Plan) -> str:
    """The text of plan.json."""
    return json.dumps(plan_data(plan), indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def _plain(thing: object) -> object:
    if dataclasses.is_dataclass(thing) and not isinstance(thing, type):
        return {f.name: _plain(getattr(thing, f.name)) for f in dataclasses.fields(thing)}
    if isinstance(thing, Mapping):
        return {str(k): _plain(v) for k, v in thing.items()}
    if isinstance(thing, tuple | list):
        return [_plain(v) for v in thing]
    if isinstance(thing, float):
        return round(thing, PLACES) + 0.0
    return thing

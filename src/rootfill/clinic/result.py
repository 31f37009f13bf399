"""A plan as plain data, the same whichever face asked for it."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping
from functools import cache
from typing import Any

from pydantic import TypeAdapter, ValidationError

from rootfill.errors import RootfillError
from rootfill.plan.model import SCHEMA, Plan

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


def read_plan(text: str) -> Plan:
    """The plan that plan.json holds; its text is the same again. Raises RootfillError for another form of it."""
    try:
        plan = _adapter().validate_json(text)
    except ValidationError:
        raise RootfillError(_unreadable(text)) from None
    if plan.schema != SCHEMA:
        raise RootfillError(_unreadable(text))
    return plan


@cache
def _adapter() -> TypeAdapter[Plan]:
    return TypeAdapter(Plan)


def _unreadable(text: str) -> str:
    """Which form it has, as far as it says so, and what to do."""
    again = "make the plan again from its case."
    try:
        form = json.loads(text)["schema"]
    except (ValueError, TypeError, KeyError):
        return f"This is no plan.json of this program: {again}"
    if form == SCHEMA:
        return f"This plan.json is damaged: {again}"
    return f"This plan was written in form {form}, and this version reads form {SCHEMA}: {again}"


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

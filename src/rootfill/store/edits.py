"""One edit of one row: each field that differs must still hold what its writer saw."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping
from typing import Any

from rootfill.clinic.kept import SECTIONS, Edit, Fields
from rootfill.errors import ChangedMeanwhile, InputRefused, Said


def plain(fields: Fields) -> dict[str, Any]:
    """Fields as they will be read back: lists for tuples, text for dates. Raises InputRefused for what is no number."""
    try:
        text = json.dumps(dict(fields), default=_text, allow_nan=False)
    except ValueError:
        raise InputRefused("a number", Said("not finite"), "type a number such as 20.5") from None
    read: dict[str, Any] = json.loads(text)
    return read


def plain_edit(edit: Edit) -> Edit:
    """The edit as it will be read back."""
    before, after = (None if fields is None else plain(fields) for fields in (edit.before, edit.after))
    return Edit(edit.part, 0 if edit.part in SECTIONS else edit.key, before, after)


def edited(now: Fields, edit: Edit) -> dict[str, Any]:
    """What a row holds after an edit. Raises ChangedMeanwhile."""
    before, after = edit.before or {}, edit.after or {}
    names = tuple(edit.changed())
    if edit.after is None and edit.part not in SECTIONS:
        names = tuple(dict.fromkeys((*before, *now)))  # who removes a row must have seen all of it
    for name in names:
        if now.get(name) != before.get(name):
            raise ChangedMeanwhile(f"{_row_words(edit, now)}: {name}", before.get(name), now.get(name))
    merged = {**now, **{name: after.get(name) for name in names}}
    return {name: value for name, value in merged.items() if value is not None}


def gone(edit: Edit) -> ChangedMeanwhile:
    """For a row that is no longer there."""
    return ChangedMeanwhile(_row_words(edit, edit.before or {}), edit.before, None)


def to_json(edit: Edit) -> dict[str, Any]:
    """How a mark keeps an edit."""
    return {"part": edit.part, "key": edit.key, "before": edit.before, "after": edit.after}


def from_json(kept: Mapping[str, Any]) -> Edit:
    """The edit of a mark."""
    return Edit(kept["part"], kept["key"], kept["before"], kept["after"])


def _row_words(edit: Edit, known: Fields) -> str:
    """The row as the clinician knows it: 'MB', 'visit 2', 'MB locator', 'patient'."""
    words = {
        "canal": f"{known.get('name', f'canal {edit.key}')}",
        "visit": f"visit {known.get('id', edit.key)}",
        "finding": f"{known.get('canal', '')} {known.get('kind', f'finding {edit.key}')}".strip(),
    }
    return words.get(edit.part, edit.part)


def _text(value: object) -> str:
    if isinstance(value, dt.date | dt.time):
        return value.isoformat()
    raise TypeError(f"{type(value).__name__} cannot be kept")

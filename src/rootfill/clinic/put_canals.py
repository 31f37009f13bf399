"""Canals of a kept scan into the case: width, length and wall where they were not entered, in one step with undo."""

from __future__ import annotations

from typing import Any

import numpy as np

from rootfill.clinic.check_row import check_row
from rootfill.clinic.find_canals import found_in
from rootfill.clinic.found_canals import length_of, stations_of
from rootfill.clinic.keep_picture import picture
from rootfill.clinic.kept import Edit, Fields
from rootfill.clinic.ports import Clinic
from rootfill.clinic.scan_entries import says_already
from rootfill.errors import InputRefused, NotFound, Said


def put_canals(clinic: Clinic, by: str, case: int, key: int) -> tuple[str, ...]:
    """The named canals of a scan put into the case; their names. What was entered stays as it was entered.

    Raises InputRefused where nothing is to be put, NotFound.
    """
    one = picture(clinic, case, key)
    if not one.read.scale.known:
        raise InputRefused("the picture", Said("without a scale"), "keep it again with how long one step is")
    kept = clinic.records.case(case)
    named = [canal for canal in found_in(one)["canals"] if canal["name"]]
    if not named:
        raise InputRefused("the canals", Said("not named yet"), "say which canal of the case each one is")
    edits = []
    for canal in named:
        row = kept.canal(canal["name"])
        if row is None:
            raise NotFound(f"The case has no canal {canal['name']} any more: name the one in the scan anew.")
        added = missing(row.entered, entries(canal))
        if added:
            check_row("canal", added)
            edits.append(Edit("canal", row.key, row.entered, {**row.entered, **added}))
    if not edits:
        raise InputRefused("the canals", Said("all entered already"), "empty their fields at the tooth first")
    names = tuple(canal["name"] for canal in named)
    clinic.records.mark(case, edits, f"{', '.join(names)}: from the scan", by, clinic.now())
    return names


def entries(canal: Fields) -> dict[str, Any]:
    """What a canal of a case can take from a scan, under the names of the case file, from the end that counts."""
    table = stations_of(canal)
    s, narrow, wide, wall = table.T
    shape = np.stack((s, np.minimum(narrow, wide), np.maximum(narrow, wide)), axis=1)
    known = np.isfinite(wall) & (wall > 0)
    return {
        "natural": _listed(shape[shape[:, 1] >= 0.01]),
        "canal_length_mm": round(length_of(canal), 2),
        "wall_mm": _listed(np.stack((s, wall), axis=1)[known]),
    }


def missing(entered: Fields, found: Fields) -> dict[str, Any]:
    """Of what was found, what the case does not say yet."""
    return {key: value for key, value in found.items() if value and not says_already(entered, key)}


def _listed(rows: Any) -> list[list[float]]:
    return [[round(float(x), 2) for x in row] for row in rows]

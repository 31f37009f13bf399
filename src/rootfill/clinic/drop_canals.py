"""Scanned canals into a case file: lines added to its canals, everything else left as it was typed."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from rootfill.clinic.casefile import case_adapter, parse
from rootfill.clinic.scan_entries import says_already
from rootfill.errors import InputRefused, Said
from rootfill.images.scan import Scanned, ScannedCanal

HEADER = re.compile(r"^\s*\[\[\s*canals\s*\]\]\s*(#.*)?$")
ADDED = ("natural", "canal_length_mm", "wall_mm")


def drop_canals(text: str, scanned: Scanned, numbers: Mapping[str, int]) -> str:
    """The text of a case file with each canal's width and wall as scanned, where they were not entered.

    ``numbers`` names which scanned canal, counted from 1, is which; without any, a case of one canal takes the only
    one found. Raises InputRefused where that is not clear, or where the file cannot be added to.
    """
    case = parse(case_adapter(), text, "the case file")
    names = [canal.name for canal in case.canals]
    chosen = _chosen(names, numbers, len(scanned.canals))
    entered = tomllib.loads(text)["canals"]
    added = {
        names.index(name): {
            key: value
            for key, value in _entries(scanned.canals[number - 1]).items()
            if not says_already(entered[names.index(name)], key)
        }
        for name, number in chosen.items()
    }
    written = _inserted(text, added)
    _check(text, written, added)
    parse(case_adapter(), written, "the case file with the scanned canals")
    return written


def _chosen(names: Sequence[str], numbers: Mapping[str, int], found: int) -> Mapping[str, int]:
    if not numbers and len(names) == 1 and found == 1:
        return {names[0]: 1}
    if not numbers:
        raise InputRefused("canal", None, f"say which scanned canal is which, such as --canal {names[0]}=1")
    for name, number in numbers.items():
        if name not in names:
            raise InputRefused("canal", name, f"one of the case: {', '.join(names)}")
        if not 1 <= number <= found:
            raise InputRefused(f"canal {name}", number, f"the number of a scanned canal, 1 to {found}")
    return numbers


def _entries(canal: ScannedCanal) -> dict[str, Any]:
    """What a canal of a case can take from a scan, in the units of a case file."""
    table = canal.stations
    shape = np.stack((table.s, np.minimum(table.narrow, table.wide), table.wide), axis=1)
    walls = np.stack((table.s, table.wall), axis=1)[np.isfinite(table.wall) & (table.wall > 0)]
    return {
        "natural": [[round(float(x), 2) for x in row] for row in shape],
        "canal_length_mm": round(canal.length, 2),
        "wall_mm": [[round(float(x), 2) for x in row] for row in walls],
    }


def _inserted(text: str, added: Mapping[int, Mapping[str, Any]]) -> str:
    lines, seen = [], -1
    for line in text.splitlines(keepends=True):
        lines.append(line)
        if HEADER.match(line):
            seen += 1
            lines += [f"{key} = {value}  # from the scan\n" for key, value in added.get(seen, {}).items()]
    return "".join(lines)


def _check(before: str, after: str, added: Mapping[int, Mapping[str, Any]]) -> None:
    """Refuse to write anything but what was there and what was to be added."""
    try:
        data = tomllib.loads(after)
        for i, keys in added.items():
            for key in keys:
                del data["canals"][i][key]
        same = data == tomllib.loads(before)
    except (ValueError, KeyError, IndexError):
        same = False
    if not same:
        raise InputRefused(
            "the case file", Said("written in a way that cannot be added to"), "write each canal as [[canals]]"
        )

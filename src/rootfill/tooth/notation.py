"""Tooth numbers: what a typed number means, in the system it was typed in and in no other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from rootfill.errors import InputRefused
from rootfill.tables import table

NOTATIONS = ("iso3950", "universal")
"""The numbering systems a case may use."""

_NUMBERS = {
    "iso3950": "11 to 18, 21 to 28, 31 to 38 and 41 to 48",
    "universal": "1 to 32",
}


@dataclass(frozen=True)
class ToothNumber:
    """A permanent tooth: its number in both systems, and what it is.

    ``arch`` is upper or lower, ``side`` right or left, ``kind`` from central_incisor to third_molar,
    ``words`` the three together as the trade says them.
    """

    iso3950: int
    universal: int
    words: str
    arch: str
    side: str
    kind: str


def tooth_number(number: object, notation: str | None) -> ToothNumber:
    """The permanent tooth that ``number`` names in ``notation`` ('iso3950' or 'universal').

    The number may be typed as 36, "36", " 36 " or "#19". Raises InputRefused, naming case.tooth or
    case.notation, for a number or a system that does not exist, for a primary tooth, and for a missing
    system: the same number can be two different teeth.

    >>> tooth_number("#19", "universal").words
    'lower left first molar'
    """
    typed = _typed(number)
    system = None if notation is None else _system(notation)
    _refuse_primary(number, typed)
    if system is None:
        raise _without_system(number, typed)
    found = _permanent(system).get(typed)
    if found is None:
        raise InputRefused("case.tooth", number, f"the permanent teeth in {system} are {_NUMBERS[system]}")
    return found


def _typed(number: object) -> str:
    if isinstance(number, float) and number.is_integer():
        number = int(number)
    text = "" if number is None else str(number)
    return text.strip().removeprefix("#").strip().lstrip("0").upper()


def _system(notation: object) -> str:
    system = notation.strip().lower() if isinstance(notation, str) else ""
    if system not in NOTATIONS:
        raise InputRefused("case.notation", notation, "it must be iso3950 or universal")
    return system


def _refuse_primary(number: object, typed: str) -> None:
    for system, column in (("iso3950", "iso3950"), ("universal", "letter")):
        for row in table("primary_teeth"):
            if row[column] == typed:
                says = f"in {system} the {row['words']}: a resorbing root, not for this method"
                raise InputRefused("case.tooth", number, says)


def _without_system(number: object, typed: str) -> InputRefused:
    teeth = [(system, _permanent(system).get(typed)) for system in NOTATIONS]
    meant = [(system, tooth.words) for system, tooth in teeth if tooth is not None]
    if not meant:
        allowed = " or ".join(f"{_NUMBERS[system]} in {system}" for system in NOTATIONS)
        return InputRefused("case.tooth", number, f"the permanent teeth are {allowed}")
    means = " and ".join(f"the {words} in {system}" for system, words in meant)
    write = " or ".join(f'notation = "{system}"' for system, _ in meant)
    return InputRefused("case.notation", None, f"{typed} is {means}: write {write}")


@cache
def _permanent(system: str) -> dict[str, ToothNumber]:
    return {row[system]: _tooth(row) for row in table("tooth_numbers")}


def _tooth(row: Mapping[str, str]) -> ToothNumber:
    numbers = int(row["iso3950"]), int(row["universal"])
    return ToothNumber(*numbers, row["words"], row["arch"], row["side"], row["kind"])

"""The class of a filling by where it ends against the radiographic apex, and whether the interval leaves a doubt."""

from __future__ import annotations

from rootfill import tables

SHORT, ADEQUATE, OVER = "short", "adequate", "over"


def grade(short_mm: float) -> str:
    """By value: 0 and 2 mm short are both adequate."""
    most = tables.rule("film_adequate_mm").value
    return OVER if short_mm < 0 else ADEQUATE if short_mm <= most else SHORT


def may_be(low_mm: float, high_mm: float) -> tuple[str, ...]:
    """All classes that the interval touches, the longest filling first."""
    most = tables.rule("film_adequate_mm").value
    touched = ((OVER, low_mm < 0), (ADEQUATE, low_mm <= most and high_mm >= 0), (SHORT, high_mm > most))
    return tuple(name for name, here in touched if here)

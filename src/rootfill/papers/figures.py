"""Computed numbers as the report prints them: value, interval, unit, reason and a source with its mark."""

from __future__ import annotations

from dataclasses import dataclass, field

from rootfill import tables
from rootfill.errors import TableError
from rootfill.plan.model import Plan
from rootfill.units import LENGTH_PLACES, Estimate, decimals

NOT_KNOWN = "no such source"
NO_SPREAD = "no spread"
"""Printed as the interval of a number in which nothing spreads."""


@dataclass(frozen=True)
class Figure:
    """One estimate in words; ``number`` points into the list of sources."""

    label: str
    value: str
    between: str
    because: str
    source: int
    mark: str


@dataclass(frozen=True)
class Cited:
    """One line of the list of sources."""

    number: int
    text: str
    mark: str


@dataclass
class Sources:
    """Sources in the order in which the report first names them."""

    plan: Plan
    _numbers: dict[str, int] = field(default_factory=dict)

    def number(self, id: str) -> int:
        """The number this source has in the report, from 1."""
        return self._numbers.setdefault(id, len(self._numbers) + 1)

    def mark(self, id: str) -> str:
        return self._look_up(id)[1]

    def listed(self) -> list[Cited]:
        """Every source named so far, then those the plan holds besides."""
        for line in self.plan.sources:
            self.number(line.id)
        return [Cited(number, *self._look_up(id)) for id, number in self._numbers.items()]

    def figure(self, label: str, estimate: Estimate) -> Figure:
        """An estimate with its reason and the number of its source."""
        value, between = spelled(estimate)
        id = estimate.source
        return Figure(label, value, between, estimate.because, self.number(id), self.mark(id))

    def _look_up(self, id: str) -> tuple[str, str]:
        """Text and mark of a source: from the plan, else from the tables."""
        for line in self.plan.sources:
            if line.id == id:
                return line.text, line.mark
        try:
            row = tables.source(id)
        except TableError:
            return id, NOT_KNOWN
        return row.text, row.mark


CLEARANCE_PLACES = 2
"""Decimals at most of a clearance, in mm."""


def spelled(estimate: Estimate) -> tuple[str, str]:
    """('15.7 mm', '15.2 to 16.1 mm'): unit always, never more digits than the interval justifies."""
    value, between, unit = _parts(estimate, LENGTH_PLACES)
    return f"{value}{unit}", f"{between}{unit}" if between != NO_SPREAD else between


def tight(estimate: Estimate, longest: int = LENGTH_PLACES) -> tuple[str, str]:
    """The same for a narrow column: the unit stands once; ``longest`` is the most decimals of a length."""
    value, between, unit = _parts(estimate, longest)
    return f"{value}{unit}", between


def _parts(estimate: Estimate, longest: int) -> tuple[str, str, str]:
    width = estimate.high - estimate.low
    unit = f" {estimate.unit}" if estimate.unit not in {"", "1"} else ""
    if width == 0:
        return _value(estimate, 1), NO_SPREAD, unit
    places = decimals(estimate.low, estimate.high) if estimate.unit != "%" or width < 1 else 0
    places = min(places, longest) if estimate.unit in ("mm", "°C", "s") else places
    low, high = (_plain(v, places) for v in (estimate.low, estimate.high))
    return _value(estimate, places), f"{low} to {high}", unit


def _value(estimate: Estimate, places: int) -> str:
    """A share is never said to be all or nothing."""
    if estimate.unit == "%" and estimate.value > 0:
        near = round(estimate.value, places)
        return "over 99" if near >= 100 else "under 1" if near <= 0 else _plain(estimate.value, places)
    return _plain(estimate.value, places)


def _plain(value: float, places: int) -> str:
    """With a real minus, and no minus before a zero."""
    text = f"{value:.{places}f}"
    return text.removeprefix("-") if float(text) == 0 else text.replace("-", "−")


def share(estimate: Estimate) -> Estimate:
    """A ratio as percent."""
    return Estimate(
        100 * estimate.value, 100 * estimate.low, 100 * estimate.high, "%", estimate.because, estimate.source
    )

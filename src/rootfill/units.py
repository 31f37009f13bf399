"""Quantities as people type them, values with their doubt, and the one rounding table."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

import numpy as np
from numpy.typing import NDArray
from pydantic import ConfigDict, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

FloatArray = NDArray[np.float64]

Z90 = 1.6448536269514722
"""Half-width of a 90 % interval of a normal distribution, in standard deviations."""

_NUMBER = re.compile(r"[+-]?([0-9]+([.,][0-9]*)?|[.,][0-9]+)([eE][+-]?[0-9]+)?")

_GRAIN = 1e-6
"""Floating-point dust below this is not allowed to move a rounded depth, in mm or s."""


@dataclass(frozen=True)
class Estimate:
    """A computed number with its 90 % interval, the reason for its width, and its source.

    ``source`` is the id of a row that :func:`rootfill.tables.source` resolves.
    """

    value: float
    low: float
    high: float
    unit: str
    because: str
    source: str

    def __post_init__(self) -> None:
        if not (self.low - 1e-9 <= self.value <= self.high + 1e-9):
            raise ValueError(f"estimate {self.value} outside its interval {self.low} to {self.high}")

    def shifted(self, sign: float, offset: float) -> Estimate:
        """The estimate of ``offset + sign * value``; sign is +1 or -1."""
        ends = sorted((offset + sign * self.low, offset + sign * self.high))
        return Estimate(offset + sign * self.value, ends[0], ends[1], self.unit, self.because, self.source)


def parse_number(text: object) -> float:
    """A number typed with comma or point. Raises ValueError for anything else, NaN and infinity."""
    if isinstance(text, bool):
        raise ValueError("a number, not yes or no")
    typed = str(text).strip()
    if not isinstance(text, int | float) and _NUMBER.fullmatch(typed) is None:
        raise ValueError("a number")
    try:
        number = float(text) if isinstance(text, int | float) else float(typed.replace(",", "."))
    except OverflowError:
        raise ValueError("a finite number") from None
    if not math.isfinite(number):
        raise ValueError("a finite number")
    return number


def parse_size(text: object) -> int:
    """An ISO instrument size typed as 25, #25 or 025: hundredths of a millimetre."""
    number = parse_number(str(text).strip().removeprefix("#"))
    if number != int(number):
        raise ValueError("a whole size such as 25")
    return int(number)


def parse_taper(text: object) -> float:
    """A taper typed as .06, 0,06, 6 %, 6 or 06, in mm per mm."""
    typed = str(text).strip()
    percent = typed.endswith("%")
    digits = typed.removesuffix("%").strip()
    number = parse_number(digits)
    if percent or (abs(number) >= 1.0) or re.fullmatch(r"0\d+", digits):
        number /= 100.0
    return number


def size_name(size: int, taper: float) -> str:
    """'25/.06', as the trade writes a size and taper."""
    return f"{size}/{f'{taper:.3f}'.rstrip('0').removeprefix('0').ljust(3, '0')}"


def down_to_half(value: float) -> float:
    """Largest multiple of 0.5 not above the value: a shallower depth, a shorter time."""
    return math.floor(value / 0.5 + _GRAIN) * 0.5


def up_to_half(value: float) -> float:
    """Smallest multiple of 0.5 not below the value: a deeper depth."""
    return math.ceil(value / 0.5 - _GRAIN) * 0.5


ROUNDING = {
    "plugger_set_stop_mm": down_to_half,
    "heat_set_stop_mm": down_to_half,
    "needle_set_stop_mm": down_to_half,
    "cone_set_mm": down_to_half,
    "fill_level_mm": up_to_half,
    "heat_s": down_to_half,
}
"""Which way each decision is rounded: never past its cautious side."""


@dataclass(frozen=True)
class Within:
    """Marks a typed number: how it is parsed from a number or a text, and the range allowed."""

    ge: float | None = None
    le: float | None = None
    gt: float | None = None
    parse: Callable[[object], float] = parse_number

    def __get_pydantic_core_schema__(self, source: type, handler: GetCoreSchemaHandler) -> CoreSchema:
        bounds = {k: v for k, v in (("ge", self.ge), ("le", self.le), ("gt", self.gt)) if v is not None}
        number = core_schema.int_schema if source is int else core_schema.float_schema
        return core_schema.no_info_before_validator_function(self.parse, number(**bounds))  # type: ignore[arg-type]

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> JsonSchemaValue:
        shown = handler(schema)
        return {**shown, "type": [shown["type"], "string"]}


Number = Annotated[float, Within()]
Size = Annotated[int, Within(6, 140, parse=parse_size)]
Taper = Annotated[float, Within(0, 0.2, parse=parse_taper)]
CutTaper = Annotated[float, Within(0.005, 0.2, parse=parse_taper)]
PRINTABLE = r"^[^\x00-\x1f\x7f-\x9f]*$"
"""Text without control characters."""
ENTERED = ConfigDict(extra="forbid")
"""Configuration of everything typed by a person: an unknown key is refused, not ignored."""


def decimals(low: float, high: float) -> int:
    """How many decimals an interval justifies: 0 from 10 wide, 1 from 0.2, else 2."""
    width = high - low
    return 0 if width >= 10 else 1 if width >= 0.2 else 2


def shown(estimate: Estimate) -> str:
    """'15.7 mm (14.9 to 16.4)': never more digits than the interval justifies, nor more than anyone can measure."""
    places = decimals(estimate.low, estimate.high)
    places = min(places, LENGTH_PLACES) if estimate.unit in ("°C", "s") else places
    unit = f" {estimate.unit}" if estimate.unit else ""
    return f"{estimate.value:.{places}f}{unit} ({estimate.low:.{places}f} to {estimate.high:.{places}f})"


def entered_mm(value: float) -> str:
    """A length as it was entered: '20.5', '21.0'; never rounded, for a rounded one may be a deeper one.

    >>> entered_mm(21.0), entered_mm(20.55)
    ('21.0', '20.55')
    """
    text = f"{value:.6f}".rstrip("0")
    return f"{text}0" if text.endswith(".") else text


LENGTH_PLACES = 1
"""Decimals at most of a depth or length shown, in mm."""


def out_of_hundred(chance: float, whole: int | None = None) -> str:
    """'63', 'over 99', 'under 1': what came out of a computation of chances is never certain."""
    count = round(100 * chance) if whole is None else whole
    return "over 99" if count >= 100 else "under 1" if count <= 0 else str(count)

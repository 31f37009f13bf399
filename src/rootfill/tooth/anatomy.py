"""What the anatomy tables say of a kind of tooth: where to start, what to look for, what to spare."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

from rootfill.tables import number, rule, table
from rootfill.tooth.notation import ToothNumber


@dataclass(frozen=True)
class UsualCanal:
    """A canal these teeth usually have, and the point its length is usually read from."""

    name: str
    reference: str


@dataclass(frozen=True)
class LookFor:
    """Something these teeth often have and the case does not; shares in percent of teeth, or None."""

    canal: str
    percent: float | None
    low: float | None
    high: float | None
    source: str
    mark: str

    @property
    def sentence(self) -> str:
        """One sentence for the operator."""
        return f"Look for {self.canal}: {self._share()}."

    def _share(self) -> str:
        if self.percent is None and self.high is None:
            return "no figure is held for these teeth"
        return f"{self._figures()} of these teeth have one"

    def _figures(self) -> str:
        spread = "" if self.high is None else f"{_start(self.low)} to {_round(self.high)}"
        if self.percent is None:
            return f"{spread} %"
        return f"{_round(self.percent)} % ({spread})" if spread else f"{_round(self.percent)} %"


@dataclass(frozen=True)
class ThinRoot:
    """A thin or weak root: words for the operator, dentine before shaping in mm (None = not known)."""

    words: str
    mean_mm: float | None
    sd_mm: float | None
    low_mm: float | None
    high_mm: float | None
    source: str
    mark: str


def usual_canals(tooth: ToothNumber) -> tuple[UsualCanal, ...]:
    """The canals to start a case with, in order. Third molars vary: their list is only a start."""
    rows = sorted(_rows("canal_names", tooth), key=lambda row: int(row["order"]))
    return tuple(UsualCanal(row["canal"], row["reference"]) for row in rows)


def look_for(tooth: ToothNumber, names: Collection[str]) -> tuple[LookFor, ...]:
    """What is still worth looking for when canals of these names have been entered."""
    return tuple(_look_for(row) for row in _rows("look_for", tooth) if not _is_found(row, names))


def length_range(tooth: ToothNumber) -> tuple[float, float, tuple[str, ...]]:
    """Lowest and highest plausible tooth length in mm, and the ids of the tables they come from.

    Lowest table mean less the band, highest plus the band (rule tooth_length_band_mm). A check on typing
    slips only, never a working length.
    """
    rows = tuple(_rows("tooth_lengths", tooth))
    lengths = [float(row["length_mm"]) for row in rows]
    band = rule("tooth_length_band_mm").value
    return min(lengths) - band, max(lengths) + band, tuple(dict.fromkeys(row["source"] for row in rows))


def nerve_near(tooth: ToothNumber) -> str | None:
    """What to say where the root ends lie near the nerve canal of the lower jaw; None elsewhere."""
    return next((row["words"] for row in _rows("nerve_near", tooth)), None)


def nerve_source(tooth: ToothNumber) -> str | None:
    """The source id of what ``nerve_near`` says; None where it says nothing."""
    return next((row["source"] for row in _rows("nerve_near", tooth)), None)


def thin_roots(tooth: ToothNumber, canal_name: str) -> ThinRoot | None:
    """The thin or weak root that holds this canal; None where the tables name none."""
    rows = _rows("thin_roots", tooth)
    return next((_thin_root(row) for row in rows if _speaks_of(row["canals"], canal_name)), None)


def same_root(tooth: ToothNumber, one: str, other: str) -> bool:
    """Whether two canals of these names lie in one root, or may: a canal the tables do not place lies with all."""
    roots = [_root_of(tooth, name) for name in (one, other)]
    return None in roots or roots[0] == roots[1]


def _root_of(tooth: ToothNumber, name: str) -> str | None:
    return next((row["root"] for row in _rows("roots", tooth) if _speaks_of(row["canals"], name)), None)


def diameters(tooth: ToothNumber, canal_name: str) -> tuple[tuple[float, float, float], ...]:
    """Median natural widths (level_mm from the apex, bl_mm, md_mm), deepest first; () where none are held."""
    rows = (row for row in table("canal_diameters") if _is_of(row, tooth))
    named = [row for row in rows if _speaks_of(row["names"], canal_name)]
    return tuple((float(row["level_mm"]), float(row["bl_mm"]), float(row["md_mm"])) for row in named)


def _rows(name: str, tooth: ToothNumber) -> Iterator[Mapping[str, str]]:
    return (row for row in table(name) if (row["arch"], row["kind"]) == (tooth.arch, tooth.kind))


def _is_of(row: Mapping[str, str], tooth: ToothNumber) -> bool:
    return row["arch"] == tooth.arch and tooth.kind in row["kinds"].split(";")


def _speaks_of(cell: str, name: str) -> bool:
    """Whether a ';' list holds this canal name; a blank list speaks of every canal."""
    return not cell or name.strip().upper() in cell.upper().split(";")


def _is_found(row: Mapping[str, str], names: Collection[str]) -> bool:
    named = bool(row["names"]) and any(_speaks_of(row["names"], name) for name in names)
    enough = bool(row["fewer_than"]) and len(names) >= int(row["fewer_than"])
    return named or enough


def _look_for(row: Mapping[str, str]) -> LookFor:
    percent, low, high = (number(row[column]) for column in ("percent", "low", "high"))
    return LookFor(row["canal"], percent, low, high, row["source"], row["mark"])


def _thin_root(row: Mapping[str, str]) -> ThinRoot:
    mean, sd = number(row["mean_mm"]), number(row["sd_mm"])
    low, high = number(row["low_mm"]), number(row["high_mm"])
    return ThinRoot(row["words"], mean, sd, low, high, row["source"], row["mark"])


def _start(low: float | None) -> str:
    return "up" if low is None else _round(low)


def _round(percent: float) -> str:
    """Whole percents with halves upwards; one decimal below ten, where it matters."""
    return f"{percent:.1f}" if percent < 10 else str(math.floor(percent + 0.5))

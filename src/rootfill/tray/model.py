"""What lies on the tray: cones, pluggers, needles, heated tips, materials, with nominal dimensions."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

import numpy as np
from pydantic import Field
from pydantic.dataclasses import dataclass

from rootfill import tables
from rootfill.tray.names import called
from rootfill.units import (
    ENTERED,
    PRINTABLE,
    CutTaper,
    FloatArray,
    Size,
    Taper,
    Within,
    parse_size,
    size_name,
)

Name = Annotated[str, Field(min_length=1, max_length=60, pattern=PRINTABLE)]
Material = Literal["steel", "niti"]
TipDiameter = Annotated[float, Within(gt=0, le=2.0)]
PartLength = Annotated[float, Within(gt=0, le=40.0)]
Setting = Annotated[float, Within(gt=0, le=1000.0)]
Seconds = Annotated[float, Within(ge=0, le=60.0)]
Celsius = Annotated[float, Within(ge=0, le=1000.0)]


@dataclass(frozen=True, config=ENTERED)
class Rod:
    """The outline of a stiff instrument: tip, taper, and the shaft above its working part, in mm."""

    tip_mm: float
    taper: float
    working_mm: float | None = None
    shaft_mm: float | None = None

    @property
    def kinks_mm(self) -> tuple[float, ...]:
        """Distances from the tip where the outline changes: the end of the working part, and just above it."""
        return () if self.working_mm is None else (self.working_mm, self.working_mm + 1e-6)

    def diameter(self, x_mm: FloatArray) -> FloatArray:
        """Diameter [mm] at distances ``x_mm`` >= 0 from the tip."""
        if self.working_mm is None:
            return np.asarray(self.tip_mm + self.taper * x_mm, dtype=float)
        body = self.tip_mm + self.taper * np.minimum(x_mm, self.working_mm)
        if self.shaft_mm is None:
            return np.asarray(body, dtype=float)
        return np.where(x_mm > self.working_mm, np.maximum(self.shaft_mm, body), body)


@dataclass(frozen=True, config=ENTERED)
class Cone:
    """A gutta-percha cone: ISO size of its tip and its taper."""

    name: Name
    size: Size
    taper: CutTaper
    length_mm: PartLength = 28.0
    assumed: bool | None = None

    @property
    def tip_mm(self) -> float:
        return self.size / 100

    @property
    def size_name(self) -> str:
        return size_name(self.size, self.taper)


@dataclass(frozen=True, config=ENTERED)
class Plugger:
    """A cold plugger: flat face, round, straight unless pre-bent."""

    name: Name
    tip_mm: TipDiameter
    taper: Taper
    material: Material = "steel"
    working_mm: PartLength | None = None
    shaft_mm: TipDiameter | None = None
    prebend: bool = False
    tol_mm: Annotated[float, Within(ge=0, le=0.2)] | None = None
    assumed: bool | None = None

    @property
    def rod(self) -> Rod:
        return Rod(self.tip_mm, self.taper, self.working_mm, self.shaft_mm)

    @property
    def tolerance_mm(self) -> float:
        """Half-width of the uniform spread of its diameter, mm."""
        return tables.rule("plugger_tol_mm").value if self.tol_mm is None else self.tol_mm


@dataclass(frozen=True, config=ENTERED)
class HeatedTip(Plugger):
    """A heated plugger or heat carrier; ``measured`` holds rows of (setting °C, seconds, real °C at its tip)."""

    measured: tuple[tuple[Setting, Seconds, Celsius], ...] = ()


@dataclass(frozen=True, config=ENTERED)
class Needle:
    """A steel tube of a gauge: catalogue outer diameter and its tolerance, regular bore."""

    name: Name
    gauge: Annotated[int, Within(18, 34, parse=parse_size)]
    use: Literal["irrigate", "deliver"]
    working_mm: PartLength | None = None
    vent: Literal["open", "side"] | None = None
    assumed: bool | None = None

    @property
    def material(self) -> Material:
        return "steel"

    @property
    def prebend(self) -> bool:
        return False

    @property
    def tube(self) -> tuple[float, float]:
        """Outer diameter and its tolerance, mm."""
        row = next(r for r in tables.table("needles") if int(r["gauge"]) == self.gauge)
        return float(row["catalogue_od_mm"]), float(row["catalogue_od_tol_pm_mm"])

    @property
    def rod(self) -> Rod:
        return Rod(self.tube[0], 0.0)

    @property
    def tip_mm(self) -> float:
        return self.tube[0]

    @property
    def tolerance_mm(self) -> float:
        return self.tube[1]


@dataclass(frozen=True, config=ENTERED)
class Sealer:
    """A sealer as its maker describes it; what is not entered is unknown, never assumed."""

    name: Name
    type: Literal["epoxy", "zinc_oxide_eugenol", "calcium_silicate", "silicone"] | None = None
    heat_allowed: bool | None = None
    canal: Literal["dry", "moist"] | None = None
    working_min: Annotated[float, Within(gt=0, le=1440)] | None = None


@dataclass(frozen=True, config=ENTERED)
class Compound:
    """Gutta-percha compound for injection."""

    name: Name
    injected_c: Annotated[float, Within(ge=40, le=250)] | None = None


@dataclass(frozen=True, config=ENTERED)
class Tray:
    """A clinic's own instruments and materials.

    ``assumed`` marks dimensions nobody measured; an instrument may say otherwise for itself.
    """

    name: Name = "tray"
    cones: tuple[Cone, ...] = ()
    pluggers: tuple[Plugger, ...] = ()
    needles: tuple[Needle, ...] = ()
    heated_tips: tuple[HeatedTip, ...] = ()
    sealers: tuple[Sealer, ...] = ()
    compounds: tuple[Compound, ...] = ()
    assumed: bool = False

    def is_assumed(self, item: Item) -> bool:
        """Whether nobody measured this one: as it says itself, else as the tray says."""
        return self.assumed if item.assumed is None else item.assumed

    @property
    def assumed_names(self) -> tuple[str, ...]:
        """Everything whose dimensions nobody measured, by name: 'cone 30/.04', 'plugger 50'."""
        return tuple(name for name, item in self._items() if self.is_assumed(item))

    @property
    def measured_names(self) -> tuple[str, ...]:
        """Everything else that has dimensions."""
        return tuple(name for name, item in self._items() if not self.is_assumed(item))

    def _items(self) -> Iterator[tuple[str, Item]]:
        kinds: tuple[tuple[str, tuple[Item, ...]], ...] = (
            ("cone", self.cones),
            ("plugger", self.pluggers),
            ("heated tip", self.heated_tips),
            ("needle", self.needles),
        )
        yield from ((called(item.name, kind), item) for kind, items in kinds for item in items)


Stiff = Plugger | HeatedTip | Needle
"""Everything whose reach is computed as a stiff rod."""
Item = Cone | Stiff
"""Everything on a tray that has dimensions."""

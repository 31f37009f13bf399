"""What is known of a filling once two scans were compared."""

from __future__ import annotations

from dataclasses import dataclass

THIRDS = ("apical", "middle", "coronal")


@dataclass(frozen=True)
class Figure:
    """A percentage with its 90 % interval."""

    percent: float
    low: float
    high: float


@dataclass(frozen=True)
class Stretch:
    """One millimetre of canal, from the end: voids and what was never filled, percent of its volume."""

    from_mm: float
    to_mm: float
    void: float
    unfilled: float


@dataclass(frozen=True)
class Laid:
    """How the filled scan lies to the prepared one, and how far the surfaces stay apart [mm, or voxels]."""

    shift: float
    angle_deg: float
    residual: float


@dataclass(frozen=True)
class Beyond:
    """Bright filling outside the root below the end of the canal: how far it reaches, and its volume."""

    length: float
    volume: float


@dataclass(frozen=True)
class Percents:
    """Voids of the prepared canal's volume: all, by third, with filling all around, touching dentine; not filled."""

    all: Figure
    thirds: tuple[Figure, Figure, Figure]
    inside: Figure
    wall: Figure
    unfilled: float
    per_mm: tuple[Stretch, ...]


@dataclass(frozen=True)
class Checked:
    """The filling checked. ``percents`` is None where voxels cannot carry them; ``warnings`` say why.

    Lengths and volumes are in mm where the scale is known, in voxels where not.
    """

    percents: Percents | None
    laid: Laid | None
    beyond: Beyond | None
    canal_voxels: float | None
    void_voxels: float | None
    length: float | None
    smallest: float
    warnings: tuple[str, ...]

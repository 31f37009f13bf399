"""What is marked on a film, how it is calibrated, and what is found of the filling; pixels are [x, y]."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rootfill.units import FloatArray


@dataclass(frozen=True, eq=False)
class Marks:
    """What the clinician points at, in pixels [x, y]; such marks are never moved.

    ``canal`` has shape (n, 2), from the apical end towards the crown.
    """

    apex: FloatArray | None = None
    end: FloatArray | None = None
    canal: FloatArray | None = None
    reference: FloatArray | None = None


@dataclass(frozen=True)
class Calibration:
    """Size of a pixel along x and y [mm] (None: no scale), and what a true length may be of one measured, at 90 %.

    ``along`` says whether the ruler lay in the canal, so that it was shortened by the same tilt as the canal.
    """

    spacing_mm: tuple[float, float] | None
    low: float
    high: float
    says: str
    source: str
    along: bool = False

    @property
    def known(self) -> bool:
        """Whether lengths can be given in mm."""
        return self.spacing_mm is not None


@dataclass(frozen=True, eq=False)
class Band:
    """A filling as seen, apical end first: its axis (n, 2) and widths (n,) in pixels, grey over its neighbours (n,)."""

    axis: FloatArray
    width: FloatArray
    contrast: FloatArray

    @property
    def along(self) -> FloatArray:
        """Distance of each point from the apical one along the axis [px]."""
        return along_px(self.axis)

    @property
    def ahead(self) -> FloatArray:
        """Unit vector in which the axis leaves its apical end."""
        return leaving(self.axis)


@dataclass(frozen=True)
class FilmVoid:
    """A dark place in the filling [px]: from the end to its middle, its length, its width; whether it is at an edge."""

    s: float
    length: float
    width: float
    at_edge: bool


@dataclass(frozen=True, eq=False)
class Beyond:
    """What lies beyond the radiographic apex [px]: core, and sealer apart from it (None: cannot be seen)."""

    core: float
    sealer: float | None


@dataclass(frozen=True, eq=False)
class Lines:
    """Angles and lengths of a traced canal: Schneider and central angle, smallest radius, reference to apex [px].

    None where nothing was traced for it.
    """

    schneider_deg: float | None
    central_deg: float | None
    radius_px: float | None
    length_px: float | None


@dataclass(frozen=True, eq=False)
class FilmCheck:
    """A checked filling, lengths in pixels; ``gap_px`` is positive where it ends short of the radiographic apex.

    ``doubt_px`` is half the 90 % interval of the gap without the scale's own error. ``end_found`` and ``apex_found``
    are False where they were pointed at. ``guide_mm``: the size of a pixel it was looked for with.
    """

    end: FloatArray
    apex: FloatArray
    end_found: bool
    apex_found: bool
    band: Band | None
    gap_px: float
    doubt_px: float
    beyond: Beyond
    lines: Lines
    voids: tuple[FilmVoid, ...] | None
    smallest_void_px: float | None
    density: tuple[tuple[float, float], ...]
    taper_ok: bool | None
    guide_mm: float
    cautions: tuple[str, ...] = ()


def along_px(points: FloatArray) -> FloatArray:
    """Distance of each point of a line from its first, along it."""
    return np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))))


def leaving(points: FloatArray, share: float = 0.12) -> FloatArray:
    """Unit vector in which a line, first point first, would run on past its first point."""
    run = along_px(points)
    back = max(2, int(np.searchsorted(run, share * run[-1])) + 1)
    some = points[: min(back, len(points))]
    step = some[0] - some[-1]
    return np.asarray(step / np.linalg.norm(step))

"""What a scan says of a tooth: roots, canals with their lines and widths, joins and isthmuses."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rootfill.units import FloatArray


@dataclass(frozen=True, eq=False)
class ScannedRoot:
    """One root: volume, canals included, from its apex to where it leaves the others, or for a single root to the
    orifice, in the picture's units cubed; its apex as a voxel index (x, y, z)."""

    volume: float
    apex: FloatArray


@dataclass(frozen=True)
class ScannedJoin:
    """A canal that ends in another: the other's number, and the station of the join from the common end."""

    into: int
    at: float


@dataclass(frozen=True)
class Isthmus:
    """A thin connection between canals: their numbers, and its stretch by the stations of the first of them."""

    canals: tuple[int, ...]
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class Stations:
    """What is known of a canal station by station; all arrays of shape (n,), lengths in the picture's units.

    ``s`` from the end, ``narrow`` and ``wide`` the lumen's diameters, ``wall`` the thinnest dentine (NaN where no
    outer surface was found), ``walls`` of shape (n, directions) the dentine all about, counted from the wide axis.
    """

    s: FloatArray
    narrow: FloatArray
    wide: FloatArray
    wall: FloatArray
    walls: FloatArray


@dataclass(frozen=True, eq=False)
class ScannedCanal:
    """One canal: the number of its root, its line from end to orifice as voxel indices (n, 3), and its stations.

    Below ``seen_from`` the canal is thinner than the picture shows and only its direction is carried on; below
    ``thin_below`` it is narrower than two voxels. ``length_error`` is half the 90 % interval of the length without
    the scale's own error. ``blind`` says that it ends inside the dentine. Lengths in the picture's units.
    """

    root: int
    line: FloatArray
    length: float
    length_error: float
    stations: Stations
    seen_from: float
    thin_below: float
    blind: bool
    join: ScannedJoin | None = None
    parts_from: int | None = None

    @property
    def end(self) -> FloatArray:
        """Voxel index of its apical end."""
        return np.asarray(self.line[0])

    @property
    def orifice(self) -> FloatArray:
        """Voxel index of its opening into the chamber, or of the other canal that it leaves."""
        return np.asarray(self.line[-1])


@dataclass(frozen=True, eq=False)
class Scanned:
    """A tooth as a scan shows it. Units: mm where the scan's scale is known, else voxels.

    ``blur`` is the standard deviation of the scanner's blur in voxels, ``noise`` that of its noise as a share of the
    contrast between dentine and canal.
    """

    roots: tuple[ScannedRoot, ...]
    canals: tuple[ScannedCanal, ...]
    isthmuses: tuple[Isthmus, ...]
    pulp_volume: float
    blur: float
    noise: float
    threshold: float
    cautions: tuple[str, ...]

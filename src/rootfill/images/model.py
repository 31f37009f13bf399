"""What every picture is here: grey values in index order, the scale with its error, and how sure it is."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rootfill.units import FloatArray

Grey = NDArray[Any]
"""Grey values of any integer or floating kind; bright = dense."""


class Trust(Enum):
    """Where a scale comes from, the most trusted first; the value is said beside every length."""

    RULER = "set by you, on a file of known length"
    ENTERED = "spacing entered by you"
    PATIENT = "spacing of the scan"
    FIDUCIAL = "measured on an object of known size"
    GEOMETRY = "corrected for an assumed magnification"
    MAGNIFICATION = "at the detector, divided by the magnification stated"
    DISTANCES = "at the detector, divided by the distances stated"
    DETECTOR = "at the detector: the tooth is smaller"
    NOMINAL = "spacing of a scanned film or of an export, of unknown origin"
    NONE = "no scale"


@dataclass(frozen=True)
class Scale:
    """Millimetres per pixel along each index axis (x first), or None where the picture does not say.

    ``low`` and ``high`` bound, as factors and at 90 %, what a length in true mm may be of the length measured.
    Raises ValueError for a spacing that is not positive and finite, and for bounds that do not hold 1.
    """

    spacing_mm: tuple[float, ...] | None
    trust: Trust
    low: float = 1.0
    high: float = 1.0

    def __post_init__(self) -> None:
        if (self.spacing_mm is None) != (self.trust is Trust.NONE):
            raise ValueError("a scale has a spacing exactly when something says so")
        if self.spacing_mm is not None and not all(math.isfinite(x) and x > 0 for x in self.spacing_mm):
            raise ValueError(f"spacing {self.spacing_mm} is not positive")
        if not 0 < self.low <= 1 <= self.high:
            raise ValueError(f"bounds {self.low} to {self.high} do not hold 1")

    @property
    def known(self) -> bool:
        """Whether lengths can be given in mm."""
        return self.spacing_mm is not None


NO_SCALE = Scale(None, Trust.NONE)


@dataclass(frozen=True, eq=False)
class Volume:
    """A scan: ``values`` of shape (z, y, x), x fastest; cautions are sentences for the reader.

    ``to_patient`` is the affine from voxel indices (x, y, z, 1) to patient mm (4 × 4; left, back and head
    positive), or None where the file does not say. Raises ValueError for a shape that is not a volume.
    """

    values: Grey
    scale: Scale
    to_patient: FloatArray | None = None
    cautions: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.values.ndim != 3 or min(self.values.shape) < 2:
            raise ValueError(f"shape {self.values.shape} is no volume")
        if self.scale.spacing_mm is not None and len(self.scale.spacing_mm) != 3:
            raise ValueError("a volume has three spacings")

    @property
    def step_mm(self) -> FloatArray:
        """Size of a voxel along x, y, z [mm]; (1, 1, 1), voxels, where no scale is known."""
        return np.array(self.scale.spacing_mm or (1.0, 1.0, 1.0))


@dataclass(frozen=True, eq=False)
class Film:
    """A radiograph: ``values`` of shape (rows, columns), bright = dense; cautions are sentences for the reader.

    Raises ValueError for a shape that is not a picture.
    """

    values: Grey
    scale: Scale
    cautions: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.values.ndim != 2 or min(self.values.shape) < 2:
            raise ValueError(f"shape {self.values.shape} is no film")
        if self.scale.spacing_mm is not None and len(self.scale.spacing_mm) != 2:
            raise ValueError("a film has two spacings")

"""Where a film stands about a tooth: a point source or parallel rays, two angles, pixels of a detector."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from rootfill.errors import InputRefused
from rootfill.phantom.rays import Rays
from rootfill.units import FloatArray

MOST_DEG = 30.0
BACK_MM = 20.0
"""Rays are measured from so far before the plane through the tooth's middle."""


@dataclass(frozen=True, eq=False)
class View:
    """The beam runs level along y, turned about the tooth by ``horizontal_deg`` and down by ``vertical_deg``.

    ``source_mm`` from the source to the plane through ``about_mm`` that is parallel to the detector (None: parallel
    rays), ``behind_mm`` from there to the detector, which stands square to the beam. ``shift_mm``: how far to the
    right of and below the picture's middle ``about_mm`` is seen. ``upper``: roots up. ``roll_deg``: the picture turned
    in its own plane. Raises InputRefused for what no
    film is taken with.
    """

    about_mm: FloatArray = field(default_factory=lambda: np.zeros(3))
    horizontal_deg: float = 0.0
    vertical_deg: float = 0.0
    source_mm: float | None = 300.0
    behind_mm: float = 12.0
    rows: int = 1200
    columns: int = 900
    pixel_mm: float = 0.033
    shift_mm: tuple[float, float] = (0.0, 0.0)
    upper: bool = False
    roll_deg: float = 0.0

    def __post_init__(self) -> None:
        angles = (self.horizontal_deg, self.vertical_deg, self.roll_deg)
        if not all(abs(angle) <= MOST_DEG for angle in angles):
            raise InputRefused("angle", max(angles, key=abs), f"at most {MOST_DEG:g} degrees")
        if not 0.005 <= self.pixel_mm <= 0.5 or min(self.rows, self.columns) < 2 or self.rows * self.columns > 2e7:
            raise InputRefused("pixel", self.pixel_mm, "pixels of 0.005 to 0.5 mm, at most 20 million of them")
        if self.behind_mm < 0 or not (self.source_mm is None or self.source_mm >= 2 * BACK_MM):
            raise InputRefused("source", self.source_mm, f"at least {2 * BACK_MM:g} mm from the tooth")

    @property
    def axes(self) -> FloatArray:
        """Unit vectors in the tooth's frame: to the right in the picture, down in it, along the beam (rows)."""
        h, v = np.radians([self.horizontal_deg, self.vertical_deg])
        right = np.array([np.cos(h), -np.sin(h), 0.0])
        beam = np.array([np.sin(h) * np.cos(v), np.cos(h) * np.cos(v), -np.sin(v)])
        down = np.array([-np.sin(h) * np.sin(v), -np.cos(h) * np.sin(v), -np.cos(v)])
        down = -down if self.upper else down
        roll = np.radians(self.roll_deg)
        turned = [np.cos(roll) * right + np.sin(roll) * down, np.cos(roll) * down - np.sin(roll) * right]
        return np.array([*turned, beam])

    @property
    def magnification(self) -> float:
        """How much larger the plane through ``about_mm`` is shown: source to detector over source to plane."""
        return 1.0 if self.source_mm is None else (self.source_mm + self.behind_mm) / self.source_mm

    @property
    def object_mm(self) -> float:
        """Size of a pixel in that plane [mm]."""
        return self.pixel_mm / self.magnification

    @property
    def foreshortening(self) -> float:
        """Length shown of 1 mm along the tooth's axis in that plane, magnification taken out."""
        return float(np.cos(np.radians(self.vertical_deg)))

    def seen(self, points: FloatArray) -> FloatArray:
        """Pixels x, y (2, n) of points (3, n) of the tooth; the first pixel's centre is 0, 0."""
        right, down, deep = self.axes @ (points - self.about_mm[:, None])
        scale = self.magnification
        if self.source_mm is not None:
            scale = scale / (1 + deep / self.source_mm)
        return np.asarray(np.array([right, down]) * scale / self.pixel_mm + self._middle()[:, None])

    def rays(self, pixels: FloatArray) -> Rays:
        """The rays that meet pixels x, y (2, n), from ``BACK_MM`` before the plane through the tooth's middle."""
        right, down, beam = self.axes
        flat = (pixels - self._middle()[:, None]) * self.object_mm
        place = self.about_mm[:, None] + np.outer(right, flat[0]) + np.outer(down, flat[1])
        if self.source_mm is None:
            way = np.repeat(beam[:, None], flat.shape[1], axis=1)
        else:
            way = place - (self.about_mm - self.source_mm * beam)[:, None]
            way = way / np.linalg.norm(way, axis=0)
        return Rays(place - BACK_MM * way, way)

    def _middle(self) -> FloatArray:
        """The pixel at which ``about_mm`` is seen."""
        return np.array([self.columns - 1, self.rows - 1]) / 2 + np.array(self.shift_mm) / self.pixel_mm

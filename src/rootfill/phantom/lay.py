"""How roots are lofted about a bent axis and canals laid in them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rootfill.phantom.shapes import Loft, Tube, tangents
from rootfill.units import FloatArray

STEP_MM = 0.02
PAST_MM = 0.8
"""How far a canal's tube runs on past its ends, so that it opens."""


@dataclass(frozen=True)
class Bend:
    """A root's axis: straight down to ``above_mm`` over the apex, then an arc of ``angle_deg`` towards ``toward_deg``.

    ``lean`` is the sideways run per mm of height of the straight part (x, y).
    """

    angle_deg: float = 0.0
    above_mm: float = 5.0
    toward_deg: float = 0.0
    lean: tuple[float, float] = (0.0, 0.0)

    def offset_mm(self, h_mm: FloatArray) -> FloatArray:
        """Sideways place (2, n) [mm] at heights over the apex, 0 at the top of the arc: R (1 − cos φ)."""
        side = np.zeros_like(h_mm)
        if self.angle_deg > 0.1:
            radius = self.above_mm / np.sin(np.radians(self.angle_deg))
            down = np.clip(self.above_mm - h_mm, 0, self.above_mm)
            side = radius - np.sqrt(radius**2 - down**2)
        toward = np.radians(self.toward_deg)
        lean = np.multiply.outer(np.array(self.lean), h_mm - self.above_mm)
        return np.asarray(np.array([side * np.cos(toward), side * np.sin(toward)]) + lean)


@dataclass(frozen=True)
class Girth:
    """Half axes of a root [mm]: across x near the apex and at ``height_mm``, ``flat`` times as much across y."""

    tip_mm: float
    wide_mm: float
    height_mm: float
    flat: float = 1.15

    @property
    def round_mm(self) -> float:
        """Height over which the tip is rounded off [mm]."""
        return 1.3 * self.tip_mm

    def half_mm(self, h_mm: FloatArray) -> FloatArray:
        """Half axes (2, n) at heights over the apex, before the tip is rounded off."""
        plain = self.tip_mm + (self.wide_mm - self.tip_mm) * np.clip(h_mm / self.height_mm, 0, 1) ** 1.2
        return np.array([plain, self.flat * plain])


def root_body(girth: Girth, bend: Bend, apex_z_mm: float, top_z_mm: float, at_mm: tuple[float, float]) -> Loft:
    """The outer surface of a root whose straight part stands at ``at_mm`` (x, y)."""
    z = np.linspace(apex_z_mm, top_z_mm, round((top_z_mm - apex_z_mm) / STEP_MM) + 1)
    h = z - apex_z_mm
    return Loft(z, bend.offset_mm(h) + np.array(at_mm)[:, None], girth.half_mm(h), girth.round_mm)


def block(low_mm: float, high_mm: float, centre: tuple[float, float], half: tuple[float, float]) -> Loft:
    """An upright block of elliptic section, flat below and above."""
    z = np.linspace(low_mm, high_mm, 50)
    return Loft(z, np.tile(np.array(centre)[:, None], z.size), np.tile(np.array(half)[:, None], z.size))


def foramen_height_mm(body: Loft, azimuth_rad: float, off_mm: float) -> float:
    """Height over the apex at which the root's surface in that direction is ``off_mm`` away from the apex."""
    z = body.z_mm[body.z_mm < body.z_mm[0] + 2]
    cx, cy, a, b = body.section(z)
    x, y = cx + a * np.cos(azimuth_rad), cy + b * np.sin(azimuth_rad)
    far = np.sqrt((x - cx[0]) ** 2 + (y - cy[0]) ** 2 + (z - z[0]) ** 2)
    return float(np.interp(off_mm, np.maximum.accumulate(far) + np.arange(z.size) * 1e-9, z - z[0]))


def path_in_root(
    body: Loft, low_h_mm: float, low_xy: FloatArray, share_xy: FloatArray, top_z_mm: float, blend_mm: float
) -> FloatArray:
    """Points (3, n) from the low end up: beside the root's axis by ``low_xy`` [mm], soon by shares of its half axes."""
    z = np.arange(body.z_mm[0] + low_h_mm, top_z_mm + STEP_MM / 8, STEP_MM / 4)
    share = np.clip((z - z[0]) / blend_mm, 0, 1)
    share = 1 - (1 - share) ** 2
    row = body.section(z)
    return np.array([*(row[:2] + low_xy[:, None] * (1 - share) + share_xy[:, None] * row[2:] * share), z])


@dataclass(frozen=True)
class Widths:
    """Full widths of a canal [mm] over the distance from its end: narrow and wide, each growing, a waist if any."""

    narrow_mm: float
    taper: float
    ratio_end: float = 1.2
    ratio_mid: float = 1.5
    waist: float = 0.0
    most_mm: float = 1.1

    def half_mm(self, s_mm: FloatArray, length_mm: float) -> FloatArray:
        """Half axes narrow, wide (2, n) at distances from the end."""
        s = np.clip(s_mm, 0, length_mm)
        narrow = np.minimum(self.narrow_mm + self.taper * s, self.most_mm)
        narrow = narrow * (1 - self.waist * np.exp(-(((s - 0.6) / 0.35) ** 2)))
        ratio = self.ratio_end + (self.ratio_mid - self.ratio_end) * np.clip(s / 5, 0, 1) ** 1.5
        return np.asarray(np.array([narrow, narrow * ratio]) / 2)


def tube(path: FloatArray, widths: Widths, wide_deg: float, top_mm: float) -> tuple[Tube, float]:
    """A tube along points (3, n) from the end up, run on past both ends; its length up to height ``top_mm``."""
    arc = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(path, axis=1), axis=0))])
    length = float(np.interp(top_mm, path[2], arc))
    s = np.arange(-PAST_MM, arc[-1] + PAST_MM + STEP_MM, STEP_MM)
    held = np.clip(s, 0, arc[-1])
    curve = np.array([np.interp(held, arc, row) for row in path])
    ends = tangents(path)[:, [0, -1]]
    curve += ends[:, :1] * np.minimum(s, 0) + ends[:, 1:] * np.maximum(s - arc[-1], 0)
    along = tangents(curve)
    toward = np.array([np.cos(np.radians(wide_deg)), np.sin(np.radians(wide_deg)), 0.0])[:, None]
    wide = toward - (toward * along).sum(axis=0) * along
    return Tube(s, curve, wide / np.linalg.norm(wide, axis=0), widths.half_mm(s, length)), length

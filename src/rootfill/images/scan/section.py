"""One cross-section of a canal: area, centre and diameters from the grey that is missing, blur and all.

A scanner's blur moves grey about but loses none. So the area of the lumen is the grey missing in the section, divided
by the contrast, however much narrower than the blur the canal is; and the second moments of the missing grey are those
of the lumen plus the variance of the blur.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from rootfill.units import FloatArray

MARGIN = 2.6
"""Standard deviations of the blur about a lumen within which its missing grey is gathered."""

CLUMPS = 2.0
"""Noise of neighbouring grid points is alike: they lie half a voxel apart. It counts this much more."""

FLATTEST = 0.97
"""Largest difference of the two second moments over their sum: wide is then eight times narrow."""


@dataclass(frozen=True)
class Section:
    """Lumen of one section.

    Area with its standard deviation; offset of its centre from the grid's; second moments about that (uu, vv, uv), the
    blur's taken off, and the standard deviation of their difference; how dark it gets, and how dark its wall is (1: as
    a wide lumen); and whether it runs out of what was looked at: then nothing but the line itself is known.
    """

    area_mm2: float
    area_sd_mm2: float
    offset_mm: tuple[float, float]
    moments_mm2: tuple[float, float, float]
    moments_sd_mm2: float
    darkest: float
    wall: float = 0.0
    open: bool = False

    @property
    def across_mm(self) -> float:
        """Diameter of the circle of the same area."""
        return float(2 * np.sqrt(max(self.area_mm2, 0.0) / np.pi))


@dataclass(frozen=True, eq=False)
class Grid:
    """A square of points across a canal: offsets along both normals [mm], shape (n,), and grid spacing."""

    along_mm: FloatArray

    @property
    def pitch_mm(self) -> float:
        """Distance of neighbouring points [mm]."""
        return float(self.along_mm[1] - self.along_mm[0])

    @property
    def radius_mm(self) -> FloatArray:
        """Distance of each point from the middle, shape (n, n) [mm]."""
        return np.asarray(np.hypot(*np.meshgrid(self.along_mm, self.along_mm, indexing="ij")))


def grid(reach_mm: float, pitch_mm: float) -> Grid:
    """A grid of odd size that reaches ``reach_mm`` each way."""
    half = int(np.ceil(reach_mm / pitch_mm))
    return Grid(np.arange(-half, half + 1, dtype=float) * pitch_mm)


def measured(
    grey: FloatArray, over: Grid, dentine: float, contrast: float, blur_mm: tuple[float, float], about_mm: float
) -> Section:
    """The lumen in the middle of a section of grey values, shape (n, n).

    ``dentine`` is the grey expected of the wall and ``contrast`` how much darker a wide lumen is; the wall's own grey
    round about the lumen replaces the first where enough of it is seen. ``blur_mm`` is the standard deviation of the
    blur along both sides of the grid, ``about_mm`` about how wide the lumen is.
    """
    dark = (dentine - grey) / contrast
    mine, other = _hollows(dark, over, about_mm)
    if mine is None:
        round_mm2 = about_mm**2 / 16
        return Section(np.pi * 4 * round_mm2, np.inf, (0.0, 0.0), (round_mm2, round_mm2, 0.0), np.inf, 0.0, 1.0, True)
    blur = max(blur_mm)
    shows = float(np.sqrt(mine.sum() / np.pi)) * over.pitch_mm
    near, far = _shares(mine, other, over.pitch_mm, MARGIN * blur + max(0.0, about_mm / 2 - shows))
    wall = _ring(dark, near, over.pitch_mm, blur) & ~far
    level, noise = _level(dark[wall])
    missing = np.where(near, dark - level, 0.0)
    cell = over.pitch_mm**2
    u, v = np.meshgrid(over.along_mm, over.along_mm, indexing="ij")
    area, area_sd = float(missing.sum() * cell), noise * cell * float(np.sqrt(near.sum())) * CLUMPS
    weight = missing if area > 5 * area_sd else np.clip(missing, 0.0, None)
    weight = weight / max(float(weight.sum()), 1e-9)
    cu, cv = float((weight * u).sum()), float((weight * v).sum())
    uu, vv, uv = (float((weight * x).sum()) for x in ((u - cu) ** 2, (v - cv) ** 2, (u - cu) * (v - cv)))
    apart = np.where(near, (u - cu) ** 2 - (v - cv) ** 2, 0.0)
    return Section(
        area_mm2=area,
        area_sd_mm2=area_sd,
        offset_mm=(cu, cv),
        moments_mm2=(uu - blur_mm[0] ** 2, vv - blur_mm[1] ** 2, uv),
        moments_sd_mm2=noise * cell * float(np.sqrt((apart**2).sum())) * CLUMPS / max(area, area_sd, 1e-9),
        darkest=float(np.percentile(dark[near], 95)),
        wall=level,
    )


Mask = NDArray[np.bool_]


def _hollows(dark: FloatArray, over: Grid, about_mm: float) -> tuple[Mask | None, Mask]:
    """The points of the hollow in the middle that are at least half dark, and those of all others.

    Noise breaks a thin hollow up: every part within its expected width is its own. The middle point alone where none is
    half dark; None where the hollow runs out of the grid.
    """
    parts, _ = ndimage.label(dark > 0.5)
    radius = over.radius_mm
    mine = radius < over.pitch_mm / 2
    inside = parts[radius <= max(about_mm / 2, over.pitch_mm)]
    if inside.any():
        mine = np.isin(parts, inside[inside > 0])
    if mine[0].any() or mine[-1].any() or mine[:, 0].any() or mine[:, -1].any():
        return None, mine
    return mine, (parts > 0) & ~mine


def _shares(mine: Mask, other: Mask, pitch_mm: float, margin_mm: float) -> tuple[Mask, Mask]:
    """Points of a hollow with its blurred edge, and of the others with theirs: to each what lies nearer."""
    to_mine = ndimage.distance_transform_edt(~mine) * pitch_mm
    to_other = ndimage.distance_transform_edt(~other) * pitch_mm if other.any() else np.full(mine.shape, np.inf)
    return (to_mine <= margin_mm) & (to_mine <= to_other), (to_other <= margin_mm) & (to_other < to_mine)


def _ring(dark: FloatArray, near: Mask, pitch_mm: float, blur_mm: float) -> Mask:
    """The wall round about, half a blur to two and two points beyond what is gathered, where it is hard."""
    away = ndimage.distance_transform_edt(~near) * pitch_mm
    return np.asarray((away > 0.5 * blur_mm) & (away <= 2 * blur_mm + 2 * pitch_mm) & (dark < 0.5))


def _level(wall: FloatArray) -> tuple[float, float]:
    """Grey of the wall as a share of the contrast, and its spread; the expected grey where too little is seen."""
    if wall.size < 12:
        return 0.0, 0.1
    level = float(np.median(wall))
    return level, float(1.4826 * np.median(np.abs(wall - level)))


def axes(
    area_mm2: FloatArray, moments_mm2: FloatArray, sd_mm2: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Narrow and wide diameter and the angle of the wide one, of ellipses with these areas (n,) and moments (n, 3).

    The area gives the size, the moments only the proportion and the direction. Noise makes round look oval: the
    square of its ``sd_mm2`` (n,), that of the difference of the two moments, is taken off first.
    """
    uu, vv, uv = moments_mm2.T
    across = 2 * np.sqrt(np.maximum(area_mm2, 0.0) / np.pi)
    mean = np.maximum((uu + vv) / 2, across**2 / 16)
    apart = np.sqrt(np.maximum(((uu - vv) / 2) ** 2 + uv**2 - sd_mm2**2 / 2, 0.0))
    apart = np.minimum(apart / np.maximum(mean, 1e-12), FLATTEST)
    ratio = np.sqrt((1 + apart) / (1 - apart))
    return across / np.sqrt(ratio), across * np.sqrt(ratio), np.arctan2(2 * uv, uu - vv) / 2

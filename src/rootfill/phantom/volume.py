"""A scan of a tooth: painted in attenuations, blurred, cupped, noisy, in grey values."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

from rootfill.errors import InputRefused
from rootfill.phantom.paint import Grid, shares
from rootfill.phantom.tooth import Stuff, Tooth, look
from rootfill.units import FloatArray

FWHM = float(np.sqrt(8 * np.log(2)))
"""Full width at half maximum of a normal curve, in its standard deviations."""

MOST_VOXELS = 200_000_000


@dataclass(frozen=True)
class Greys:
    """What each stuff looks like, on a scale of water 0, dentine 1; our choice, in the order scans show."""

    outside: float = 0.0
    ligament: float = 0.0
    dentine: float = 1.0
    enamel: float = 1.6
    pulp: float = 0.0
    core: float = 2.6
    sealer: float = 2.8
    void: float = -0.45

    def worth(self) -> FloatArray:
        """By label."""
        return np.array([getattr(self, stuff.name.lower()) for stuff in Stuff])


@dataclass(frozen=True)
class Scanner:
    """How a scan is made: voxel sizes x, y, z [mm], blur as full width at half maximum [mm], noise on the scale of

    dentine 1 with its correlation length (FWHM, mm), ``cupping`` (share lost in the middle), grey = slope · worth +
    intercept, ``margin_mm`` about the tooth, ``cut`` = samples across a voxel as a power of two where surfaces pass.
    Raises InputRefused for what no scanner has.
    """

    voxel_mm: tuple[float, float, float]
    blur_mm: float
    noise: float
    noise_mm: float = 0.0
    cupping: float = 0.0
    slope: float = 1500.0
    intercept: float = 0.0
    margin_mm: float = 1.0
    cut: int = 2
    greys: Greys = field(default_factory=Greys)
    signed: bool = True

    def __post_init__(self) -> None:
        if not all(0.004 <= v <= 1.0 for v in self.voxel_mm):
            raise InputRefused("voxel", max(self.voxel_mm), "0.004 to 1 mm")
        if min(self.blur_mm, self.noise, self.noise_mm, self.margin_mm) < 0 or not 0 <= self.cupping < 1:
            raise InputRefused("scanner", "blur, noise, margin or cupping", "none of them is negative, cupping below 1")

    def with_voxel(self, voxel_mm: float) -> Scanner:
        """The same scanner with cubes of another size; blur grows with them."""
        share = voxel_mm / self.voxel_mm[0]
        return replace(self, voxel_mm=(voxel_mm,) * 3, blur_mm=self.blur_mm * share, noise_mm=self.noise_mm * share)


CBCT = Scanner((0.125, 0.125, 0.125), 0.22, 0.06, 0.15, 0.08, 1400.0, 200.0, 1.2, 2, Greys(outside=0.15, ligament=0.0))
MICRO = Scanner(
    (0.02, 0.02, 0.02), 0.03, 0.04, 0.02, 0.03, 9000.0, 9000.0, 0.25, 1, Greys(-0.6, -0.6, pulp=-0.6, void=-0.6), False
)
QUIET = replace(CBCT, blur_mm=0.0, noise=0.0, cupping=0.0)


@dataclass(frozen=True, eq=False)
class Scan:
    """A painted volume: grey values (z, y, x), how the tooth lies in it, and the scanner."""

    values: NDArray[Any]
    grid: Grid
    scanner: Scanner


def turned(tilt_deg: float, axis: tuple[float, float, float] = (1.0, 0.0, 0.0)) -> FloatArray:
    """The rotation (3, 3) by an angle about an axis: Rodrigues."""
    x, y, z = np.array(axis) / np.linalg.norm(axis)
    skew = np.array([[0, -z, y], [z, 0, -x], [-y, x, 0]])
    angle = np.radians(tilt_deg)
    return np.asarray(np.eye(3) + np.sin(angle) * skew + (1 - np.cos(angle)) * skew @ skew)


def grid_of(tooth: Tooth, scanner: Scanner, turn: FloatArray | None = None, box: FloatArray | None = None) -> Grid:
    """Voxels about a tooth, or about a box of it (2, 3) [mm], turned. Raises InputRefused when they are too many."""
    turn = np.eye(3) if turn is None else turn
    low, high = tooth.box if box is None else box
    corners = np.stack(np.meshgrid(*np.transpose([low, high]), indexing="ij")).reshape(3, -1)
    about = (low + high) / 2
    reach = np.abs(turn @ (corners - about[:, None])).max(axis=1) + scanner.margin_mm
    voxel = np.array(scanner.voxel_mm)
    counts = np.ceil(2 * reach / voxel).astype(int) + 1
    if counts.prod() > MOST_VOXELS:
        raise InputRefused("voxel", float(voxel.min()), f"larger: at most {MOST_VOXELS:,} voxels are made")
    x, y, z = (int(n) for n in counts)
    return Grid((x, y, z), voxel, about, (counts - 1) / 2 * voxel, turn)


def paint(tooth: Tooth, scanner: Scanner, rng: np.random.Generator, grid: Grid | None = None) -> Scan:
    """Scan a tooth. ``grid`` by default lies straight about it (:func:`grid_of`); noise comes from ``rng``."""
    grid = grid or grid_of(tooth, scanner)
    values = shares(lambda p: look(tooth, p), grid, scanner.greys.worth(), scanner.cut)
    if scanner.blur_mm:
        gaussian_filter(values, _sigma(scanner.blur_mm, grid), output=values, mode="nearest")
    if scanner.cupping:
        values *= _cup(grid, scanner.cupping)
    if scanner.noise:
        values += _noise(scanner, grid, rng)
    values *= scanner.slope
    values += scanner.intercept
    kind = np.dtype(np.int16 if scanner.signed else np.uint16)
    limits = np.iinfo(kind)
    return Scan(np.clip(np.rint(values, out=values), limits.min, limits.max).astype(kind), grid, scanner)


def _sigma(fwhm_mm: float, grid: Grid) -> FloatArray:
    return np.asarray(fwhm_mm / FWHM / grid.voxel_mm[::-1])


def _cup(grid: Grid, share: float) -> NDArray[np.float32]:
    """Darker in the middle, (1, y, x): 1 − share (1 − r²) to the edge of the field."""
    across = [np.linspace(-1, 1, n, dtype=np.float32) ** 2 for n in grid.counts[:2]]
    far = np.minimum(1, across[1][:, None] + across[0][None, :])
    return np.asarray(1 - np.float32(share) * (1 - far))[None]


def _noise(scanner: Scanner, grid: Grid, rng: np.random.Generator) -> NDArray[np.float32]:
    """Normal noise of the scanner's spread, correlated over its length."""
    nx, ny, nz = grid.counts
    raw = rng.standard_normal((nz, ny, nx), dtype=np.float32)
    if scanner.noise_mm:
        gaussian_filter(raw, _sigma(scanner.noise_mm, grid), output=raw, mode="wrap")
    return np.asarray(raw * np.float32(scanner.noise / float(raw.std())))

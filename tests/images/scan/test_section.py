"""A section gives back the ellipse that was blurred into it, even where that is narrower than the blur."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from rootfill.images.scan.section import axes, grid, measured
from rootfill.units import FloatArray

BLUR = 0.15
PITCH = 0.02


def section(
    narrow: float, wide: float, turn: float = 0.0, noise: float = 0.0, other: float | None = None, seed: int = 3
) -> FloatArray:
    """Grey of a slice through an ellipse in dentine of 1000, lumen 200, blurred; optionally a second hollow beside."""
    along = grid(1.6, PITCH).along_mm
    u, v = np.meshgrid(along, along, indexing="ij")
    a, b = np.cos(turn) * u + np.sin(turn) * v, np.cos(turn) * v - np.sin(turn) * u
    soft = np.hypot(a / wide, b / narrow) < 0.5
    if other is not None:
        soft |= np.hypot(u - other, v) < 0.2
    blurred = ndimage.gaussian_filter(soft.astype(float), BLUR / PITCH)
    voxels = np.random.default_rng(seed).normal(0, noise * 800, np.array(soft.shape) // 5 + 1)
    return np.asarray(1000 - 800 * blurred + np.kron(voxels, np.ones((5, 5)))[: soft.shape[0], : soft.shape[1]])


def found(grey: FloatArray, about: float) -> tuple[float, float, float]:
    """Narrow, wide and area that come back."""
    one = measured(grey, grid(1.6, PITCH), 1000.0, 800.0, (BLUR, BLUR), about)
    moments, area = np.array([one.moments_mm2]), np.array([one.area_mm2])
    narrow, wide, _ = axes(area, moments, np.array([one.moments_sd_mm2]))
    return float(narrow[0]), float(wide[0]), one.area_mm2


@pytest.mark.parametrize(("narrow", "wide"), [(0.8, 0.8), (0.5, 0.5), (0.5, 1.1), (0.3, 0.9)])
def test_both_diameters_come_back(narrow: float, wide: float) -> None:
    got = found(section(narrow, wide, turn=0.6), np.sqrt(narrow * wide))
    assert got[:2] == pytest.approx((narrow, wide), rel=0.06)


@pytest.mark.parametrize("across", [0.15, 0.2, 0.3])
def test_the_area_comes_back_below_the_blur(across: float) -> None:
    assert found(section(across, across), across)[2] == pytest.approx(np.pi / 4 * across**2, rel=0.1)


def test_another_hollow_nearby_is_not_counted_in() -> None:
    alone, beside = found(section(0.5, 0.5), 0.5), found(section(0.5, 0.5, other=0.9), 0.5)
    assert beside[2] == pytest.approx(alone[2], rel=0.06)


def test_noise_makes_the_area_stray_but_not_lean() -> None:
    areas = [found(section(0.4, 0.4, noise=0.1, seed=seed), 0.4)[2] for seed in range(12)]
    assert np.mean(areas) == pytest.approx(np.pi / 4 * 0.16, abs=3 * np.std(areas) / np.sqrt(12))
    assert np.std(areas) < 0.25 * np.pi / 4 * 0.16


def test_a_hollow_that_runs_out_of_the_grid_is_called_open() -> None:
    assert measured(np.full((161, 161), 200.0), grid(1.6, PITCH), 1000.0, 800.0, (BLUR, BLUR), 0.5).open

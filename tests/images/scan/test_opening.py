"""A canal's opening lies where its axis pierces the surface, flat, slanting or round."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy import ndimage

from rootfill.images.scan.course import Line, Look
from rootfill.images.scan.opening import opening
from rootfill.images.scan.picture import Picture
from rootfill.images.scan.section import Section
from rootfill.images.scan.tissue import Greys
from rootfill.units import FloatArray

STEP = 0.1
AXIS = (2.5, 2.5)


def looked_at(surface: Callable[[FloatArray, FloatArray], FloatArray], noise: float = 0.0) -> tuple[Look, Line]:
    """A block of dentine above a surface z(x, y), with a canal of 0.4 mm along z through its middle."""
    x = (np.arange(50 * 3) + 0.5) * STEP / 3 - STEP / 2
    zz, yy, xx = np.meshgrid(x, x, x, indexing="ij")
    hard = (zz > surface(xx, yy)) & (np.hypot(xx - AXIS[0], yy - AXIS[1]) > 0.2)
    share = hard.reshape(50, 3, 50, 3, 50, 3).mean(axis=(1, 3, 5))
    grey = 1000 * ndimage.gaussian_filter(share, 0.8)
    grey += np.random.default_rng(0).normal(0, 1000 * noise, grey.shape)
    look = Look(Picture(grey, np.full(3, STEP)), Greys(1000.0, 0.0), 1000.0, 0.8)
    z = np.arange(2.2, 4.5, STEP)
    section = Section(np.pi * 0.04, 0.001, (0.0, 0.0), (0.01, 0.01, 0.0), 0.001, 1.0)
    line = Line(np.stack([np.full_like(z, AXIS[0]), np.full_like(z, AXIS[1]), z], axis=1), (section,) * len(z))
    return look, line


@pytest.mark.parametrize(
    ("name", "surface"),
    [
        ("flat", lambda x, y: 1.5 + 0 * x * y),
        ("slanting by 40 degrees", lambda x, y: 1.5 + np.tan(np.radians(40)) * (x - AXIS[0]) + 0 * y),
        ("round", lambda x, y: 3.0 - np.sqrt(np.maximum(1.5**2 - (x - AXIS[0]) ** 2 - (y - AXIS[1]) ** 2, 0))),
    ],
)
@pytest.mark.parametrize("noise", [0.0, 0.08])
def test_the_surface_is_met_on_the_axis(
    name: str, surface: Callable[[FloatArray, FloatArray], FloatArray], noise: float
) -> None:
    found = opening(*looked_at(surface, noise), far_mm=2.0)
    assert found is not None
    assert found.beyond_mm == pytest.approx(2.2 - 1.5, abs=0.06), name


def test_where_nothing_ends_nothing_is_found() -> None:
    assert opening(*looked_at(lambda x, y: -9.0 + 0 * x * y), far_mm=1.5) is None

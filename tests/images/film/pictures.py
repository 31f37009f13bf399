"""Small films by formulas: a conical root and a conical filling, each as long as its chord is dense."""

from __future__ import annotations

import numpy as np
from scipy import ndimage

from rootfill.images import NO_SCALE, Film, Scale, Trust

STEP_MM = 0.05
SIZE = (350, 150)
APEX = np.array([75.0, 280.0])
"""Where the root ends."""
ROOT_HALF_MM = 1.8


def picture(short_mm=1.0, lean_deg=0.0, void_s_mm=None, puff_mm=0.0, filling=True, noise=0.002, seed=1):
    """Greys of a root standing apex down: a half ball with a cylinder on it, a filling cut off ``short_mm`` above it.

    Chords: 2 √(R² − x²) in the root; the filling's half width is 0.2 mm at its end and 0.03 mm more for each mm.
    """
    y, x = np.mgrid[: SIZE[0], : SIZE[1]].astype(float)
    lean = np.radians(lean_deg)
    along = np.array([np.sin(lean), -np.cos(lean)])
    z = ((x - APEX[0]) * along[0] + (y - APEX[1]) * along[1]) * STEP_MM
    u = ((x - APEX[0]) * -along[1] + (y - APEX[1]) * along[0]) * STEP_MM
    radius = ROOT_HALF_MM * np.sqrt(np.clip(1 - np.clip(1 - z / ROOT_HALF_MM, 0, 1) ** 2, 0, 1)) * (z > 0)
    met = 0.45 + 0.16 * chord(radius, u) - 0.1 * (chord(radius + 0.2 * (z > -0.2), u) - chord(radius, u))
    if filling:
        half = 0.2 + 0.03 * (z - short_mm)
        met = met + 1.04 * chord(np.where((z > short_mm) & (z < 14), half, 0.0), u)
    if void_s_mm is not None:
        ball = 0.18**2 - u**2 - (z - short_mm - void_s_mm) ** 2
        met = met - 1.2 * 2 * np.sqrt(np.clip(ball, 0, None))
    if puff_mm:
        met = met + 0.9 * 2 * np.sqrt(np.clip(puff_mm**2 - u**2 - (z + 0.3 * puff_mm) ** 2, 0, None)) * (z < 0.1)
    grey = ndimage.gaussian_filter(met, 1.0)
    return grey + noise * np.random.default_rng(seed).standard_normal(grey.shape)


def chord(radius, u):
    return 2 * np.sqrt(np.clip(radius**2 - u**2, 0, None))


def film(scaled=True, **asked):
    scale = Scale((STEP_MM, STEP_MM), Trust.ENTERED, 0.99, 1.01) if scaled else NO_SCALE
    return Film(picture(**asked), scale)

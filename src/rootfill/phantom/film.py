"""An intra-oral film of a tooth: what its rays run through, blurred, noisy, in grey values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter

from rootfill.errors import InputRefused
from rootfill.phantom.rays import Rays, box_stretch
from rootfill.phantom.scene import ATTENUATION, Part, Scene, bone_stretch, lengths, stretches
from rootfill.phantom.view import View
from rootfill.phantom.volume import FWHM
from rootfill.units import FloatArray

TILE = 96
"""Pixels along an edge of what is computed together; bodies that no ray of a tile meets cost next to nothing."""
TRABECULAE_MM = (0.25, 0.5, 1.0)
"""Grain of the bone's texture: full widths at half maximum, equally strong."""
RESPONSES = ("log", "linear")


@dataclass(frozen=True)
class Detector:
    """How a film is recorded: blur as full width at half maximum [mm], quanta a pixel takes in the open, bits a grey

    value has, ``response`` log (grey grows with what the ray met) or linear (with the light lost), ``full`` = what
    must be met for the brightest grey, ``texture`` = spread of the bone's texture as a share, ``inverted`` = dense is
    dark. Raises InputRefused.
    """

    blur_mm: float = 0.08
    quanta: float = 20_000.0
    bits: int = 12
    response: str = "log"
    full: float = 2.6
    texture: float = 0.12
    inverted: bool = False

    def __post_init__(self) -> None:
        if self.bits not in (8, 12, 16):
            raise InputRefused("bits", self.bits, "8, 12 or 16")
        if self.response not in RESPONSES:
            raise InputRefused("response", self.response, f"one of {', '.join(RESPONSES)}")
        if min(self.blur_mm, self.texture) < 0 or min(self.full, self.quanta) <= 0:
            raise InputRefused("detector", "blur, texture, quanta or full scale", "none of them is negative or nothing")


STILL = Detector(blur_mm=0.0, quanta=np.inf, bits=16, texture=0.0)
"""No blur, no noise, no texture."""


def film(scene: Scene, view: View, detector: Detector, rng: np.random.Generator) -> NDArray[Any]:
    """Grey values (rows, columns), bright = dense unless inverted; each pixel is the ray that meets its centre."""
    light = np.exp(-met(scene, view, _texture(view, detector, rng)))
    if detector.blur_mm:
        light = gaussian_filter(light, detector.blur_mm / FWHM / view.pixel_mm, mode="nearest")
    if np.isfinite(detector.quanta):
        light = light + rng.standard_normal(light.shape) * np.sqrt(light / detector.quanta)
    light = np.clip(light, np.exp(-detector.full), 1.0)
    logarithmic = detector.response == "log"
    grey = -np.log(light) / detector.full if logarithmic else (1 - light) / (1 - np.exp(-detector.full))
    top = 2**detector.bits - 1
    kind = np.uint8 if detector.bits == 8 else np.uint16
    return np.asarray(np.rint((1 - grey if detector.inverted else grey) * top).astype(kind))


def met(scene: Scene, view: View, texture: FloatArray | None = None) -> FloatArray:
    """∫ μ along the ray of each pixel over that of soft tissue, (rows, columns); bone times 1 + ``texture``."""
    worth = np.array([ATTENUATION[part] for part in Part])
    total, bone = np.zeros((view.rows, view.columns)), np.zeros((view.rows, view.columns))
    for y in range(0, view.rows, TILE):
        for x in range(0, view.columns, TILE):
            here = np.s_[y : y + TILE, x : x + TILE]
            down, right = np.mgrid[y : min(y + TILE, view.rows), x : min(x + TILE, view.columns)]
            run = _lengths(scene, view.rays(np.array([right.ravel(), down.ravel()], dtype=float)))
            total[here] = (worth @ run).reshape(down.shape)
            bone[here] = (worth[Part.BONE] * run[Part.BONE]).reshape(down.shape)
    return total if texture is None else total + bone * texture


def _lengths(scene: Scene, rays: Rays) -> FloatArray:
    """By part, (parts, n): everything for rays that pass near a tooth, bone alone for the others."""
    run = lengths({"bone": [bone_stretch(scene, rays)]})
    near = np.zeros(run.shape[1], dtype=bool)
    for low, high in scene.boxes:
        first, last = box_stretch(low, high, rays)
        near |= last > first
    if near.any():
        run[:, near] = lengths(stretches(scene, rays.some(near)))
    return run


def _texture(view: View, detector: Detector, rng: np.random.Generator) -> FloatArray | None:
    """Of bone, spread ``detector.texture`` about 0."""
    if not detector.texture:
        return None
    shape = (view.rows, view.columns)
    made = np.zeros(shape)
    for grain in TRABECULAE_MM:
        layer = gaussian_filter(rng.standard_normal(shape), grain / FWHM / view.object_mm, mode="wrap")
        made += layer / layer.std()
    return np.asarray(made * (detector.texture / made.std()))

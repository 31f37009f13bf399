"""Films of invented fillings: how far end-to-apex is off, with the apex pointed at and with everything found."""

from __future__ import annotations

import time
from typing import Any

import numpy as np

from rootfill.errors import InputRefused
from rootfill.images import Film, Scale, Trust
from rootfill.images.film import Marks, check_film, from_scale
from rootfill.phantom import Detector, Scene, View, filled, film, film_truth, random_tooth
from rootfill.units import FloatArray

COVERS = ["src/rootfill/images/film", "src/rootfill/images/model.py", "src/rootfill/phantom", "prove/films.py"]

EACH = 9
WITHIN_MM = 0.2
POINTED_PX = 2.0
SHORT_MM = (-1.2, 3.2)
SOURCE_MM = 300.0


def run(seed: int) -> dict[str, Any]:
    """Films with blur, noise, trabecular texture, tilt and magnification; each checked in two ways."""
    off: dict[str, list[float]] = {"apex_pointed_at": [], "all_found": []}
    refused = {"apex_pointed_at": 0, "all_found": 0}
    said: list[bool] = []
    seconds = []
    for k in range(EACH):
        rng = np.random.default_rng([seed, 55, k])
        picture, truth = drawn(rng)
        step, canal = truth["pixel_object_mm"], truth["canals"][0]
        apex = np.array(canal["apex"]) + _within(rng, POINTED_PX)
        for way, marks in (("apex_pointed_at", Marks(apex=apex)), ("all_found", Marks())):
            started = time.perf_counter()
            try:
                check = check_film(picture, marks, from_scale(picture.scale))
            except InputRefused:
                refused[way] += 1
                continue
            seconds.append(time.perf_counter() - started)
            error = check.gap_px * step - canal["filling"]["end_to_apex_mm"]
            off[way].append(error)
            said.append(abs(error) <= check.doubt_px * step)
    return _told(off, refused, said, seconds)


def drawn(rng: np.random.Generator, short_mm: float | None = None) -> tuple[Film, dict[str, Any]]:
    """A film of one canal with its true scale, and what is true of it."""
    short = float(rng.uniform(*SHORT_MM)) if short_mm is None else short_mm
    tooth = random_tooth(rng, 1, prepared=True, curved=bool(rng.random() < 0.5))
    scene = Scene(filled(tooth, rng, short_mm=short))
    about = tooth.box.mean(axis=0)
    about[2] = tooth.box[0, 2] + 8.0
    view = View(
        about_mm=about,
        horizontal_deg=float(rng.uniform(-10, 10)),
        vertical_deg=float(rng.uniform(-10, 10)),
        source_mm=SOURCE_MM,
        behind_mm=SOURCE_MM * float(rng.uniform(0.03, 0.06)),
        rows=700,
        columns=440,
        pixel_mm=0.035,
        upper=bool(rng.random() < 0.5),
    )
    response = "log" if rng.random() < 0.5 else "linear"
    detector = Detector(float(rng.uniform(0.06, 0.12)), float(rng.choice([5_000.0, 20_000.0])), response=response)
    values = film(scene, view, detector, rng)
    scale = Scale((view.object_mm, view.object_mm), Trust.ENTERED, 0.99, 1.01)
    return Film(values, scale), film_truth(scene, view)


def _within(rng: np.random.Generator, reach: float) -> FloatArray:
    """A shift by up to so many pixels, any way."""
    turn, far = rng.uniform(0, 2 * np.pi), reach * np.sqrt(rng.random())
    return np.array([np.cos(turn) * far, np.sin(turn) * far])


def _told(
    off: dict[str, list[float]], refused: dict[str, int], said: list[bool], seconds: list[float]
) -> dict[str, Any]:
    told: dict[str, Any] = {"films": EACH}
    for way, errors in off.items():
        told[way] = {
            "error_mm": {str(q): round(float(np.percentile(errors, q)), 3) for q in (0, 5, 25, 50, 75, 95, 100)},
            "over_limit": int(np.sum(np.abs(errors) > WITHIN_MM)),
            "asked_for_a_mark": refused[way],
        }
    told["interval_covers"] = round(float(np.mean(said)), 3)
    told["seconds_median"] = round(float(np.median(seconds)), 2)
    told["passed"] = not any(told[way]["over_limit"] for way in off) and not refused["apex_pointed_at"]
    return told

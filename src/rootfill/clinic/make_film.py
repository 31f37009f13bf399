"""An invented tooth as an intra-oral film: the film, one before it was filled, and what is true of them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from rootfill.errors import InputRefused
from rootfill.phantom import (
    Detector,
    Egg,
    Rod,
    Scene,
    Tooth,
    View,
    filled,
    film,
    film_truth,
    random_tooth,
)

if TYPE_CHECKING:
    from rootfill.clinic.make_phantom import Order, PictureFiles

SHAPED = ("curved", "oval", "joined")
ENDS = ("short", "flush", "over", "puff")
FILM_HAVING = (*SHAPED, "filled", *ENDS, "file", "crown", "neighbour", "edge", "upper", "inverted", "linear")
"""What may be asked of a film, in words of the command."""
REMARK = "Invented by formulas: no patient."
PIXEL_MM = 0.033
WIDE_MM, HIGH_MM = 29.7, 39.6
"""Size of the detector."""
LEAST_MM, MOST_MM = 0.01, 0.5
"""Sizes of a pixel that are made."""
GAP_MM = 0.2
"""Between the crowns of two teeth."""


def make_film(order: Order, pictures: PictureFiles) -> tuple[dict[str, bytes], dict[str, Any]]:
    """The files by name, and the truth. Raises InputRefused.

    A filled tooth comes with a film from before, taken again a little differently.
    """
    rng = np.random.default_rng(order.seed)
    with_filling = bool(order.having & {"filled", *ENDS})
    asked = {word: word in order.having for word in SHAPED}
    before = random_tooth(rng, order.canals, prepared=with_filling or "file" in order.having, **asked)
    scene = _scene(before, order, rng)
    view = _view(scene.tooth, order, rng)
    detector = Detector(inverted="inverted" in order.having, response="linear" if "linear" in order.having else "log")
    files: dict[str, bytes] = {}
    truth: dict[str, Any] = {"invented": REMARK, "order": order.name}
    if with_filling:
        again = _again(view, rng)
        files |= _files("before", film(scene, again, detector, rng), again, order, pictures)
        truth["before"] = film_truth(scene, again)
        scene = replace(scene, tooth=_filled(before, order, rng), file=None)
        view = _at_edge(scene, view) if "edge" in order.having else view
    files |= _files("film", film(scene, view, detector, rng), view, order, pictures)
    return files, {**truth, **film_truth(scene, view), "response": detector.response, "inverted": detector.inverted}


def _scene(tooth: Tooth, order: Order, rng: np.random.Generator) -> Scene:
    """What stands about the tooth."""
    rod = None
    if "file" in order.having:
        canal, tip = tooth.canals[0], float(rng.uniform(0.3, 1.0))
        rod = Rod(canal.name, tip, float(np.floor(2 * (canal.length_mm - tip)) / 2))
    if "neighbour" not in order.having:
        return Scene(tooth, metal_crown="crown" in order.having, file=rod)
    other = random_tooth(rng, 1)
    beside = float(tooth.box[1, 0] - other.box[0, 0]) + GAP_MM
    level = tooth.neck_mm - other.neck_mm
    return Scene(tooth, True, "crown" in order.having, rod, other, (beside, 0.0, level))


def _view(tooth: Tooth, order: Order, rng: np.random.Generator) -> View:
    """Angles and distances by chance; magnified 1.03 to 1.06."""
    pixel = PIXEL_MM if order.voxel_mm is None else order.voxel_mm
    if not LEAST_MM <= pixel <= MOST_MM:
        raise InputRefused("--voxel", pixel, f"{LEAST_MM:g} to {MOST_MM:g} mm for a film")
    source = float(rng.uniform(220, 350))
    return View(
        about_mm=tooth.box.mean(axis=0),
        horizontal_deg=float(rng.uniform(-10, 10)),
        vertical_deg=order.tilt_deg,
        source_mm=source,
        behind_mm=source * float(rng.uniform(0.03, 0.06)),
        rows=max(2, round(HIGH_MM / pixel)),
        columns=max(2, round(WIDE_MM / pixel)),
        pixel_mm=pixel,
        shift_mm=(float(rng.uniform(-2, 2)), float(rng.uniform(-2, 2))),
        upper="upper" in order.having,
        roll_deg=float(rng.uniform(-5, 5)),
    )


def _again(view: View, rng: np.random.Generator) -> View:
    """The same view as well as a hand repeats it."""
    x, y = (float(v) for v in np.array(view.shift_mm) + rng.uniform(-1, 1, 2))
    return replace(
        view,
        horizontal_deg=view.horizontal_deg + float(rng.uniform(-1.5, 1.5)),
        vertical_deg=float(np.clip(view.vertical_deg + rng.uniform(-1.5, 1.5), -30, 30)),
        roll_deg=view.roll_deg + float(rng.uniform(-3, 3)),
        shift_mm=(x, y),
    )


def _at_edge(scene: Scene, view: View) -> View:
    """Moved so that the filling's end comes to lie a little inside the picture's border, the apex at it or past it."""
    truth = film_truth(scene, view)["canals"][0]
    end = np.array(truth["filling"]["filling_end"])
    wanted = 6.0 if view.upper else view.rows - 7.0
    x, y = view.shift_mm
    return replace(view, shift_mm=(x, y + float(wanted - end[1]) * view.pixel_mm))


def _filled(tooth: Tooth, order: Order, rng: np.random.Generator) -> Tooth:
    """Filled as far as asked: short of 2 mm, to the end, beyond it, to the end with a puff of sealer."""
    short = None
    if "short" in order.having:
        short = float(rng.uniform(2.4, 4.0))
    if order.having & {"flush", "puff"}:
        short = 0.0
    if "over" in order.having:
        short = -float(rng.uniform(0.8, 2.0))
    made = filled(tooth, rng, short_mm=short)
    if "puff" not in order.having:
        return made
    first = made.fillings[0]
    return replace(made, fillings=(replace(first, puff=_puff(made, first.canal, rng)), *made.fillings[1:]))


def _puff(tooth: Tooth, name: str, rng: np.random.Generator) -> Egg:
    """Sealer past the foramen, a little flattened along the canal."""
    point, along, _, _ = (row[:, 0] for row in tooth.canal(name).tube.frame(np.zeros(1)))
    reach = float(rng.uniform(0.4, 0.8))
    return Egg(point - 0.5 * reach * along, np.eye(3), np.array([1.2, 1.0, 0.8]) * reach)


def _files(which: str, values: NDArray[Any], view: View, order: Order, pictures: PictureFiles) -> dict[str, bytes]:
    """One film as DICOM, which says its scale at the detector and both distances, and as PNG, which says none."""
    source = view.source_mm or 0.0
    name = f"{which} {order.name}"
    return {
        f"{which}.png": pictures.png(_spread(values), f"{REMARK} {name}"),
        f"{which}.dcm": pictures.intraoral(
            values, (view.pixel_mm, view.pixel_mm), (source + view.behind_mm, source), name
        ),
    }


def _spread(values: NDArray[Any]) -> NDArray[Any]:
    """12 bits as 16."""
    return np.asarray((values << 4) | (values >> 8))

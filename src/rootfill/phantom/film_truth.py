"""What is true of a film, in its pixels and in mm of the plane through the tooth; from its formulas."""

from __future__ import annotations

from typing import Any

import numpy as np

from rootfill.phantom.scene import Rod, Scene, extended, rod_tube
from rootfill.phantom.shapes import Loft, Tube
from rootfill.phantom.tooth import Canal, Filling, Void
from rootfill.phantom.view import View
from rootfill.units import FloatArray

Facts = dict[str, Any]

LINE_STEP_MM = 0.01
PAST_MM = 6.0
"""How far a canal's line is thought to run on straight past its end."""
TIP_MM = 2.0
FINE = 720
VOID_CELLS = 48
MEANS = {
    "pixels": "Points are pixels x, y (x to the right, y down), the centre of the first pixel at 0, 0. Lengths under "
    "…_mm are as seen: pixels times pixel_object_mm, the size of a pixel in the plane through the tooth's middle that "
    "is parallel to the detector. Lengths under …_true_mm are in space.",
    "magnification": "Source to detector over source to that plane, and pixel_detector_mm over pixel_object_mm.",
    "foreshortening": "Length seen of 1 mm along the tooth's axis in that plane: the cosine of vertical_deg.",
    "apex": "Radiographic apex: of the root's outline as seen, the point farthest along the root's axis, whose "
    "direction is that of the axis as seen over its last 2 mm.",
    "foramen": "Centre of the canal's opening on the root's surface.",
    "canal": "The canal's axis as seen, from its end (foramen, join or blind end) to the orifice.",
    "filling_end": "The axis at the end of the core.",
    "end_to_apex_mm": "Along the canal's axis as seen, from the filling's end to the place on the axis nearest to the "
    "apex; past its end the axis is thought on straight. Negative where the core ends beyond that place.",
    "end_to_apex_straight_mm": "From the filling's end straight to the apex, with the sign of end_to_apex_mm.",
    "end_to_apex_ahead_mm": "From the filling's end to the apex in the direction of the axis over the last millimetre "
    "of the filling, as seen.",
    "core_mm": "How far the core stands beyond the apex: −end_to_apex_mm where that is negative.",
    "sealer_mm": "How far sealer stands beyond the apex, in the direction of the axis past its end.",
    "past_foramen_mm": "How far the core stands past the canal's end, as seen.",
    "schneider_deg": "Of the axis as seen: the angle between the line from the orifice to where the canal first leaves "
    "the straight line of its coronal part by 2 % of its length, and the line from there to the canal's end.",
    "voids": "s_true_mm from the canal's end along the axis; above_end_mm from the filling's end as seen; length and "
    "width as seen along and across the axis, of what lies inside the core's canal.",
    "file": "A straight-flanked rod on the canal's axis from tip to top; length_true_mm along it, length_mm as seen.",
}


def film_truth(scene: Scene, view: View) -> Facts:
    """Everything true of a film of a scene, as plain data."""
    return {
        "means": MEANS,
        "size": [view.columns, view.rows],
        "pixel_detector_mm": view.pixel_mm,
        "pixel_object_mm": view.object_mm,
        "magnification": view.magnification,
        "foreshortening": view.foreshortening,
        "horizontal_deg": view.horizontal_deg,
        "vertical_deg": view.vertical_deg,
        "source_to_detector_mm": None if view.source_mm is None else view.source_mm + view.behind_mm,
        "source_to_object_mm": view.source_mm,
        "upper": view.upper,
        "roots": [{"name": root.name, "apex": _said(radiographic_apex(root.body, view))} for root in scene.tooth.roots],
        "canals": [_canal(scene, canal, view) for canal in scene.tooth.canals],
        "file": None if scene.file is None else _file(scene, scene.file, view),
    }


def radiographic_apex(body: Loft, view: View) -> FloatArray:
    """Pixel x, y of the root's outline farthest along its axis as seen over the last 2 mm."""
    z = body.z_mm[0] + np.array([0.0, TIP_MM])
    low, high = view.seen(np.array([*body.unrounded(z)[0][:2], z])).T
    ahead = (low - high) / np.linalg.norm(low - high)
    heights = body.z_mm[0] + TIP_MM * np.linspace(0, 1, 400)[:, None] ** 2
    turn = np.linspace(0, 2 * np.pi, FINE, endpoint=False)
    cx, cy, a, b = body.section(np.broadcast_to(heights, (400, FINE)).ravel())
    around = np.tile(turn, 400)
    points = np.array([cx + a * np.cos(around), cy + b * np.sin(around), np.repeat(heights[:, 0], FINE)])
    seen = view.seen(points)
    return np.asarray(seen[:, int(np.argmax(ahead @ seen))])


def line_of(canal: Canal, view: View) -> tuple[FloatArray, FloatArray]:
    """Arc lengths [mm] and pixels (2, n) of a canal's axis, thought on straight past its end."""
    s = np.arange(-PAST_MM, canal.length_mm + LINE_STEP_MM / 2, LINE_STEP_MM)
    tube = extended(canal.tube.cut(0, np.inf), -PAST_MM - LINE_STEP_MM)
    return s, view.seen(tube.frame(s)[0])


def _canal(scene: Scene, canal: Canal, view: View) -> Facts:
    s, line = line_of(canal, view)
    along = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(line, axis=1), axis=0))]) * view.object_mm
    apex = radiographic_apex(scene.tooth.root(canal.root).body, view)
    here = s >= -LINE_STEP_MM / 2
    facts: Facts = {
        "name": canal.name,
        "root": canal.root,
        "apex": _said(apex),
        "foramen": None if canal.join or canal.blind else _said(line[:, here][:, 0]),
        "canal": [_said(point) for point in line[:, here][:, :: round(0.2 / LINE_STEP_MM)].T],
        "length_true_mm": canal.length_mm,
        "length_mm": float(along[-1] - np.interp(0, s, along)),
        "schneider_deg": schneider_deg(line[:, here]),
        "filling": None,
    }
    for filling in scene.tooth.fillings:
        if filling.canal == canal.name:
            facts["filling"] = _filling(canal, filling, view, apex, (s, line, along))
    return facts


def _filling(
    canal: Canal, filling: Filling, view: View, apex: FloatArray, axis: tuple[FloatArray, FloatArray, FloatArray]
) -> Facts:
    s, line, along = axis
    end = np.array([np.interp(filling.end_s_mm, s, row) for row in line])
    behind = np.array([np.interp(filling.end_s_mm + 1.0, s, row) for row in line])
    at_apex = int(np.argmin(np.linalg.norm(line - apex[:, None], axis=0)))
    gap = float(np.interp(filling.end_s_mm, s, along) - along[at_apex])
    ahead = (end - behind) / np.linalg.norm(end - behind)
    straight = float(np.linalg.norm(end - apex)) * view.object_mm
    return {
        "filling_end": _said(end),
        "end_to_apex_mm": gap,
        "end_to_apex_straight_mm": float(np.copysign(straight, gap)),
        "end_to_apex_ahead_mm": float(ahead @ (apex - end)) * view.object_mm,
        "end_true_mm": filling.end_s_mm,
        "past_foramen_mm": max(0.0, float(np.interp(0, s, along) - np.interp(filling.end_s_mm, s, along))),
        "beyond": {"core_mm": max(0.0, -gap), "sealer_mm": _sealer_mm(filling, view, line, at_apex)},
        "voids": [_void(canal, filling, void, view, (s, line, along)) for void in filling.voids],
    }


def _sealer_mm(filling: Filling, view: View, line: FloatArray, at_apex: int) -> float:
    """How far a puff stands out past the place on the axis nearest the apex."""
    if filling.puff is None:
        return 0.0
    ahead = line[:, 0] - line[:, 1]
    egg = filling.puff
    unit = np.random.default_rng(0).standard_normal((3, 20_000))
    unit /= np.linalg.norm(unit, axis=0)
    seen = view.seen(egg.centre_mm[:, None] + egg.axes.T @ (unit * egg.half_mm[:, None]))
    far = ahead / np.linalg.norm(ahead) @ (seen - line[:, [at_apex]])
    return max(0.0, float(far.max()) * view.object_mm)


def _void(
    canal: Canal, filling: Filling, void: Void, view: View, axis: tuple[FloatArray, FloatArray, FloatArray]
) -> Facts:
    """Extent along and across the axis of the part of a void that lies in the core's canal, on a fine grid."""
    s, line, along = axis
    ticks = np.linspace(-1, 1, VOID_CELLS + 1)
    unit = np.stack(np.meshgrid(ticks, ticks, ticks, indexing="ij")).reshape(3, -1)
    unit = unit[:, (unit**2).sum(axis=0) <= 1]
    egg = void.egg
    points = egg.centre_mm[:, None] + egg.axes.T @ (unit * egg.half_mm[:, None])
    kept = points[:, canal.tube.distance(points) < 0]
    here = np.array([np.interp(void.s_mm + d, s, row) for d in (-0.1, 0.1) for row in line]).reshape(2, 2)
    way = (here[1] - here[0]) / np.linalg.norm(here[1] - here[0])
    seen = view.seen(kept) * view.object_mm
    across = np.array([-way[1], way[0]])
    return {
        "s_true_mm": void.s_mm,
        "above_end_mm": float(np.interp(void.s_mm, s, along) - np.interp(filling.end_s_mm, s, along)),
        "length_mm": float(np.ptp(way @ seen)),
        "width_mm": float(np.ptp(across @ seen)),
        "at_wall": void.at_wall,
        "centre": _said(view.seen(kept).mean(axis=1)),
    }


def _file(scene: Scene, rod: Rod, view: View) -> Facts:
    tube: Tube = rod_tube(scene.tooth, rod)
    line = view.seen(tube.curve_mm)
    return {
        "canal": rod.canal,
        "length_true_mm": rod.length_mm,
        "length_mm": float(np.linalg.norm(np.diff(line, axis=1), axis=0).sum()) * view.object_mm,
        "width_mm": rod.width_mm,
        "tip": _said(line[:, 0]),
        "top": _said(line[:, -1]),
        "line": [_said(point) for point in line[:, :: max(1, line.shape[1] // 60)].T],
    }


def schneider_deg(line: FloatArray) -> float:
    """Angle at the place where the axis, from the orifice down, leaves its coronal line by 2 % of its length.

    ``line`` (2, n) runs from the canal's end to its orifice; the coronal line is that of the upper quarter.
    """
    down = line[:, ::-1]
    run = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(down, axis=1), axis=0))])
    quarter = down[:, int(np.searchsorted(run, run[-1] / 4))] - down[:, 0]
    quarter /= np.linalg.norm(quarter)
    off = np.abs(quarter[0] * (down[1] - down[1, 0]) - quarter[1] * (down[0] - down[0, 0]))
    left = np.flatnonzero(off > 0.02 * run[-1])
    if not left.size or left[0] == off.size - 1:
        return 0.0
    bend = down[:, left[0]]
    one, other = bend - down[:, 0], down[:, -1] - bend
    cosine = one @ other / np.linalg.norm(one) / np.linalg.norm(other)
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1))))


def _said(point: FloatArray) -> list[float]:
    return [round(float(x), 3) for x in point]

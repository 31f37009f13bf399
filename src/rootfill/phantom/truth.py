"""What is true of a tooth, in its own mm and in the voxels of a scan; from its formulas, never from a picture."""

from __future__ import annotations

from typing import Any

import numpy as np

from rootfill.phantom.paint import Grid, shares
from rootfill.phantom.shapes import Tube
from rootfill.phantom.tooth import Canal, Labels, Tooth
from rootfill.units import FloatArray

Facts = dict[str, Any]

PROFILE_STEP_MM = 0.25
LINE_STEP_MM = 0.04
DIRECTIONS = 48
RAY_STEP_MM = 0.05
LONGEST_WALL_MM = 6.0
INTEGRAL_MM = 0.1
NEAR_MM = 0.3
MEANS = {
    "invented": "This tooth is invented: made by formulas, no patient.",
    "frame": "Lengths in mm. Points under …_mm are in the tooth's own frame, z from the apices up; points without a "
    "unit are voxel indices x, y, z of the volumes, the centre of the first voxel at 0, 0, 0.",
    "end": "Centre of the foramen on the root's outer surface; of a joined canal the place on the axis of the canal "
    "it runs into; of a blind canal its blind end.",
    "orifice": "The canal's axis at the floor of the pulp chamber, or at the cut where there is no chamber.",
    "length_mm": "Along the axis from end to orifice; of a joined canal up to the join, through_mm to the foramen.",
    "profile": "Rows of distance from the end, narrow and wide width normal to the axis, thinnest dentine in that "
    "section from the lumen's edge straight out to the root's outer surface; null where the section leaves the root.",
    "root_volume_mm3": "Of a root: all inside its outer surface, canals counted in, from the apex to the furcation "
    "(to_furcation; of a single root to the orifices) and to the orifices (to_orifice; a trunk is divided by the "
    "nearer root axis).",
    "pulp_volume_mm3": "Canals, isthmuses and chamber inside the dentine, as before filling.",
    "canal_volume_mm3": "Sections of a canal added up along its axis from end to orifice, cut straight across at "
    "both; where canals overlap it counts in each.",
}


def truth_of(tooth: Tooth, grid: Grid | None = None) -> Facts:
    """Everything true of a tooth as plain data; with ``grid`` also in voxel indices of a scan of it."""
    return {
        "means": MEANS,
        "voxel_mm": None if grid is None else [float(v) for v in grid.voxel_mm],
        "roots": [_root(tooth, k, grid) for k in range(len(tooth.roots))],
        "canals": [_canal(tooth, canal, grid) for canal in tooth.canals],
        "joins": [_join(canal, grid) for canal in tooth.canals if canal.join],
        "isthmuses": [
            {
                "between": list(i.between),
                "low_z_mm": i.sheet.low_mm,
                "high_z_mm": i.sheet.high_mm,
                "thick_mm": i.sheet.thick_mm,
            }
            for i in tooth.isthmuses
        ],
        "pulp_volume_mm3": round(pulp_mm3(tooth), 4),
    }


def pulp_mm3(tooth: Tooth, step_mm: float = INTEGRAL_MM) -> float:
    """Volume of the pulp space inside the tooth [mm³], cells cut fourfold along an edge where its surface passes."""

    def inside(points: FloatArray) -> tuple[Labels, FloatArray]:
        far = tooth.hollow(points)
        near = far < NEAR_MM
        far[near] = np.maximum(far[near], tooth.outside(points[:, near]))
        return (far < 0).astype(np.uint8), np.abs(far)

    low, high = tooth.box
    x, y, z = (int(n) for n in np.ceil((high - low) / step_mm) + 1)
    grid = Grid((x, y, z), np.full(3, step_mm), low, np.zeros(3))
    return float(shares(inside, grid, np.array([0.0, 1.0]), 2).sum(dtype=float) * step_mm**3)


def _point(point: FloatArray, grid: Grid | None, name: str) -> Facts:
    """A point in mm, and in voxels where there is a scan."""
    facts: Facts = {f"{name}_mm": np.round(point, 5).tolist()}
    if grid is not None:
        facts[name] = np.round(grid.indices(point[:, None])[:, 0], 4).tolist()
    return facts


def _root(tooth: Tooth, which: int, grid: Grid | None) -> Facts:
    root = tooth.roots[which]
    below = float(tooth.trunk.z_mm[0]) if tooth.trunk else tooth.orifice_z_mm
    return {
        "name": root.name,
        **_point(root.apex, grid, "apex"),
        "volume_mm3": {
            "to_furcation": round(_solid(tooth, which, below), 4),
            "to_orifice": round(_solid(tooth, which, tooth.orifice_z_mm), 4),
        },
    }


def _solid(tooth: Tooth, which: int, top_mm: float, step_mm: float = 0.1) -> float:
    """Volume of a root up to a height [mm³]: ∫ π a b dz; where a trunk binds roots, by the nearer axis."""
    body = tooth.roots[which].body
    furcation = min(top_mm, float(tooth.trunk.z_mm[0])) if tooth.trunk else top_mm
    edges = np.linspace(body.z_mm[0], furcation, 4001)
    _, _, a, b = body.section((edges[1:] + edges[:-1]) / 2)
    whole = float((np.pi * a * b).sum() * (edges[1] - edges[0]))
    if tooth.trunk is None or top_mm <= furcation:
        return whole
    levels = np.arange(furcation, top_mm, step_mm)
    dz = (top_mm - furcation) / len(levels)
    return whole + sum(_slice(tooth, which, furcation + (k + 0.5) * dz) for k in range(len(levels))) * dz


def _slice(tooth: Tooth, which: int, z_mm: float, step_mm: float = 0.04) -> float:
    """Area at a height that is nearer to the axis of one root than to any other's [mm²]."""
    low, high = tooth.box
    x, y = np.meshgrid(np.arange(low[0], high[0], step_mm), np.arange(low[1], high[1], step_mm))
    points = np.array([x.ravel(), y.ravel(), np.full(x.size, z_mm)])
    points = points[:, tooth.outside(points) < 0]
    axes = [r.body.section(np.array([z_mm]))[:2] for r in tooth.roots]
    far = np.array([np.hypot(*(points[:2] - axis)) for axis in axes])
    return float((far.argmin(axis=0) == which).sum() * step_mm**2)


def _canal(tooth: Tooth, canal: Canal, grid: Grid | None) -> Facts:
    ends = canal.tube.frame(np.array([0.0, canal.length_mm]))[0]
    line = canal.tube.frame(np.linspace(canal.length_mm, 0, int(canal.length_mm / LINE_STEP_MM) + 2))[0]
    through = canal.length_mm + (canal.join.at_s_mm if canal.join else 0)
    facts: Facts = {
        "name": canal.name,
        "root": canal.root,
        "kind": "blind" if canal.blind else "joined" if canal.join else "open",
        **_point(ends[:, 0], grid, "end"),
        **_point(ends[:, 1], grid, "orifice"),
        "length_mm": round(canal.length_mm, 5),
        "through_mm": round(through, 5),
        "centreline_mm": np.round(line.T, 4).tolist(),
        "profile": profile(tooth, canal),
        "volume_mm3": round(canal_mm3(canal), 5),
    }
    if grid is not None:
        facts["centreline"] = np.round(grid.indices(line).T, 3).tolist()
    return facts


def _join(canal: Canal, grid: Grid | None) -> Facts:
    point = canal.tube.frame(np.zeros(1))[0][:, 0]
    into, at = (canal.join.into, round(canal.join.at_s_mm, 5)) if canal.join else ("", 0.0)
    return {"canal": canal.name, "into": into, "s_mm": at, **_point(point, grid, "at")}


def profile(tooth: Tooth, canal: Canal, step_mm: float = PROFILE_STEP_MM) -> list[list[float | None]]:
    """Rows of distance from the end, narrow, wide and thinnest wall [mm]."""
    s = np.append(np.arange(0, canal.length_mm, step_mm), canal.length_mm)
    half = canal.tube.frame(s)[3]
    walls = thinnest(tooth, canal.tube, s)
    return [
        [
            round(float(at), 5),
            round(float(2 * a), 5),
            round(float(2 * b), 5),
            None if np.isnan(w) else round(float(w), 4),
        ]
        for at, a, b, w in zip(s, *half, walls, strict=True)
    ]


def thinnest(tooth: Tooth, tube: Tube, s_mm: FloatArray) -> FloatArray:
    """Thinnest dentine from the lumen's edge straight out in the section normal to the axis [mm]; NaN if open."""
    turn = np.linspace(0, 2 * np.pi, DIRECTIONS, endpoint=False)
    rays = np.arange(0, LONGEST_WALL_MM, RAY_STEP_MM)
    found = np.empty(len(s_mm))
    for k, s in enumerate(s_mm):
        point, along, wide, half = (row[:, 0] for row in tube.frame(np.array([s])))
        narrow = np.cross(along, wide)
        edge = np.multiply.outer(narrow, half[0] * np.cos(turn)) + np.multiply.outer(wide, half[1] * np.sin(turn))
        out = edge / np.linalg.norm(edge, axis=0)
        places = (point[:, None] + edge)[:, :, None] + out[:, :, None] * rays
        far = tooth.outside(places.reshape(3, -1)).reshape(DIRECTIONS, -1)
        found[k] = np.nan if (far[:, 0] > 0).any() else _first_out(far, rays).min()
    return found


def _first_out(far: FloatArray, rays: FloatArray) -> FloatArray:
    """Where along each ray the signed distance first turns positive, linear between two places."""
    out = far > 0
    first = np.where(out.any(axis=1), out.argmax(axis=1), far.shape[1] - 1)
    rows = np.arange(len(far))
    before, after = far[rows, first - 1], far[rows, first]
    share = np.where(after > before, -before / np.where(after > before, after - before, 1), 1)
    return np.asarray(rays[first - 1] + np.clip(share, 0, 1) * RAY_STEP_MM)


def canal_mm3(canal: Canal, low_mm: float = 0.0, high_mm: float | None = None) -> float:
    """Volume of a canal between two distances from its end [mm³]: ∫ π a b ds.

    Exact for a bent axis too: ellipses lie centred on it. A foramen that leaves the root aslant is counted as cut
    straight across at its centre.
    """
    high = canal.length_mm if high_mm is None else high_mm
    edges = np.linspace(low_mm, high, 2001)
    a, b = canal.tube.frame((edges[1:] + edges[:-1]) / 2)[3]
    return float((np.pi * a * b).sum() * (edges[1] - edges[0]))

"""What five studies measured, each act with the values it reports; read in abstracts and summaries."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from prove.heat_setups import (
    BODY_C,
    Measured,
    Setup,
    Unknown,
    in_air,
    in_bath,
    in_body,
    in_bone,
    incisor,
    injected,
    packed,
    plunge,
)
from rootfill.heat import Content, Warming

Answer = Callable[[Warming], float]


def surface_at(s_mm: float) -> Answer:
    """Highest rise of the root's surface at a station."""
    return lambda run: float(np.interp(s_mm, run.surface_s_mm, run.surface_rise_c()))


def wall_at(s_mm: float) -> Answer:
    """Highest rise of the canal's wall at a station."""
    return lambda run: float(np.interp(s_mm, run.surface_s_mm, run.wall_c.max(axis=0))) - run.begins_c


def axis_at(s_mm: float) -> Answer:
    """Highest temperature on the axis at a station."""
    return lambda run: float(np.interp(s_mm, run.axis_s_mm, run.axis_c.max(axis=0)))


def hottest(run: Warming) -> float:
    """Highest rise anywhere on the surface."""
    return run.surface_peak().rise_c


def where_hottest(run: Warming) -> float:
    """And its station."""
    return run.surface_peak().s_mm


def bone_side(run: Warming) -> float:
    """Highest temperature on the bone's side of the ligament."""
    return float(run.bone_c.max())


def softened(run: Warming) -> float:
    """How far ahead of a tip at 4 mm everything was 42 °C warm."""
    return run.softened_ahead_mm(4.0, 42.0)


def somewhere(low_mm: float, high_mm: float) -> Callable[[Unknown], Sequence[Content]]:
    """A plunge to a depth the study does not say."""
    return lambda u: plunge(low_mm + (high_mm - low_mm) * u.share)(u)


SETUPS: tuple[Setup, ...] = (
    Setup(
        "Venturi 2002",
        "heated plugger, 250 °C set, roots in a bath at 37 °C; how deep is not in the abstract: 3 to 6 mm taken",
        "Venturi 2002, abstract",
        lambda u: incisor(u, 0.225),
        in_bath,
        somewhere(3.0, 6.0),
        (
            Measured("surface, 1.5 mm from the apex, end 0.20 to 0.25 mm", "0.5 (0.5)", 0.5, "°C", surface_at(1.5)),
            Measured("surface, 2 mm below the crown's edge, same roots", "4.1 (1.7)", 4.1, "°C", surface_at(11.0)),
        ),
    ),
    Setup(
        "Venturi 2002",
        "the same, wider ends",
        "Venturi 2002, abstract",
        lambda u: incisor(u, 0.325),
        in_bath,
        somewhere(3.0, 6.0),
        (
            Measured("surface, 1.5 mm from the apex, end 0.30 to 0.35 mm", "0.9 (1.1)", 0.9, "°C", surface_at(1.5)),
            Measured("surface, 2 mm below the crown's edge, same roots", "3.9 (1.81)", 3.9, "°C", surface_at(11.0)),
        ),
    ),
    Setup(
        "Floren 1999",
        "heated plugger, 250 to 600 °C set, one plunge to 3 mm from the end, upper incisor, taken to be in air",
        "Floren 1999, abstract",
        incisor,
        in_air,
        plunge(3.0),
        (
            Measured("hottest place of the surface", "10.62 (0.93)", 10.62, "°C", hottest),
            Measured("its distance from the apex", "5", 5.0, "mm", where_hottest),
        ),
    ),
    Setup(
        "Blum 1997",
        "step by step, heat to 7 mm from the apex, 24 upper incisors; three steps 2.5 mm apart taken, in a bath",
        "Blum 1997, summary",
        incisor,
        in_bath,
        packed(12.0, 9.5, 7.0),
        (
            Measured("in the filling, 8 mm from the apex", "118", 118.0, "°C", axis_at(8.0), BODY_C),
            Measured("4 mm", "52", 52.0, "°C", axis_at(4.0), BODY_C),
            Measured("2 mm", "44", 44.0, "°C", axis_at(2.0), BODY_C),
            Measured("0 mm", "44", 44.0, "°C", axis_at(0.0), BODY_C),
        ),
    ),
    Setup(
        "Goodman 1981",
        "step by step, eight split teeth; heat to 4 mm from the end taken, in a bath",
        "Goodman 1981, part IV, abstract",
        incisor,
        in_bath,
        packed(11.0, 7.5, 4.0),
        (
            Measured("warmed ahead of the deepest tip", "2 to 3", 2.5, "mm", softened),
            Measured("in the filling at the apex", "40 to 42", 41.0, "°C", axis_at(0.0), BODY_C),
        ),
    ),
    Setup(
        "Sweatman 2001",
        "heated plugger, 200 to 300 °C set, to 4 to 5 mm, split upper incisors, in air",
        "Sweatman 2001, abstract",
        lambda u: incisor(u, 0.40),
        in_air,
        somewhere(4.0, 5.0),
        (
            Measured("canal wall, 6 mm from the end, the highest of all (300 °C)", "74.19", 74.19, "°C", wall_at(6.0)),
            Measured("canal wall at the end, the lowest of all (200 °C)", "2.09", 2.09, "°C", wall_at(0.0)),
            Measured("hottest place of the surface", "below 10", 10.0, "°C", hottest),
        ),
    ),
    Setup(
        "Sweatman 2001",
        "injected at 185 °C set, needle of 23 gauge; taken to fill the canal at once",
        "Sweatman 2001, abstract",
        lambda u: incisor(u, 0.40),
        in_air,
        injected(12.9),
        (
            Measured("canal wall at the end", "5.22", 5.22, "°C", wall_at(0.0)),
            Measured("canal wall, 6 mm from the end", "26.63", 26.63, "°C", wall_at(6.0)),
        ),
    ),
    Setup(
        "Cen 2018 (a computation)",
        "one plunge, lower molar, no flow in the ligament; how deep is not in the abstract: 3 to 6 mm taken",
        "Cen 2018, abstract",
        in_bone,
        in_body,
        somewhere(3.0, 6.0),
        (
            Measured("bone side of the ligament, distal canal", "50.0", 50.0, "°C", bone_side, BODY_C),
            Measured("bone side of the ligament, mesiolingual canal", "52.5", 52.5, "°C", bone_side, BODY_C),
        ),
    ),
    Setup(
        "Cen 2018 (a computation)",
        "step by step and back-filled; two steps taken, without the back-fill",
        "Cen 2018, abstract",
        in_bone,
        in_body,
        packed(8.0, 5.0),
        (
            Measured("bone side of the ligament, distal canal", "47.3", 47.3, "°C", bone_side, BODY_C),
            Measured("bone side of the ligament, mesiolingual canal", "47.8", 47.8, "°C", bone_side, BODY_C),
        ),
    ),
)

"""Both ends of a canal: out to the surface, in to where a blind one stops, up to the chamber's floor."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from rootfill.images.scan.course import Line, Look, cut, joined_up, moved_end, recentred, running_median, turned
from rootfill.images.scan.opening import opening
from rootfill.images.scan.orifice import opens_at
from rootfill.images.scan.picture import frames
from rootfill.units import FloatArray

FAR_MM = 6.0
"""How far beyond what is seen a canal may still run to the root's surface [mm]."""

AHEAD_MM = 0.4
"""How far a canal is carried on at a time [mm]."""

LOWEST_MM = 3.0
"""The part of a canal that is laid anew while it is carried on [mm]."""

STILL_INSIDE = 0.7
"""Share of the wall about a canal's tip that is hard where it has not come out yet."""

AGAIN_VOXELS = 8
"""How many voxels beyond the tip the surface is then looked for."""

SHORT_OF_VOXELS = 3
"""Sections this near to where a canal opens are left out while its line is laid."""

FLOOR_MM = 2.5
"""How far above the last section of a canal the chamber's floor may lie [mm]."""

SEEN = 3.0
"""Standard deviations of its own noise by which a section must be dark to count as seen."""


BETTER = 16.0
"""By how much a stop inside the dentine has to explain the areas better than none: sums of squared deviations."""

ALIKE = 0.15
"""How far a canal's area strays from a straight taper, as a share of it; our choice."""


@dataclass(frozen=True)
class Stop:
    """A blind end: distance from the surface along the line, and its standard deviation [mm]."""

    at_mm: float
    sd_mm: float


@dataclass(frozen=True, eq=False)
class Ended:
    """A line with its ends; ``sd_mm`` of the length from both ends; whether it stops inside the dentine."""

    line: Line
    sd_mm: float
    blind: bool


def ended(look: Look, line: Line, at_end: bool, at_top: bool) -> Ended:
    """A line carried on to the surface at its end, and to the chamber's floor or the cut crown at its top."""
    sds, blind = [], False
    if at_end:
        line, sd, blind = _end(look, line)
        sds.append(sd)
    if at_top:
        line, sd = _top(look, line)
        sds.append(sd)
    return Ended(line, float(np.sqrt(np.sum(np.square(sds)))), blind)


def _end(look: Look, line: Line) -> tuple[Line, float, bool]:
    line = _followed(look, line)
    found = opening(look, line, AGAIN_VOXELS * look.picture.coarsest_mm)
    if found is None:
        return line, look.blur_mm, True
    line = moved_end(look, line, found.beyond_mm)
    stops = _stops(look, line)
    if stops is not None:
        return cut(line, stops.at_mm, float(line.s_mm[-1])), stops.sd_mm, True
    return line, found.sd_mm, False


def _followed(look: Look, line: Line) -> Line:
    """The line carried on beyond what the slices showed, a bit at a time, for as long as its wall is hard.

    Each bit goes straight on and is then laid through what little of the canal its sections show.
    """
    step = max(AHEAD_MM, 3 * look.picture.coarsest_mm)
    top = float(line.s_mm[-1])
    low, rest = cut(line, 0.0, min(LOWEST_MM, top)), cut(line, min(LOWEST_MM, top / 2), top)
    kept = low.s_mm[-1]
    for _ in range(int(FAR_MM / step)):
        if _share_hard(look, low) < STILL_INSIDE:
            break
        low = recentred(look, moved_end(look, low, step))
    s = low.s_mm
    joint = float(s[-1]) - float(kept) + min(LOWEST_MM, top / 2)
    below = cut(low, 0.0, min(joint, float(s[-1])))
    return joined_up(below, rest)


def _share_hard(look: Look, line: Line) -> float:
    """How hard the wall about the first point of a line is: 1 in dentine, 0 outside."""
    _, u, v = frames(line.points_mm)
    angle = np.linspace(0, 2 * np.pi, 16, endpoint=False)[:, None]
    radius = float(np.median(line.across_mm[:5])) / 2 + 2 * look.blur_mm
    about = line.points_mm[0] + radius * (np.cos(angle) * u[0] + np.sin(angle) * v[0])
    return float(np.clip(look.hard(about), 0, 1).mean())


def _top(look: Look, line: Line) -> tuple[Line, float]:
    found = opening(look, turned(line), FLOOR_MM)
    if found is not None:
        return turned(moved_end(look, turned(line), found.beyond_mm)), found.sd_mm
    return _widened(look, line)


def _widened(look: Look, line: Line) -> tuple[Line, float]:
    """A line up to where its canal widens into a chamber little wider than itself, or to where its slices ended."""
    top = float(line.s_mm[-1])
    longer = turned(moved_end(look, turned(line), FLOOR_MM))
    s, step = longer.s_mm, look.picture.coarsest_mm
    above = s > top - 1.0
    jump = opens_at(s[above], longer.across_mm[above], 3 * step)
    if jump is not None:
        return cut(longer, 0.0, jump), look.blur_mm / 2
    return cut(longer, 0.0, min(top + SHORT_OF_VOXELS * step, float(s[-1]))), look.blur_mm


def seen_from(look: Look, line: Line) -> float:
    """Distance from the end above which the canal itself is seen, not only its direction carried on [mm].

    0 where it is seen down to the last section that the surface leaves alone. Sections that say nothing, such as those
    in an isthmus, do not vote on their neighbours.
    """
    s, told = line.s_mm, clear(look, line)
    sure = np.array([x.area_mm2 > SEEN * x.area_sd_mm2 for x in line.sections])
    sure[told] = running_median(sure[told].astype(float), 3) > 0.5
    unsure = np.flatnonzero(~sure & told & (s < s[-1] / 2))
    return float(s[unsure[-1] + 1]) if unsure.size else 0.0


def _stops(look: Look, line: Line) -> Stop | None:
    """Where a canal stops inside the dentine, if it does: half the area expected there, the blur along it allowed for.

    Expected is the width that runs on straight from the 2.5 mm above. Every stop is tried, the surface too; one inside
    the dentine is believed only where it explains the areas seen better than the surface does, by ``BETTER``.
    """
    s = line.s_mm
    area = np.array([x.area_mm2 for x in line.sections])
    sd = np.array([x.area_sd_mm2 for x in line.sections])
    usable = clear(look, line) & (s < min(float(s[-1]), FAR_MM + 1.0))
    start = seen_from(look, line)
    if usable.sum() < 8:
        return None
    expected = np.pi / 4 * np.maximum(np.polyval(_widths(line, start + 2 * look.blur_mm), s), 0.0) ** 2
    tries = s[s < start + 1.5]
    misfit = np.array([_misfit(area, expected, sd, usable, s - e, look) for e in tries])
    best = int(np.argmin(misfit))
    if misfit[0] - misfit[best] < BETTER:
        return None
    near = tries[misfit < misfit[best] + 1.0]
    return Stop(float(tries[best]), float(np.ptp(near)) / 2 + look.picture.finest_mm / 4)


def _misfit(
    area: FloatArray, expected: FloatArray, sd: FloatArray, clear: NDArray[np.bool_], beyond: FloatArray, look: Look
) -> float:
    """Sum of squares of what is seen against what a canal that stops here would show, in its own noise."""
    shown = expected * ndtr(beyond / look.blur_mm)
    noise = np.hypot(sd, ALIKE * expected)
    off = ((area - shown) / np.where(clear, noise, 1.0))[clear]
    return float((off**2).sum() * min(1.0, look.picture.finest_mm / look.blur_mm))


def clear(look: Look, line: Line) -> NDArray[np.bool_]:
    """Sections that nothing outside the tooth shows in: their wall is as hard as dentine."""
    hard = np.array([not x.open and abs(x.wall) < 0.1 for x in line.sections])
    return np.asarray(hard & (line.s_mm > look.blur_mm))


def _widths(line: Line, start: float) -> FloatArray:
    """Straight line through the diameters in the 2.5 mm above ``start``."""
    s = line.s_mm
    near = (s >= start) & (s <= start + 2.5)
    return np.asarray(np.polyfit(s[near], line.across_mm[near], 1 if near.sum() > 4 else 0))

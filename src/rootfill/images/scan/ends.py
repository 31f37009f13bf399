"""Both ends of a canal: out to the surface, in to where a blind one stops, up to the chamber's floor."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rootfill.images.scan.course import Line, Look, cut, moved_end, recentred, turned
from rootfill.images.scan.opening import opening
from rootfill.units import FloatArray

FAR_MM = 6.0
"""How far beyond what is seen a canal may still run to the root's surface [mm]."""

FLOOR_MM = 2.5
"""How far above the last section of a canal the chamber's floor may lie [mm]."""

SEEN = 3.0
"""Standard deviations of its own noise by which a section must be dark to count as seen."""


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
    found = opening(look, line, FAR_MM)
    if found is None:
        return line, look.blur_mm, True
    line = recentred(look, moved_end(look, line, found.beyond_mm))
    again = opening(look, line, 4 * look.picture.coarsest_mm)
    if again is not None:
        line, found = moved_end(look, line, again.beyond_mm), again
    stops = _stops(look, line)
    if stops is not None:
        return cut(line, stops, float(line.s_mm[-1])), look.blur_mm / 2, True
    return line, found.sd_mm, False


def _top(look: Look, line: Line) -> tuple[Line, float]:
    found = opening(look, turned(line), FLOOR_MM)
    if found is None:
        return line, look.blur_mm
    return turned(moved_end(look, turned(line), found.beyond_mm)), found.sd_mm


def seen_from(line: Line) -> float:
    """Distance from the end above which the canal itself is seen, not only its direction carried on [mm]."""
    sure = np.array([s.area_mm2 > SEEN * s.area_sd_mm2 for s in line.sections])
    run = np.convolve(sure, np.ones(3), mode="same") >= 3
    return float(line.s_mm[int(np.argmax(run))]) if run.any() else float(line.s_mm[-1])


def _stops(look: Look, line: Line) -> float | None:
    """Where a canal stops inside the dentine: half the width expected is not there though it would be seen."""
    s, start = line.s_mm, seen_from(line)
    if start < 3 * look.picture.coarsest_mm:
        return None
    fit = _widths(line, start)
    expected = np.pi / 4 * np.polyval(fit, s) ** 2
    area = np.array([x.area_mm2 for x in line.sections])
    closed = np.array([not x.open for x in line.sections])
    there = np.flatnonzero(closed & (area > expected / 2))
    if not there.size:
        return None
    step = look.picture.coarsest_mm
    empty = closed & (s < s[there[0]]) & (area < expected / 4) & (np.polyval(fit, s) > 2 * step)
    return float(s[there[0]]) if empty.sum() * look.picture.finest_mm > 2 * step else None


def _widths(line: Line, start: float) -> FloatArray:
    """Straight line through the diameters in the 2.5 mm above ``start``."""
    s = line.s_mm
    near = (s >= start) & (s <= start + 2.5)
    return np.asarray(np.polyfit(s[near], line.across_mm[near], 1 if near.sum() > 4 else 0))

"""Where things stand on the sheet: gutter, columns, scales and type sizes of a long section."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from rootfill.drawing.profile import extent_mm
from rootfill.plan.model import CanalPlan

FACTORS = (3.0, 2.5, 2.0, 1.75, 1.5, 1.25, 1.0, 0.75, 0.5)
WANTED = 2.0
GIVE_WAY = ((1.0, 1.0), (0.75, 1.0), (0.5, 1.0), (0.5, 0.5), (0.25, 0.5), (0.25, 0.25))
"""Stretch of walls and of curves, tried in this order until canal widths reach ``WANTED``."""


@dataclass(frozen=True)
class Stretch:
    """How much wider than to scale each thing is drawn; lengths are always to scale."""

    lumen: float
    walls: float
    bend: float


WIDEST_MM = 9.0
"""A canal gets no more room than this, so that its words stay near it in a wide column."""


@dataclass(frozen=True)
class Frame:
    """Sizes in px of the viewBox (on paper 1 px is 1 pt)."""

    gutter: float = 64.0
    column: float = 250.0
    px_per_mm: float = 20.0
    label: float = 120.0
    """Room for the words right of each canal."""
    small: float = 13.0
    number: float = 17.0
    big: float = 30.0
    heads: bool = True
    """Name and reference above each canal; off where a table above says them."""
    instruments: bool = True
    """Name of the instrument beside each stop, where there is room."""
    from_mm: float = 0.0
    """Depth at which the drawing begins; above 0 the crown is cut off at a break line."""

    @property
    def head(self) -> float:
        """Height above the depth at which the drawing begins."""
        return self.small * 0.9 + (self.big * 0.8 + self.small * 3.0 if self.heads else 0.0)

    @property
    def area(self) -> float:
        """Width in which a canal with its root and crown must stay."""
        return min(self.column - self.label - self.small * 1.4, WIDEST_MM * self.px_per_mm)


CARD_TYPE = {"small": 9.0, "number": 11.0, "big": 17.0}


def card_frame(columns: int, width: float, gutter: float, px_per_mm: float, from_mm: float = 0.0) -> Frame:
    """The frame of the tray card: columns under the table's columns, words at 9 pt."""
    column = (width - gutter) / columns
    label = 50.0 if column < 150 else 92.0
    named = column >= 150
    return Frame(gutter, column, px_per_mm, label, heads=False, instruments=named, from_mm=from_mm, **CARD_TYPE)


ABOVE_MM = 2.0
"""Crown left above the shallowest depth that matters, where the rest of it is cut off."""


def shallowest_mm(canals: Sequence[CanalPlan]) -> float:
    """Whole depth, ``ABOVE_MM`` or a little more above the first thing the drawing has to show."""
    depths = [c.orifice_at_mm for c in canals]
    depths += [c.fill_level_mm for c in canals if c.fill_level_mm is not None]
    depths += [p.set_stop_mm for c in canals for p in c.pluggers if p.role is not None]
    depths += [s.heat_set_stop_mm for c in canals for s in c.downpack if s.heat_set_stop_mm is not None]
    return float(max(math.floor(min(depths) - ABOVE_MM), 0))


def stretch(canals: Sequence[CanalPlan], frame: Frame) -> Stretch:
    """The usual stretch at which every canal stays inside its area: walls and curves give way first."""
    room = frame.area / frame.px_per_mm
    for walls, bend in GIVE_WAY:
        fitting = [k for k in FACTORS if all(_fits(c, Stretch(k, walls, bend), room) for c in canals)]
        if fitting and fitting[0] >= WANTED:
            return Stretch(fitting[0], walls, bend)
    walls, bend = GIVE_WAY[-1]
    return Stretch(fitting[0] if fitting else FACTORS[-1], walls, bend)


def _fits(canal: CanalPlan, by: Stretch, room_mm: float) -> bool:
    left, right = extent_mm(canal.section, by.lumen, by.walls, by.bend)
    return right - left <= room_mm

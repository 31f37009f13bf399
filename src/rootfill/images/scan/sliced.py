"""A tooth cut into slices, before anything is measured."""

from __future__ import annotations

from dataclasses import dataclass

from rootfill.images.scan.levels import Cuts, Levels, Node
from rootfill.images.scan.view import View


@dataclass(frozen=True, eq=False)
class Sliced:
    """A view, apical end first, cut into slices: all bodies and hollows, those of the tooth, the greys that cut."""

    view: View
    levels: Levels
    bodies: list[Node]
    cuts: Cuts

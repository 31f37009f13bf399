"""A tooth cut into slices, before anything is measured."""

from __future__ import annotations

from dataclasses import dataclass

from rootfill.images.scan.levels import Cuts, Levels, Node


@dataclass(frozen=True, eq=False)
class Sliced:
    """A view cut into slices: all bodies and hollows, the bodies of the tooth asked for, and the greys that cut."""

    levels: Levels
    bodies: list[Node]
    cuts: Cuts

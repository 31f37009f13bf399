"""Bodies of all slices as roots: which run free towards the apex, how large each is, where it ends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from rootfill.images.scan.levels import Node
from rootfill.images.scan.strands import Strand, pruned, strands_of
from rootfill.images.scan.view import View
from rootfill.units import FloatArray


@dataclass(frozen=True, eq=False)
class RootBody:
    """Nodes of one root from its apex to where it leaves the others, or to the top of a single one."""

    nodes: tuple[Node, ...]

    def pixels(self, below_level: float) -> int:
        """Pixels of its sections below a level."""
        return sum(node.area for node in self.nodes if node.level < below_level)


def root_bodies(group: list[Node], shortest: int) -> list[RootBody]:
    """The roots among connected bodies, the one with the lowest apex first."""
    strands = pruned(strands_of(group), shortest, opens_above=0)
    free = [s for s in strands if not s.below]
    return [RootBody(tuple(s.nodes)) for s in sorted(free, key=_lowest)]


def _lowest(strand: Strand) -> tuple[int, int]:
    return strand.nodes[0].level, strand.nodes[0].label


def apex_of(view: View, root: RootBody) -> FloatArray:
    """Voxel index (x, y, z) of a root's apex: the middle of its first section, at its outer face."""
    first = root.nodes[0]
    return view.index(np.array(first.level - 0.5), np.array(first.centre[0]), np.array(first.centre[1]))

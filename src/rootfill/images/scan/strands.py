"""The hollows of all slices as strands: runs without a fork, joined at their ends."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from rootfill.images.scan.levels import Node


@dataclass(eq=False)
class Strand:
    """A run of nodes from its apical to its coronal end, each with one neighbour below and above inside the run."""

    nodes: list[Node]
    below: list[Strand] = field(default_factory=list, repr=False)
    above: list[Strand] = field(default_factory=list, repr=False)

    @property
    def length(self) -> int:
        """Levels it spans."""
        return self.nodes[-1].level - self.nodes[0].level + 1

    @property
    def area(self) -> float:
        """Mean pixels of its sections."""
        return sum(node.area for node in self.nodes) / len(self.nodes)


def connected(nodes: Iterable[Node]) -> list[list[Node]]:
    """Groups of nodes that hang together, each by level."""
    left = {id(node): node for node in nodes}
    groups = []
    while left:
        _, first = left.popitem()
        group, waiting = [first], [first]
        while waiting:
            node = waiting.pop()
            for other in (*node.below, *node.above):
                if left.pop(id(other), None) is not None:
                    group.append(other)
                    waiting.append(other)
        groups.append(sorted(group, key=lambda node: (node.level, node.label)))
    return groups


def tidied(group: list[Node], shortest: int, opens_above: int) -> list[Strand]:
    """The strands of one connected group, without spurs and horns (``pruned``), what is one hollow gathered."""
    strands = gathered(pruned(strands_of(group), shortest, opens_above), shortest)
    return pruned(strands, shortest, opens_above)


def strands_of(group: list[Node]) -> list[Strand]:
    """The strands of one connected group."""
    strand_of: dict[int, Strand] = {}
    found = []
    for node in group:
        if len(node.below) == 1 and len(node.below[0].above) == 1:
            strand = strand_of[id(node.below[0])]
            strand.nodes.append(node)
        else:
            strand = Strand([node])
            found.append(strand)
            for lower in node.below:
                other = strand_of[id(lower)]
                strand.below.append(other)
                other.above.append(strand)
        strand_of[id(node)] = strand
    return found


def pruned(strands: list[Strand], shortest: int, opens_above: int) -> list[Strand]:
    """The strands without what is no canal of its own; what it parted is one strand again.

    Goes: a strand that ends free and is shorter than ``shortest`` levels or than it is wide; one that ends free
    towards the crown below level ``opens_above``, a horn of the chamber; of two that part and meet again within
    ``shortest`` levels the smaller.
    """

    def goes(strand: Strand) -> bool:
        if not _sibling(strand):
            return False
        if strand.below and strand.above:
            return strand.length < shortest and any(
                s.below == strand.below and s.above == strand.above and s.area >= strand.area
                for s in strand.below[0].above
                if s is not strand
            )
        if not strand.above and strand.below and strand.nodes[-1].level < opens_above:
            return True
        return strand.length < max(shortest, math.sqrt(strand.area))

    while True:
        spur = min((s for s in strands if goes(s)), key=lambda s: s.length * s.area, default=None)
        if spur is None:
            return strands
        _unhook(spur)
        strands = _spliced([s for s in strands if s is not spur])


RAGGED = 3
"""So many short strands that hang together are one hollow with holes in it."""


def gathered(strands: list[Strand], shortest: int) -> list[Strand]:
    """The strands, those shorter than ``shortest`` levels that hang together made one: an isthmus in a noisy scan."""
    short = [s for s in strands if s.length < shortest and s.below and s.above]
    for net in _nets(short):
        if len(net) >= RAGGED:
            strands = [s for s in strands if s not in net] + [_one_of(net)]
    return _spliced(strands)


def _nets(strands: list[Strand]) -> list[list[Strand]]:
    """Groups of these strands that hang together."""
    left, nets = list(strands), []
    while left:
        net, waiting = [], [left.pop()]
        while waiting:
            strand = waiting.pop()
            net.append(strand)
            for other in (*strand.below, *strand.above):
                if other in left:
                    left.remove(other)
                    waiting.append(other)
        nets.append(net)
    return nets


def _one_of(net: list[Strand]) -> Strand:
    """One strand in place of a net, its sections side by side taken for one."""
    by_level: dict[int, list[Node]] = {}
    for strand in net:
        for node in strand.nodes:
            by_level.setdefault(node.level, []).append(node)
    made = Strand([_side_by_side(by_level[level]) for level in sorted(by_level)])
    for strand in net:
        for other in strand.below:
            if other not in net:
                other.above = [s for s in other.above if s not in net and s is not made] + [made]
                made.below = [s for s in made.below if s is not other] + [other]
        for other in strand.above:
            if other not in net:
                other.below = [s for s in other.below if s not in net and s is not made] + [made]
                made.above = [s for s in made.above if s is not other] + [other]
    return made


def _side_by_side(nodes: list[Node]) -> Node:
    """Sections of one level as one: as wide as they reach together, as narrow as the widest of them."""
    if len(nodes) == 1:
        return nodes[0]
    largest, area = max(nodes, key=lambda node: node.area), sum(node.area for node in nodes)
    row, column = (sum(node.area * node.centre[i] for node in nodes) / area for i in (0, 1))
    apart = max(math.dist(a.centre, b.centre) for a in nodes for b in nodes)
    return replace(
        largest,
        area=area,
        centre=(row, column),
        narrow=max(node.narrow for node in nodes),
        wide=max(largest.wide, apart + largest.narrow),
        missing=sum(node.missing for node in nodes),
    )


def _sibling(strand: Strand) -> bool:
    """Whether at a junction it hangs on another strand goes the same way."""
    return any(len(s.above) > 1 for s in strand.below) or any(len(s.below) > 1 for s in strand.above)


def _unhook(strand: Strand) -> None:
    for other in strand.above:
        other.below.remove(strand)
    for other in strand.below:
        other.above.remove(strand)


def _spliced(strands: list[Strand]) -> list[Strand]:
    """Strands that meet end to end, and nothing else there, made one."""
    kept = list(strands)
    for upper in strands:
        if len(upper.below) == 1 and len(upper.below[0].above) == 1:
            lower = upper.below[0]
            lower.nodes.extend(upper.nodes)
            lower.above = upper.above
            for other in upper.above:
                other.below[other.below.index(upper)] = lower
            kept.remove(upper)
    return kept

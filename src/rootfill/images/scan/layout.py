"""Strands as canals: which run from a chamber to an end, which join, part, or hang together by an isthmus."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import linear_sum_assignment

from rootfill.images.scan.levels import Node
from rootfill.images.scan.orifice import opens_at
from rootfill.images.scan.strands import Strand
from rootfill.units import FloatArray

FAR_WIDER = 1.8
"""A hollow so many times as wide as the canals below it is their chamber."""

FEWEST = 5
"""Levels that a direction is told from."""


@dataclass(eq=False)
class Course:
    """The rough way of one canal: its nodes from the orifice down, and what becomes of it.

    Where it passes an isthmus its own nodes are missing. ``into`` is the canal it ends in, ``parts_from`` the one
    that it leaves; an orifice of its own it has only where ``parts_from`` is None.
    """

    nodes: list[Node] = field(default_factory=list, repr=False)
    into: Course | None = field(default=None, repr=False)
    parts_from: Course | None = field(default=None, repr=False)
    open_top: bool = False


@dataclass(frozen=True, eq=False)
class Bridge:
    """An isthmus between canals, from one level to another."""

    courses: tuple[Course, ...]
    from_level: int
    to_level: int


@dataclass
class Layout:
    """All courses and isthmuses of one tooth, and the nodes of its chamber."""

    courses: list[Course] = field(default_factory=list)
    bridges: list[Bridge] = field(default_factory=list)
    chamber: list[Node] = field(default_factory=list)


def laid_out(strands: list[Strand], shortest: int, aspect: float = 1.0) -> Layout:
    """The canals of one connected group of pruned strands; ``aspect`` is the height of a level in pixels.

    The chamber is the top of the strand no other lies above, from where it widens like a floor and no canal, and all
    of one that is far wider than what goes down from it; and below it those that part again before they are
    ``shortest`` levels or their own width long. Downwards, where strands meet, the straightest goes
    on and the others end in it, unless as many leave as came: then they only touch, by an isthmus.
    """
    strands = [part for s in strands for part in _cut_at_floor(s, aspect)]
    layout, roof = Layout(), _chamber(strands, shortest)
    layout.chamber = [node for s in roof for node in s.nodes]
    arriving: dict[int, list[Course]] = {id(s): [] for s in strands}
    for strand in sorted(strands, key=lambda s: -s.nodes[-1].level):
        if strand in roof:
            continue
        came = arriving[id(strand)]
        if not came:
            came.append(Course(open_top=not strand.above))
            layout.courses.append(came[0])
        going = _through(layout, strand, came, (shortest, aspect))
        for course, lower in going:
            arriving[id(lower)].append(course)
    return layout


def _cut_at_floor(strand: Strand, aspect: float) -> list[Strand]:
    """A strand that several go down from and none lies above, parted where it opens into a chamber, if it does."""
    if strand.above or len(strand.below) < 2:
        return [strand]
    s = aspect * np.array([node.level - strand.nodes[0].level for node in strand.nodes], dtype=float)
    floor = opens_at(s, np.array([node.narrow for node in strand.nodes]), max(3.0, aspect))
    if floor is None or not 0 < (first := int(np.searchsorted(s, floor))) < len(s):
        return [strand]
    roof = Strand(strand.nodes[first:], below=[strand])
    strand.nodes, strand.above = strand.nodes[:first], [roof]
    return [strand, roof]


def _chamber(strands: list[Strand], shortest: int) -> list[Strand]:
    """The strands that are chamber rather than canal."""
    roof = [s for s in strands if not s.above and s.below and (len(s.below) == 1 or _is_wide(s, shortest))]
    for strand in roof:
        for lower in strand.below:
            parts = len(lower.below) > 1 and lower.above == [strand]
            if parts and lower not in roof and lower.length < max(shortest, lower.area**0.5):
                roof.append(lower)
    return roof


def _is_wide(strand: Strand, shortest: int) -> bool:
    """Whether a strand is short, or far wider than some canal that goes down from it."""
    below = min(np.mean([node.narrow for node in s.nodes]) for s in strand.below)
    wide = float(np.mean([node.narrow for node in strand.nodes]))
    return strand.length < shortest or bool(wide > FAR_WIDER * below)


def _through(
    layout: Layout, strand: Strand, came: list[Course], over: tuple[int, float]
) -> list[tuple[Course, Strand]]:
    """Take the courses that came to the top of a strand through it: who leaves by which strand below.

    ``over``: levels that tell a direction, and the height of one in pixels.
    """
    if len(came) > 1 and len(strand.below) > 1 and _bridges(strand, came):
        top, bottom = strand.nodes[-1].level, strand.nodes[0].level
        pairs, left_over = _matched(came, strand.below)
        layout.bridges.append(Bridge(tuple(c for c, _ in pairs), bottom, top))
        stay = [course for course, _ in pairs]
    else:
        own = [c for c in came if not any(_hangs_on(c, other) for other in came)]
        shared = _own(strand.nodes) if len(came) > 1 else strand.nodes
        main = _goes_on(own, shared, *over)
        main.nodes.extend(reversed(shared))
        pairs, left_over = _matched([main], strand.below)
        stay = [main]
    for course in came:
        if course not in stay:
            course.into = next((c for c in stay if not _hangs_on(c, course)), None)
    for lower in left_over:
        new = Course(parts_from=stay[0])
        layout.courses.append(new)
        pairs.append((new, lower))
    return pairs


def _goes_on(came: list[Course], shared: list[Node], levels: int, aspect: float) -> Course:
    """Of canals that meet, the one that bends least where it goes on; the widest where directions do not show."""
    if len(came) == 1:
        return came[0]
    below = _direction(shared[-levels:], aspect)
    ways = [(c, way) for c in came if (way := _direction(c.nodes[-levels:], aspect)) is not None]
    if below is None or len(ways) < len(came):
        return max(came, key=lambda c: np.mean([n.area for n in c.nodes[-5:]]) if c.nodes else 0.0)
    return max(ways, key=lambda pair: float(pair[1] @ below))[0]


def _direction(nodes: list[Node], aspect: float) -> FloatArray | None:
    """Towards the crown, of length 1, by a straight line through centres; None where too few tell it."""
    if len(nodes) < FEWEST:
        return None
    level = aspect * np.array([node.level for node in nodes], dtype=float)
    if np.ptp(level) == 0:
        return None
    slope = np.array([np.polyfit(level, x, 1)[0] for x in np.array([node.centre for node in nodes], dtype=float).T])
    way = np.array([1.0, *slope])
    return np.asarray(way / np.linalg.norm(way))


def _hangs_on(course: Course, other: Course) -> bool:
    """Whether a course has parted from another, or ends in it, by however many steps."""
    known, waiting = set[int](), [course.into, course.parts_from]
    while waiting:
        one = waiting.pop()
        if one is other:
            return True
        if one is not None and id(one) not in known:
            known.add(id(one))
            waiting += [one.into, one.parts_from]
    return False


def _own(nodes: list[Node]) -> list[Node]:
    """The nodes of a shared strand without those at its top that are still two canals side by side."""
    last = len(nodes)
    while last > 2 and len(nodes) - last < 3 * nodes[-1].wide and nodes[last - 1].wide > 1.5 * nodes[last - 1].narrow:
        last -= 1
    return nodes[:last]


def _bridges(strand: Strand, came: list[Course]) -> bool:
    """Whether a shared strand is two canals side by side rather than one: as wide as they lie apart."""
    ends = [np.array(c.nodes[-1].centre) for c in came if c.nodes]
    apart = max(float(np.linalg.norm(a - b)) for a in ends for b in ends) if ends else 0.0
    return float(np.median([n.wide for n in strand.nodes])) >= 0.8 * apart


def _matched(came: list[Course], below: list[Strand]) -> tuple[list[tuple[Course, Strand]], list[Strand]]:
    """Each course with the strand below that lies nearest to where it came from, and the strands left over."""
    if not below:
        return [], []

    def apart(course: Course, lower: Strand) -> float:
        if not course.nodes:
            return -lower.area
        return float(np.linalg.norm(np.subtract(course.nodes[-1].centre, lower.nodes[-1].centre)))

    rows, columns = linear_sum_assignment([[apart(course, lower) for lower in below] for course in came])
    taken = [(came[i], below[j]) for i, j in zip(rows, columns, strict=True)]
    return taken, [s for s in below if all(s is not t for _, t in taken)]

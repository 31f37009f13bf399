"""A tooth slice by slice: its bodies, the hollows they enclose, and what overlaps what in the next slice."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from rootfill.images.model import Grey
from rootfill.units import FloatArray

EIGHT = np.ones((3, 3), dtype=bool)
Labels = NDArray[np.int32]


@dataclass
class Node:
    """One connected region of one slice: level, pixels, centre (row, column), both axes of the ellipse of the same
    moments [pixels], the grey missing in it and about it as the pixels of a wide lumen, and its neighbours."""

    level: int
    label: int
    area: int
    centre: tuple[float, float]
    narrow: float
    wide: float
    missing: float = 0.0
    below: list[Node] = field(default_factory=list, repr=False)
    above: list[Node] = field(default_factory=list, repr=False)
    body: Node | None = field(default=None, repr=False)


@dataclass
class Levels:
    """Bodies and hollows of every slice of a view of shape (levels, rows, columns), joined up by overlap."""

    bodies: list[list[Node]]
    hollows: list[list[Node]]

    def turned(self) -> Levels:
        """The same nodes counted from the other end."""
        last = len(self.bodies) - 1
        for level in (*self.bodies, *self.hollows):
            for node in level:
                node.level = last - node.level
                node.below, node.above = node.above, node.below
        return Levels(self.bodies[::-1], self.hollows[::-1])


@dataclass(frozen=True)
class Cuts:
    """Greys that part, hard bodies above ``body`` and hollows below ``hollow``, and those of dentine and lumen."""

    body: float
    hollow: float
    dentine: float
    lumen: float


def levels_of(view: Grey, cuts: Cuts, keep_going: Callable[[float], None] = lambda _: None) -> Levels:
    """Cut ``view`` along its first axis into bodies, each with its hollows filled, and the hollows inside them.

    Each slice is averaged 1:2:1 with its neighbours first, along which a canal runs; one slice is held at a time.
    ``keep_going`` is told the share done and may raise.
    """
    found = Levels([], [])
    earlier: tuple[Labels, Labels] | None = None
    for k in range(view.shape[0]):
        keep_going(k / view.shape[0])
        grey = smoothed(view, k)
        bodies, hollows = _labelled(grey, cuts)
        body_nodes, hollow_nodes = _nodes(k, bodies), _nodes(k, hollows)
        for node, label in zip(hollow_nodes, _at_first(bodies, hollows), strict=True):
            node.body = body_nodes[label - 1]
        _fill_missing(hollow_nodes, hollows, (cuts.dentine - grey) / (cuts.dentine - cuts.lumen))
        if earlier is not None:
            _link(found.bodies[-1], body_nodes, earlier[0], bodies, reach=0)
            _link(found.hollows[-1], hollow_nodes, earlier[1], hollows, reach=1)
        found.bodies.append(body_nodes)
        found.hollows.append(hollow_nodes)
        earlier = bodies, hollows
    return found


def smoothed(view: Grey, k: int) -> FloatArray:
    """Slice ``k`` averaged 1:2:1 with its neighbours."""
    before, after = view[max(k - 1, 0)], view[min(k + 1, view.shape[0] - 1)]
    return np.asarray((before.astype(np.float32) + 2 * view[k].astype(np.float32) + after) / 4)


def _labelled(grey: FloatArray, cuts: Cuts) -> tuple[Labels, Labels]:
    dark, count = ndimage.label(grey <= cuts.body)
    open_air = np.zeros(count + 1, dtype=bool)
    for edge in (dark[0], dark[-1], dark[:, 0], dark[:, -1]):
        open_air[edge] = True
    open_air[0] = False
    filled = ~open_air[dark]
    bodies, _ = ndimage.label(filled, EIGHT)
    return bodies, _enclosed(filled, grey < cuts.hollow)


def _enclosed(filled: NDArray[np.bool_], dark: NDArray[np.bool_]) -> Labels:
    """Dark regions that do not run out of the filled bodies, numbered from 1."""
    parts, count = ndimage.label(dark | ~filled)
    inside = np.ones(count + 1, dtype=bool)
    inside[parts[~filled]] = False
    inside[0] = False
    number = np.cumsum(inside) * inside
    hollows: Labels = number.astype(np.int32)[parts]
    return hollows


def _nodes(level: int, labels: Labels) -> list[Node]:
    """A node for every label of a slice, in order."""
    flat = labels.ravel()
    at = np.flatnonzero(flat)
    label = flat[at]
    rows, columns = np.divmod(at, labels.shape[1])
    area = np.maximum(np.bincount(label), 1)

    def mean(x: FloatArray) -> FloatArray:
        return np.asarray(np.bincount(label, x) / area)

    row, column = mean(rows), mean(columns)
    rr, cc, rc = mean(rows**2) - row**2, mean(columns**2) - column**2, mean(rows * columns) - row * column
    middle, apart = (rr + cc) / 2 + 1 / 12, np.hypot((rr - cc) / 2, rc)
    narrow, wide = 4 * np.sqrt(np.maximum(middle - apart, 0)), 4 * np.sqrt(middle + apart)
    return [
        Node(level, i, int(area[i]), (float(row[i]), float(column[i])), float(narrow[i]), float(wide[i]))
        for i in range(1, area.size)
    ]


def _at_first(bodies: Labels, hollows: Labels) -> list[int]:
    """The body at the first pixel of each hollow, in order of label."""
    flat = hollows.ravel()
    at = np.flatnonzero(flat)
    _, first = np.unique(flat[at], return_index=True)
    return [int(x) for x in bodies.ravel()[at[first]]]


def _fill_missing(nodes: list[Node], hollows: Labels, dark: FloatArray) -> None:
    """Add up for each hollow what it and its blurred edge, two pixels wide, are darker than dentine."""
    if not nodes:
        return
    about = ndimage.grey_dilation(hollows, size=(5, 5))
    sums = np.bincount(about.ravel(), dark.ravel(), minlength=len(nodes) + 1)
    for node in nodes:
        node.missing = float(sums[node.label])


def _link(below: list[Node], above: list[Node], lower: Labels, upper: Labels, reach: int) -> None:
    """Join the nodes of two slices that overlap, or lie within ``reach`` pixels of doing so."""
    rows, columns = np.nonzero(lower)
    label = lower[rows, columns]
    pairs: set[int] = set()
    for i, j in {(0, 0), (reach, 0), (-reach, 0), (0, reach), (0, -reach)}:
        r, c = np.clip(rows + i, 0, upper.shape[0] - 1), np.clip(columns + j, 0, upper.shape[1] - 1)
        met = upper[r, c]
        pairs |= set(np.unique(label.astype(np.int64) * (len(above) + 1) + met).tolist())
    for pair in sorted(pairs):
        a, b = divmod(pair, len(above) + 1)
        if b:
            below[a - 1].above.append(above[b - 1])
            above[b - 1].below.append(below[a - 1])

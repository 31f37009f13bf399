"""From slices to the tooth: every canal measured, joins and isthmuses placed, roots weighed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from rootfill.errors import InputRefused, Said
from rootfill.images.model import Volume
from rootfill.images.scan import outer
from rootfill.images.scan.cautions import cautions_of
from rootfill.images.scan.course import Line, Look, arc, centred
from rootfill.images.scan.ends import SHORT_OF_VOXELS, ended
from rootfill.images.scan.layout import Bridge, Course, Layout, laid_out
from rootfill.images.scan.levels import Node
from rootfill.images.scan.meeting import meets, nearest
from rootfill.images.scan.model import Isthmus, Scanned, ScannedCanal, ScannedJoin, ScannedRoot
from rootfill.images.scan.orifice import opens_at
from rootfill.images.scan.picture import Picture
from rootfill.images.scan.roots import RootBody, apex_of, root_bodies
from rootfill.images.scan.sliced import Sliced
from rootfill.images.scan.stations import length_error, stations_of
from rootfill.images.scan.strands import connected, tidied
from rootfill.images.scan.view import View
from rootfill.units import FloatArray

SPUR_MM = 1.0
"""Branches shorter than this are no canals of their own."""

ROOT_MM = 2.0
"""Roots that part for less than this are one."""

FIRST_BLUR = 0.9
"""Standard deviation of the blur in voxels, until it has been seen."""

NOISIEST = 0.3
"""Noise as a share of the contrast beyond which no edge is believed."""

FEWEST = 4
"""Sections without which nothing is followed."""

SLENDER = 2.0
"""A hollow is a canal where it is longer than so many of its widths."""

SHOWN = 0.5
"""A branch shows along this share of its way at least."""

ASIDE = 0.3
"""A hollow apart from the main canals is a canal where it runs along this share of them."""


@dataclass(frozen=True, eq=False)
class Run:
    """One course with its measured line; for one that joins or leaves another, up to or from where it does."""

    course: Course
    line: Line
    sd_mm: float
    blind: bool


@dataclass(frozen=True, eq=False)
class Followed:
    """A sliced tooth with its hollows, and the courses among them that are canals.

    ``slender``: how long, thin and round across they are, added up; a tooth cut the wrong way shows shreds, and canals
    cut lengthwise.
    """

    sliced: Sliced
    picture: Picture
    groups: list[list[Node]]
    layouts: list[Layout]
    courses: list[Course]
    slender: float


def followed(volume: Volume, sliced: Sliced) -> Followed:
    """The canals of a sliced tooth, roughly. Raises InputRefused for noise."""
    if _noise(sliced) > NOISIEST:
        raise InputRefused("the scan", Said("noise without a clear edge of dentine"), "choose one that holds a tooth")
    view, groups = sliced.view, _hollows(sliced)
    spur = _levels(view, volume, SPUR_MM)
    top, aspect = _opens(sliced, spur), _aspect(view, volume)
    layouts = [laid_out(tidied(group, spur, top), 2 * spur, aspect) for group in groups]
    picture = Picture(volume.values, volume.step_mm)
    courses = _canals_among(view, picture, [course for layout in layouts for course in layout.courses])
    slender = sum(_slender(course, *_rough(view, picture, course)) for course in courses)
    return Followed(sliced, picture, groups, layouts, courses, slender)


def _slender(course: Course, points_mm: FloatArray, about_mm: FloatArray) -> float:
    """Length³ by width [mm²], the length times the square of how round its sections are: cut aslant they are not."""
    round_across = float(np.mean([node.narrow / max(node.wide, 1e-9) for node in course.nodes]))
    return (float(arc(points_mm)[-1]) * round_across**2) ** 3 / float(np.median(about_mm))


def tooth_of(volume: Volume, found: Followed, keep_going: Callable[[float], None]) -> Scanned:
    """Measure all canals and roots of a tooth. Raises InputRefused where no canal was found."""
    sliced, view, courses = found.sliced, found.sliced.view, found.courses
    if not courses:
        raise InputRefused(
            "the scan", Said("a tooth in which no canal shows"), "set the threshold or choose a finer scan"
        )
    look = _look(found.picture, sliced, courses)
    runs = []
    for i, course in enumerate(courses):
        keep_going(i / len(courses))
        runs.append(_run(look, view, course))
    runs = [run for run in runs if not _guessed(view, run, courses, volume.step_mm)]
    courses = [run.course for run in runs]
    runs = [_past_joins(look, view, run, runs) for run in runs]
    lines = [_whole(run, runs) for run in runs]
    bodies = root_bodies(sliced.bodies, _levels(view, volume, ROOT_MM))
    canals = tuple(_canal(look, run, line, runs, bodies) for run, line in zip(runs, lines, strict=True))
    cell = float(np.prod(volume.step_mm))
    return Scanned(
        roots=tuple(_root(view, body, bodies, canals, cell) for body in bodies),
        canals=canals,
        isthmuses=tuple(_isthmus(look, view, b, runs, lines) for b in _bridges(found.layouts, courses)),
        pulp_volume=sum(node.missing for group in found.groups for node in group) * cell,
        blur=look.blur,
        noise=_noise(sliced),
        threshold=view.greys.threshold,
        cautions=cautions_of(volume, canals),
    )


def _levels(view: View, volume: Volume, length_mm: float) -> int:
    """Levels in a length, at least three."""
    return max(3, round(length_mm / float(volume.step_mm[::-1][view.axis])))


def _aspect(view: View, volume: Volume) -> float:
    """Height of a level in pixels."""
    step = volume.step_mm[::-1]
    return float(step[view.axis] / np.sqrt(np.delete(step, view.axis).prod()))


def _hollows(sliced: Sliced) -> list[list[Node]]:
    """Connected hollows inside the tooth that are canals by their length, the largest first."""
    mine = {id(node) for node in sliced.bodies}
    groups = connected(node for level in sliced.levels.hollows for node in level if id(node.body) in mine)
    groups.sort(key=lambda group: -sum(node.missing for node in group))
    if not groups:
        return []
    span = [group[-1].level - group[0].level + 1 for group in groups]
    fullest = max(span[:1])
    return [g for i, (g, n) in enumerate(zip(groups, span, strict=True)) if i == 0 or n >= ASIDE * fullest]


def _opens(sliced: Sliced, spur: int) -> int:
    """Level from which a hollow that ends towards the crown opens at a cut surface."""
    return max(node.level for node in sliced.bodies) - spur


def _canals_among(view: View, picture: Picture, courses: list[Course]) -> list[Course]:
    """The courses that are canals rather than a chamber alone, without those that join or leave one that is not."""
    kept = {id(c) for c in courses if _is_canal(view, picture, c)}
    while True:
        lost = {id(c) for c in courses if id(c) in kept and any(id(o) not in kept for o in (c.into, c.parts_from) if o)}
        if not lost:
            return [c for c in courses if id(c) in kept]
        kept -= lost


def _is_canal(view: View, picture: Picture, course: Course) -> bool:
    """Whether a course is long enough to be followed, and, where it stands alone, several times as long as wide."""
    if len(course.nodes) < FEWEST:
        return False
    rough, about = _rough(view, picture, course)
    alone = course.into is None and course.parts_from is None
    return len(rough) >= FEWEST and (not alone or float(arc(rough)[-1]) > SLENDER * float(np.median(about)))


def _look(picture: Picture, sliced: Sliced, courses: list[Course]) -> Look:
    """How to look at this scan: its contrast from the slices, its blur from the outer edge about the longest canal."""
    look = Look(picture, sliced.view.greys, sliced.cuts.dentine - sliced.cuts.lumen, FIRST_BLUR)
    course = max(courses, key=lambda c: len(c.nodes))
    rough, about = _rough(sliced.view, picture, course)
    line = centred(look, rough, about)
    points = line.points_mm[:: max(1, len(line.points_mm) // 40)]
    hard, r, out = outer.rays(look, points, np.zeros(len(points)), outer.FURTHEST_MM)
    start = np.full((len(points), outer.DIRECTIONS), float(np.median(line.across_mm)) / 2)
    blur = outer.blur_of(hard, r, outer.surfaces(hard, r, start, look.blur_mm), out, picture.step_mm)
    return look if blur is None else replace(look, blur=blur)


def _rough(view: View, picture: Picture, course: Course) -> tuple[FloatArray, FloatArray]:
    """Centres of a course's nodes from its end up [mm], shape (n, 3), and about how wide it is at each."""
    nodes = course.nodes[::-1]
    level, row, column = np.array([(n.level, *n.centre) for n in nodes], dtype=float).T
    points = view.index(level, row, column) * picture.step_mm
    pixel = np.delete(picture.step_mm[::-1], view.axis).prod()
    narrow = np.array([n.narrow for n in nodes]) * np.sqrt(pixel)
    about = 2 * np.sqrt(np.array([n.area for n in nodes]) * pixel / np.pi)
    s = (
        np.maximum.accumulate(level - level[0]) * picture.step_mm[::-1][view.axis]
    )  # in a chamber the middle jumps aside
    window = max(3 * picture.coarsest_mm, 0.02 * float(s[-1]))
    opens = opens_at(s, narrow, window)
    short_of = SHORT_OF_VOXELS * picture.coarsest_mm
    top = float(s[-1]) if course.open_top and opens is None else (float(s[-1]) if opens is None else opens) - short_of
    keep = s <= max(top, s[min(3, len(s) - 1)])
    return points[keep], about[keep]


def _run(look: Look, view: View, course: Course) -> Run:
    rough, about = _rough(view, look.picture, course)
    line = centred(look, rough, about)
    done = ended(look, line, at_end=course.into is None, at_top=course.parts_from is None)
    return Run(course, done.line, done.sd_mm, done.blind)


def _guessed(view: View, run: Run, courses: list[Course], step_mm: FloatArray) -> bool:
    """Whether of a branch, one on which no other hangs, more is carried on than shows: a shred of an isthmus."""
    course = run.course
    if course.parts_from is None or any(course in (c.into, c.parts_from) for c in courses):
        return False
    shows = course.nodes[0].level - course.nodes[-1].level
    return shows < SHOWN * float(np.ptp(view.place(run.line.points_mm / step_mm)[:, 0]))


def _past_joins(look: Look, view: View, run: Run, runs: list[Run]) -> Run:
    """A canal laid anew past the places where others join it: between its axis and theirs lies one wide hollow.

    Slices from where the two ways cross up to where the other shows alone tell of both, and are left out.
    """
    for other in runs:
        if other.course.into is not run.course or not other.course.nodes:
            continue
        crossing = run.line.points_mm[meets(run.line, other.line)] / look.picture.step_mm
        low, high = float(view.place(crossing)[0]), other.course.nodes[-1].level
        run.course.nodes[:] = [node for node in run.course.nodes if not low < node.level <= high]
        run = _run(look, view, run.course)
    return run


def _whole(run: Run, runs: list[Run]) -> Line:
    """The line of a canal from the common end to the orifice: with the part that it shares with another."""
    line = run.line
    if run.course.into is not None:
        other = _whole(_of(run.course.into, runs), runs)
        at = meets(other, line)
        line = Line(
            np.concatenate((other.points_mm[: at + 1], line.points_mm)),
            (*other.sections[: at + 1], *line.sections),
        )
    if run.course.parts_from is not None:
        other = _whole(_of(run.course.parts_from, runs), runs)
        at = nearest(other, line.points_mm[-1])
        line = Line(np.concatenate((line.points_mm, other.points_mm[at:])), (*line.sections, *other.sections[at:]))
    return line


def _of(course: Course, runs: list[Run]) -> Run:
    return next(run for run in runs if run.course is course)


def _canal(look: Look, run: Run, line: Line, runs: list[Run], bodies: list[RootBody]) -> ScannedCanal:
    courses = [r.course for r in runs]
    stations = stations_of(look, line, [r.line for r in runs if r is not run])
    into = run.course.into
    join = None
    if into is not None:
        at = float(line.s_mm[meets(_whole(_of(into, runs), runs), run.line)])
        join = ScannedJoin(courses.index(into), at)
    home = _of(into, runs).course if into is not None and not run.course.nodes else run.course
    return ScannedCanal(
        root=_root_of(home, bodies),
        line=line.points_mm / look.picture.step_mm,
        length=float(line.s_mm[-1]),
        length_error=length_error(look, run.sd_mm, stations.seen_from, joins=join is not None),
        stations=stations.table,
        seen_from=stations.seen_from,
        thin_below=stations.thin_below,
        blind=run.blind,
        join=join,
        parts_from=None if run.course.parts_from is None else courses.index(run.course.parts_from),
    )


def _root_of(course: Course, bodies: list[RootBody]) -> int:
    """The root that holds the most of a canal's sections."""
    held = [sum(any(n.body is b for b in body.nodes) for n in course.nodes) for body in bodies]
    return int(np.argmax(held))


def _root(
    view: View, body: RootBody, bodies: list[RootBody], canals: tuple[ScannedCanal, ...], cell: float
) -> ScannedRoot:
    """A root weighed: to where it leaves the others, a single one to its highest orifice."""
    top = float(body.nodes[-1].level + 1)
    if len(bodies) == 1:
        top = min(top, max(float(view.place(canal.orifice)[0]) for canal in canals))
    return ScannedRoot(body.pixels(top) * cell, apex_of(view, body))


def _bridges(layouts: list[Layout], courses: list[Course]) -> list[Bridge]:
    """The isthmuses between canals that are kept."""
    known = {id(course) for course in courses}
    trimmed = [
        replace(b, courses=tuple(c for c in b.courses if id(c) in known)) for layout in layouts for b in layout.bridges
    ]
    return [bridge for bridge in trimmed if len(bridge.courses) > 1]


def _isthmus(look: Look, view: View, bridge: Bridge, runs: list[Run], lines: list[Line]) -> Isthmus:
    courses = [run.course for run in runs]
    numbers = tuple(courses.index(c) for c in bridge.courses)
    line = lines[numbers[0]]
    level = view.place(line.points_mm / look.picture.step_mm)[:, 0]
    low, high = (float(line.s_mm[int(np.argmin(np.abs(level - x)))]) for x in (bridge.from_level, bridge.to_level))
    return Isthmus(numbers, low, high)


def _noise(sliced: Sliced) -> float:
    """Noise of the scan as a share of the contrast, from neighbouring slices of the tooth's middle."""
    view, k = sliced.view, sliced.bodies[len(sliced.bodies) // 2].level
    a, b = (view.levels[i].astype(float) for i in (k, min(k + 1, view.levels.shape[0] - 1)))
    hard = (a > view.greys.threshold) & (b > view.greys.threshold)
    if not hard.any():
        return 0.0
    off = (a - b)[hard]
    return float(1.4826 * np.median(np.abs(off - np.median(off))) / np.sqrt(2) / view.greys.contrast)

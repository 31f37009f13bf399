"""Strands and courses from hand-drawn slices: joins, splits, horns, isthmuses, spurs."""

from __future__ import annotations

from itertools import pairwise

from rootfill.images.scan.layout import Layout, laid_out
from rootfill.images.scan.levels import Node
from rootfill.images.scan.strands import connected, tidied

Drawing = list[str]


def layout_of(drawing: Drawing, shortest: int = 3, opens_above: int = 10**6) -> list[Layout]:
    """Canals of a drawing whose rows are slices, the crown on top; runs of letters are sections, one pixel high."""
    levels = [_sections(row, level) for level, row in enumerate(reversed(drawing))]
    for lower, upper in pairwise(levels):
        for node, a in lower:
            for other, b in upper:
                if a[0] <= b[1] and b[0] <= a[1]:
                    node.above.append(other)
                    other.below.append(node)
    groups = connected(node for level in levels for node, _ in level)
    return [laid_out(tidied(g, shortest, opens_above), shortest) for g in groups]


def _sections(row: str, level: int) -> list[tuple[Node, tuple[int, int]]]:
    found: list[tuple[Node, tuple[int, int]]] = []
    start = None
    for i, letter in enumerate(row + " "):
        if letter != " " and start is None:
            start = i
        if letter == " " and start is not None:
            middle, count = (start + i - 1) / 2, i - start
            found.append(
                (Node(level, len(found) + 1, count, (0.0, middle), float(count), float(count)), (start, i - 1))
            )
            start = None
    return found


CHAMBER = ["  #########  "] * 3


def test_two_canals_below_a_chamber_are_two() -> None:
    (layout,) = layout_of([*CHAMBER, *["   #     #   "] * 12])
    assert [len(course.nodes) for course in layout.courses] == [12, 12]
    assert len(layout.chamber) == 3
    assert not any(course.into for course in layout.courses)


def test_of_two_that_meet_one_ends_in_the_other() -> None:
    (layout,) = layout_of([*CHAMBER, *["   #     ##  "] * 10, "   #######   ", *["     ##      "] * 8])
    joins = [course for course in layout.courses if course.into is not None]
    assert len(layout.courses) == 2
    assert len(joins) == 1
    assert joins[0].into is not joins[0]


def test_of_two_that_meet_the_straighter_goes_on_though_it_is_thinner() -> None:
    aslant = [" " * 3 + "#" + " " * (14 - i) + "##" for i in range(14)]
    (layout,) = layout_of(["   " + "#" * 20, *aslant, "   ####", *["   #"] * 9], shortest=6)
    (joins,) = [course for course in layout.courses if course.into is not None]
    assert joins.into is not None
    assert {node.centre[1] for node in joins.into.nodes if node.area == 1} == {3.0}
    assert max(node.area for node in joins.nodes) == 2


def test_one_that_parts_far_below_the_chamber_is_a_canal_with_a_branch() -> None:
    (layout,) = layout_of([*CHAMBER, *["     ##      "] * 10, "    ####     ", *["    #  #     "] * 8])
    main, branch = layout.courses
    assert len(layout.chamber) == 3
    assert len(main.nodes) == 19
    assert branch.parts_from is main


def test_a_bridge_between_two_canals_leaves_them_two() -> None:
    (layout,) = layout_of([*CHAMBER, *["   #     #   "] * 8, *["   #######   "] * 4, *["   #     #   "] * 8])
    assert len(layout.courses) == 2
    assert len(layout.bridges) == 1
    assert all(course.into is None and course.parts_from is None for course in layout.courses)
    assert (layout.bridges[0].from_level, layout.bridges[0].to_level) == (8, 11)


def test_horns_of_the_chamber_and_short_spurs_are_no_canals() -> None:
    horns = ["   #     #   "] * 2
    (layout,) = layout_of([*horns, *CHAMBER, "   #  #  #   ", *["   #     #   "] * 12])
    assert len(layout.courses) == 2


def test_canals_open_at_a_cut_crown_are_two_apart() -> None:
    layouts = layout_of([*["   #     #   "] * 12], opens_above=10)
    assert [len(layout.courses) for layout in layouts] == [1, 1]
    assert all(course.open_top for layout in layouts for course in layout.courses)


def test_an_isthmus_with_holes_in_it_leaves_two_canals() -> None:
    full = "   #######   "
    holes = [full, "   ## ####   ", full, "   #### ##   ", "   # ### #   ", full, "   ### ###   ", full]
    (layout,) = layout_of([*CHAMBER, *["   #     #   "] * 8, *holes, *["   #     #   "] * 8], shortest=4)
    assert len(layout.courses) == 2
    assert all(course.into is None and course.parts_from is None for course in layout.courses)


def test_a_branch_that_meets_its_canal_again_ends_in_it() -> None:
    apart = ["   #   ###   "] * 9
    (layout,) = layout_of(
        [*CHAMBER, *["     ##      "] * 8, "   #######   ", *apart, "   #######   ", *["     ##      "] * 8]
    )
    main, branch = layout.courses
    assert branch.parts_from is main
    assert branch.into is main
    assert main.into is None
    assert main.parts_from is None


def test_twelve_hollows_that_meet_twelve_are_sorted_out_at_once() -> None:
    row = " ".join("#" for _ in range(12))
    (layout,) = layout_of(["#" * 23, *[row] * 12, "#" * 23, *[row] * 12])
    assert 12 <= len(layout.courses) <= 24

"""Root and crown around a canal: dentine, enamel, access and outlines."""

from __future__ import annotations

from collections.abc import Iterator

from rootfill.drawing.crown import Crown, FrontCrown, curve
from rootfill.drawing.frame import Frame
from rootfill.drawing.shape import Shape
from rootfill.drawing.svg import Point, closed, line, opened, run, tag
from rootfill.drawing.tokens import Palette

APEX_BELOW_MM = 1.0
"""The root is drawn this far beyond the made end; a hint."""


def tooth(shape: Shape, tokens: Palette, *, front: bool) -> Iterator[str]:
    """One canal's slice of the tooth, and the point it is measured from."""
    crown = FrontCrown(shape) if front else Crown(shape)
    left, right = crown.side(-1), crown.side(1)
    over = [*crown.slope(-1), *reversed(crown.slope(1))]
    low, high = crown.access
    yield closed([*left, *over, *reversed(right), *_root(shape)], fill=tokens.dentine, stroke="none")
    for cap in crown.caps:
        yield closed(cap, fill=tokens.enamel, stroke=tokens.dentine_line, stroke_width=0.5)
    yield closed([*low, *reversed(high)], fill=tokens.paper, stroke="none")
    for wall in (low, high):
        yield opened(wall, tokens.dentine_line, 0.9, stroke_linejoin="round")
    yield from _outline(crown, tokens, front)
    yield from _root_outline(shape, tokens)
    yield from _reference(shape, crown, tokens)


def cut_tooth(shape: Shape, tokens: Palette, prefix: str, *, front: bool) -> Iterator[str]:
    """The tooth without the crown above the drawing's first depth, which a break line ends."""
    yield tag("g", *tooth(shape, tokens, front=front), clip_path=f"url(#{prefix}-cut)")
    crown = FrontCrown(shape) if front else Crown(shape)
    top, small = shape.frame.head, shape.frame.small
    reach = crown.half + small * 0.5
    step, high = reach / 4, small * 0.22
    zigzag = [(crown.x - reach + i * step, top + (high if i % 2 else -high)) for i in range(9)]
    yield opened(zigzag, tokens.ink_2, 0.8, stroke_linejoin="round")


def cut_clip(frame: Frame, right: float, bottom: float, prefix: str) -> str:
    """What of a tooth is shown when its crown is cut off."""
    area = tag("rect", x=0.0, y=frame.head, width=right, height=max(bottom - frame.head, 0.0))
    return tag("clipPath", area, id=f"{prefix}-cut")


def _outline(crown: Crown, tokens: Palette, front: bool) -> Iterator[str]:
    left, right = crown.side(-1), crown.side(1)
    if front:
        upper, lower = crown.access[0][-1][1], crown.access[1][-1][1]
        above = [p for p in right if p[1] <= upper]
        below = [p for p in right if p[1] >= lower]
        sides = [[*left, *reversed(above)], below]
    else:
        sides = [[*left, *crown.slope(-1)], [*right, *crown.slope(1)]]
    for side in sides:
        yield opened(side, tokens.dentine_line, 1.0, stroke_linejoin="round")


def _root(shape: Shape) -> list[Point]:
    """From the right neck down, round the end, up to the left neck."""
    left, right = shape.root(0.0, shape.longest)
    return [*reversed(right), *_apex(shape), *left]


def _root_outline(shape: Shape, tokens: Palette) -> Iterator[str]:
    dashes = None if shape.canal.section.wall_mm is not None else "4 2.5"
    left, right = shape.root(0.0, shape.longest)
    for side in (left, right):
        yield opened(side, tokens.dentine_line, 1.0, stroke_dasharray=dashes)
    yield opened([right[0], *_apex(shape)], tokens.dentine_line, 1.0, stroke_dasharray="4 2.5")


def _apex(shape: Shape) -> list[Point]:
    """The rounded end from the right side to the left; it leans on as the canal does."""
    left, right = shape.root(0.0, shape.longest)
    (lx, y), (rx, _) = left[0], right[0]
    depth = APEX_BELOW_MM * shape.frame.px_per_mm
    lean = (shape.middle(0.0) - shape.middle(shape.inside(1.5))) / 1.5
    tip = ((lx + rx) / 2 + lean * 0.7, y + depth)
    soft = (rx - lx) * 0.28
    near = y + depth * 0.6
    right_half = curve(right[0], (rx + lean * 0.5, near), (tip[0] + soft, tip[1]), tip)
    return [*right_half, *curve(tip, (tip[0] - soft, tip[1]), (lx + lean * 0.5, near), left[0])]


def _reference(shape: Shape, crown: Crown, tokens: Palette) -> Iterator[str]:
    """A line on the point the canal is measured from, and a small mark that points at it."""
    x, y = crown.at(*crown.tip)
    size = shape.frame.small * 0.3
    yield line((shape.left + size, y), (shape.labels_x - size, y), tokens.ink, 0.8)
    yield tag("path", d=f"{run([(x - size, y - size * 1.7), (x + size, y - size * 1.7), (x, y)])}Z", fill=tokens.ink)

"""What all canals share on the sheet: ruler, headings, the chosen end, the key below."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from rootfill.drawing.frame import Frame
from rootfill.drawing.measure import shortened, width, wrapped
from rootfill.drawing.shape import Shape
from rootfill.drawing.svg import line, tag, words
from rootfill.drawing.tokens import Palette
from rootfill.plan.model import CanalPlan
from rootfill.units import entered_mm


def ruler(frame: Frame, deepest_mm: float, right: float, tokens: Palette) -> Iterator[str]:
    """Depth from the reference: a tick each millimetre, a number and a hairline each five."""
    x = frame.gutter - frame.small * 1.2
    first = math.ceil(frame.from_mm)
    lone = (-first % 5) * frame.px_per_mm >= 2.4 * frame.small
    named = [d for d in range(first, int(deepest_mm) + 1) if d % 5 == 0 or (d == first and lone)]
    for depth in range(first, int(deepest_mm) + 1):
        y = frame.head + (depth - frame.from_mm) * frame.px_per_mm
        major = depth in named
        yield line((x - (9 if major else 5), y), (x, y), tokens.ink_2 if major else tokens.ink_3, 0.9)
        if major:
            yield line((x + 4, y), (right, y), tokens.line, 0.6)
            yield _ruler_word(str(depth), x, y, frame, tokens)
        if depth == named[0]:
            yield _ruler_word("mm", x, y + max(frame.px_per_mm, frame.small * 1.1), frame, tokens)


def _ruler_word(text: str, x: float, y: float, frame: Frame, tokens: Palette) -> str:
    small = frame.small
    return words(text, x - 9 - small * 0.4, y + small * 0.35, small, tokens.ink_2, text_anchor="end")


def heading(shape: Shape, tokens: Palette) -> Iterator[str]:
    """Name of the canal and its reference, above it."""
    frame, room = shape.frame, shape.frame.column - 8
    size = frame.big * 0.8
    name = shortened(shape.canal.name, size, room, bold=True)
    yield words(name, shape.left, size * 0.9, size, tokens.ink, font_weight=700)
    for i, text in enumerate(wrapped(f"from {shape.canal.reference}", frame.small, room)[:2]):
        yield words(text, shape.left, size * 0.9 + frame.small * 1.25 * (i + 1), frame.small, tokens.ink_2)


def bottom_mm(canal: CanalPlan) -> float:
    """Depth below which the number of the chosen end may stand: under the root, and under the doubt."""
    deepest = max(canal.made_end_mm, canal.working_length_mm) + 1.0
    doubt = deepest if canal.cone is None else canal.cone.cone_to_mm.high
    return max(deepest, doubt) + 0.25


def chosen_end(shape: Shape, tokens: Palette) -> Iterator[str]:
    """The working length, large, under the canal it belongs to; who set it, where no table above says so."""
    frame, canal = shape.frame, shape.canal
    text, says, size = entered_mm(canal.working_length_mm), "end, set by you", frame.big
    half = max(width(text, size, bold=True), width(says, frame.small) if frame.heads else 0.0) / 2
    x = min(max(shape.middle(0.0), shape.left + half), shape.left + frame.column - half)
    y = shape.y(bottom_mm(canal)) + size * 0.72
    yield words(text, x, y, size, tokens.ink, font_weight=700, text_anchor="middle")
    if frame.heads:
        yield words(says, x, y + frame.small * 1.15, frame.small, tokens.ink_2, text_anchor="middle")


def foot(shapes: Sequence[Shape]) -> float:
    """y below the number of the deepest end and its words."""
    frame = shapes[0].frame
    last = frame.small * (1.5 if frame.heads else 0.5)
    return max(s.y(bottom_mm(s.canal)) for s in shapes) + frame.big * 0.72 + last


def key_entries(shapes: Sequence[Shape], prefix: str, tokens: Palette) -> list[tuple[str, str]]:
    """(fill, words) of the materials that are really drawn."""
    canals = [s.canal for s in shapes]
    shown = [
        (tokens.cone, "cold cone", any(c.cone for c in canals)),
        (tokens.compound, "packed", any(c.cone and c.packed_top_mm for c in canals)),
        (f"url(#{prefix}-backfill)", "back-fill", _any_increment(shapes, above=False)),
        (f"url(#{prefix}-above)", "not reached: filled from above", _any_increment(shapes, above=True)),
        ("doubt", "cone’s tip, 90 %", any(c.cone for c in canals)),
    ]
    return [(fill, says) for fill, says, there in shown if there]


def key(
    shapes: Sequence[Shape], y: float, room: float, tokens: Palette, prefix: str, remarks: str
) -> tuple[list[str], float]:
    """Swatches and remarks on as many lines as they need; returns them and the height used."""
    small = shapes[0].frame.small
    x, row, parts = 0.0, y + small, []
    for fill, says in key_entries(shapes, prefix, tokens):
        need = small * 1.5 + width(says, small) + small * 1.2
        if x > 0 and x + need > room:
            x, row = 0.0, row + small * 1.35
        parts += _swatch(fill, says, (x, row), small, tokens)
        x += need
    if parts:
        row += small * 1.35
    for i, text in enumerate(wrapped(remarks, small, room)):
        parts.append(words(text, 0.0, row + i * small * 1.3, small, tokens.ink_2))
        last = row + i * small * 1.3
    return parts, last - y + small * 0.4


def _swatch(fill: str, says: str, at: tuple[float, float], small: float, tokens: Palette) -> list[str]:
    x, y = at
    box = {"x": x, "y": y - small * 0.75, "width": small * 1.2, "height": small * 0.8}
    colour = (
        {"fill": tokens.accent, "fill_opacity": 0.18, "stroke": tokens.accent}
        if fill == "doubt"
        else {"fill": fill, "stroke": tokens.compound_line}
    )
    return [
        tag("rect", **box, **colour, stroke_width=0.7),
        words(says, x + small * 1.6, y, small, tokens.ink_2),
    ]


def _any_increment(shapes: Sequence[Shape], *, above: bool) -> bool:
    return any(i.filled_from_above is above for s in shapes for i in s.canal.increments)

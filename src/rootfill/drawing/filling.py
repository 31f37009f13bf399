"""What stands in the lumen: cold cone, packed compound, back-fill, the doubt at the end, the stops."""

from __future__ import annotations

from collections.abc import Iterator

from rootfill.drawing.profile import oval, station
from rootfill.drawing.shape import Shape
from rootfill.drawing.svg import closed, line, opened, tag
from rootfill.drawing.tokens import Palette
from rootfill.plan.model import ConeChoice


def hatch(prefix: str, tokens: Palette) -> str:
    """The two patterns a filling needs: back-fill, and back-fill the needle does not reach."""
    stroke = {"stroke": tokens.compound_line, "stroke_width": 0.55}
    fine = tag(
        "pattern",
        tag("rect", width=4, height=4, fill=tokens.backfill),
        tag("path", d="M-1 1L1 -1M0 4L4 0M3 5L5 3", fill="none", **stroke),
        id=f"{prefix}-backfill",
        width=4,
        height=4,
        patternUnits="userSpaceOnUse",
    )
    dots = tag(
        "pattern",
        tag("rect", width=4, height=4, fill=tokens.void),
        tag("circle", cx=1, cy=1, r=0.6, fill=tokens.compound_line),
        tag("circle", cx=3, cy=3, r=0.6, fill=tokens.compound_line),
        id=f"{prefix}-above",
        width=4,
        height=4,
        patternUnits="userSpaceOnUse",
    )
    return fine + dots


def lumen(shape: Shape, tokens: Palette) -> Iterator[str]:
    """The empty canal; the wide direction dotted where the canal is oval."""
    own = shape.canal.section.own_from_mm
    yield closed(shape.band(own, shape.longest), fill=tokens.void, stroke="none")
    if own > 0:
        yield closed(
            shape.band(0.0, own),
            fill=tokens.paper,
            stroke=tokens.ink_3,
            stroke_width=0.7,
            stroke_dasharray="1.5 2",
        )
    if oval(shape.canal.section):
        for side in shape.lumen(own, shape.longest, wide=True):
            yield opened(side, tokens.ink_2, 0.7, stroke_dasharray="0.8 2.2", stroke_linecap="round")


def filling(shape: Shape, tokens: Palette, prefix: str) -> Iterator[str]:
    """The filling as planned, from the tip of the cone to the fill level."""
    canal, top = shape.canal, shape.canal.packed_top_mm
    packed = shape.longest if top is None else station(canal, top.value)
    if canal.cone is not None:
        yield from _packed(shape, canal.cone, packed, top is not None, tokens)
    if top is not None:
        yield from _backfill(shape, packed, tokens, prefix)


def _packed(shape: Shape, cone: ConeChoice, packed_s: float, warmed: bool, tokens: Palette) -> Iterator[str]:
    """The cold part of the cone, and the packed compound above it up to ``packed_s``."""
    canal = shape.canal
    tip = max(station(canal, cone.cone_to_mm.value), canal.section.own_from_mm)
    cold = 0.0 if canal.cold_apical_part_mm is None else canal.cold_apical_part_mm.value
    soft_from = min(tip + cold, packed_s) if warmed else packed_s
    if soft_from < packed_s:
        yield closed(shape.band(max(soft_from, tip), packed_s), fill=tokens.compound, stroke="none")
    if soft_from > tip:
        yield closed(
            shape.rod(tip, soft_from, cone.trim_to / 100, cone.taper, tip),
            fill=tokens.cone,
            stroke=tokens.compound_line,
            stroke_width=0.8,
            stroke_linejoin="round",
        )


def _backfill(shape: Shape, packed_s: float, tokens: Palette, prefix: str) -> Iterator[str]:
    low = packed_s
    for increment in shape.canal.increments:
        high = min(low + increment.length_mm, shape.longest)
        pattern = "above" if increment.filled_from_above else "backfill"
        outline = shape.band(low, high)
        yield closed(outline, fill=f"url(#{prefix}-{pattern})", stroke=tokens.compound_line, stroke_width=0.6)
        low = high


def walls(shape: Shape, tokens: Palette) -> Iterator[str]:
    """The wall of the canal's own stretch, in ink; the ring at its end."""
    own = shape.canal.section.own_from_mm
    for side in shape.lumen(own, shape.longest):
        yield opened(side, tokens.ink, 1.1, stroke_linejoin="round")
    left, right = shape.lumen(own, shape.longest)
    yield line(left[0], right[0], tokens.ink, 0.9, stroke_dasharray="2 1.6" if own > 0 else None)
    yield line(left[-1], right[-1], tokens.ink, 0.7)


def doubt(shape: Shape, tokens: Palette) -> Iterator[str]:
    """Band between the shallowest and the deepest place where the cone's tip may stand."""
    cone = shape.canal.cone
    if cone is None:
        return
    top, bottom = shape.y(cone.cone_to_mm.low), shape.y(cone.cone_to_mm.high)
    tip_s = station(shape.canal, cone.cone_to_mm.value)
    x = shape.middle(shape.inside(tip_s))
    reach = shape.half(shape.inside(tip_s)) + 5.0
    yield tag(
        "rect",
        x=x - reach,
        y=top,
        width=2 * reach,
        height=max(bottom - top, 0.6),
        fill=tokens.accent,
        fill_opacity=0.18,
    )
    for at in (x - reach, x + reach):
        yield line((at, top), (at, bottom), tokens.accent, 0.9)
        for y in (top, bottom):
            yield line((at - 1.6, y), (at + 1.6, y), tokens.accent, 0.9)


def bar(shape: Shape, depth_mm: float, colour: str, *, dashed: bool = False) -> str:
    """A stop: a stroke across the lumen at its depth."""
    s = shape.inside(station(shape.canal, depth_mm))
    x, reach, y = shape.middle(s), shape.half(s) + 2.2, shape.y(depth_mm)
    return line((x - reach, y), (x + reach, y), colour, 2.4, stroke_dasharray="2.6 1.4" if dashed else None)

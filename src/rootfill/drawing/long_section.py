"""The long section: every canal of the tooth side by side, each from its own reference, lengths to scale."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rootfill.drawing import filling, sheet
from rootfill.drawing.frame import Frame, Stretch, stretch
from rootfill.drawing.labels import drawn_labels
from rootfill.drawing.measure import wrapped
from rootfill.drawing.shape import Shape, placed, shape_unknown
from rootfill.drawing.stops import working_stop_mm
from rootfill.drawing.svg import document, tag, words
from rootfill.drawing.tokens import PAPER, Palette
from rootfill.drawing.tooth import cut_clip, cut_tooth, tooth
from rootfill.plan.model import CanalPlan
from rootfill.tray.names import called
from rootfill.units import entered_mm

NOT_FOR = "not for this method"


def long_section(
    canals: Sequence[CanalPlan | None],
    *,
    tokens: Palette = PAPER,
    frame: Frame | None = None,
    front: bool = False,
    prefix: str = "section",
) -> str:
    """SVG text of all canals, crown up. A None leaves its column empty.

    ``front`` draws the crown of an incisor or canine. ``prefix`` begins every id, so that several drawings
    may stand in one page. Raises ValueError when there is no canal.
    """
    drawn = [c for c in canals if c is not None]
    if not drawn:
        raise ValueError("a long section needs at least one canal")
    frame = Frame() if frame is None else frame
    by = stretch(drawn, frame)
    shapes = [placed(canal, frame, by, i) for i, canal in enumerate(canals) if canal is not None]
    right = frame.gutter + len(canals) * frame.column
    deepest = max(max(c.made_end_mm, c.working_length_mm) for c in drawn)
    body = list(sheet.ruler(frame, deepest + 1, right, tokens))
    for index, shape in enumerate(shapes):
        body.append(tag("g", *_canal(shape, tokens, front, prefix), id=f"{prefix}-canal-{index}"))
    foot = sheet.foot(shapes)
    key, height = sheet.key(shapes, foot, right, tokens, prefix, remarks(shapes, by))
    return document(
        (right, foot + height),
        "Long section of " + ", ".join(c.name for c in drawn),
        " ".join(spoken(c) for c in drawn),
        [*body, *key],
        prefix=prefix,
        defs=filling.hatch(prefix, tokens) + (cut_clip(frame, right, foot, prefix) if frame.from_mm else ""),
    )


def remarks(shapes: Sequence[Shape], by: Stretch) -> str:
    """What is to scale, what is stretched and what is only hinted."""
    other = [f"walls ×{by.walls:g}"] * (by.walls != 1) + [f"curves ×{by.bend:g}"] * (by.bend != 1)
    from_mm = shapes[0].frame.from_mm
    crown = f"Crown above {from_mm:g} mm not drawn" if from_mm else "Crown hinted"
    stretched = ", ".join([f"canal widths ×{by.lumen:g}", *other])
    says = [f"Lengths to scale, {stretched}; mm from each canal’s reference. {crown}."]
    if any(s.canal.section.wall_mm is None for s in shapes):
        says.append("Dashed: wall not measured.")
    if any(max(w / n for n, w in _widths(s)) >= 1.15 for s in shapes if not shape_unknown(s.canal)):
        says.append("Dotted: wide way.")
    return " ".join(says)


def spoken(canal: CanalPlan) -> str:
    """The canal in words, for a reader who does not see the drawing."""
    says = [f"{canal.name}, from {canal.reference}: end set at {entered_mm(canal.working_length_mm)} mm."]
    if canal.exit is not None:
        return f"{says[0]} {NOT_FOR.capitalize()}: {canal.exit.because.rstrip('.')}."
    if canal.ends_in is not None:
        says.append(f"Joins {canal.ends_in} at {canal.made_end_mm - canal.section.own_from_mm:.1f} mm.")
    if canal.splits_at_mm is not None:
        says.append(f"Divides at {canal.splits_at_mm:.1f} mm.")
    if canal.cone is not None:
        says.append(f"Cone set to {canal.cone.cone_set_mm:.1f} mm.")
    says += [
        f"{called(p.name, 'plugger')}: stop at {working_stop_mm(canal, p):.1f} mm."
        for p in canal.pluggers
        if p.role is not None
    ]
    if canal.fill_level_mm is not None:
        says.append(f"Fill to {canal.fill_level_mm:.1f} mm.")
    return " ".join(says)


def _widths(shape: Shape) -> Iterator[tuple[float, float]]:
    return zip(shape.canal.section.narrow_mm, shape.canal.section.wide_mm, strict=True)


def _canal(shape: Shape, tokens: Palette, front: bool, prefix: str) -> Iterator[str]:
    cut = shape.frame.from_mm > 0
    yield from cut_tooth(shape, tokens, prefix, front=front) if cut else tooth(shape, tokens, front=front)
    known = not shape_unknown(shape.canal)
    if known:
        yield from filling.lumen(shape, tokens)
    if shape.canal.exit is None:
        yield from filling.filling(shape, tokens, prefix)
    if known:
        yield from filling.walls(shape, tokens)
    if shape.canal.exit is None:
        yield from filling.doubt(shape, tokens)
    else:
        yield from _exit_words(shape, tokens)
    yield from drawn_labels(shape, tokens)
    yield from sheet.chosen_end(shape, tokens)
    if shape.frame.heads:
        yield from sheet.heading(shape, tokens)


def _exit_words(shape: Shape, tokens: Palette) -> Iterator[str]:
    """'not for this method' beside the empty canal."""
    frame = shape.frame
    y = shape.y_at(shape.longest * 0.75)
    for i, text in enumerate(wrapped(NOT_FOR, frame.small * 1.1, frame.label - 2, bold=True)):
        yield words(
            text,
            shape.labels_x,
            y + i * frame.small * 1.3,
            frame.small * 1.1,
            tokens.warning,
            font_weight=700,
        )

"""The words beside a canal: stops with their numbers, heat, fill level, join, kept apart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rootfill.drawing.filling import bar
from rootfill.drawing.measure import shortened, width, wrapped
from rootfill.drawing.profile import station
from rootfill.drawing.shape import Shape
from rootfill.drawing.spread import spread
from rootfill.drawing.stops import working_stop_mm
from rootfill.drawing.svg import line, opened, words
from rootfill.drawing.tokens import Palette
from rootfill.plan.model import CanalPlan
from rootfill.tray.names import called

ROLES = ("coronal", "middle", "apical")


@dataclass(frozen=True)
class Label:
    """One depth with its word; ``must`` says that the word may not be left out."""

    depth_mm: float
    word: str
    kind: str
    must: bool = True


def labels(canal: CanalPlan, instruments: bool) -> list[Label]:
    """Everything that is set or ends at a depth in this canal, from the crown down."""
    if canal.exit is not None:
        return []
    found = [
        Label(working_stop_mm(canal, p), called(p.name, "plugger"), "stop", instruments)
        for p in canal.pluggers
        if p.role in ROLES
    ]
    heated = [s.heat_set_stop_mm for s in canal.downpack if s.heat_set_stop_mm is not None]
    found += [Label(max(heated), "heat", "heat")] if heated else []
    if canal.fill_level_mm is not None:
        found.append(Label(canal.fill_level_mm, "fill", "fill"))
    if canal.ends_in is not None:
        at = canal.made_end_mm - canal.section.own_from_mm
        found.append(Label(at, f"joins {canal.ends_in}", "join"))
    if canal.splits_at_mm is not None:
        found.append(Label(canal.splits_at_mm, f"divides at {canal.splits_at_mm:.1f}", "split"))
    return sorted(found, key=lambda label: label.depth_mm)


def drawn_labels(shape: Shape, tokens: Palette) -> Iterator[str]:
    """Bars across the lumen, leaders and words, none over another."""
    frame = shape.frame
    todo = labels(shape.canal, frame.instruments)
    blocks = [_lines(label, shape) for label in todo]
    heights = [frame.number * 1.12 + frame.small * 1.1 * (len(lines) - 1) for lines in blocks]
    middles = spread([shape.y(label.depth_mm) for label in todo], heights, frame.head, sheet_end(shape))
    for label, lines, height, middle in zip(todo, blocks, heights, middles, strict=True):
        first = middle - height / 2 + frame.number * 0.56
        yield from _leader(shape, label, first, tokens)
        yield from _text(shape, label, lines, first, tokens)


def sheet_end(shape: Shape) -> float:
    """Lowest y a label may reach: where the number of the chosen end begins."""
    return shape.y(max(shape.canal.made_end_mm, shape.canal.working_length_mm) + 0.6)


def _number(label: Label) -> str:
    return f"{label.depth_mm:.1f}"


def _lines(label: Label, shape: Shape) -> list[str]:
    """The word beside the number, broken where it must be read whole."""
    frame = shape.frame
    if label.kind == "split":
        return wrapped(label.word, frame.small, frame.label - 2)
    beside = frame.label - _word_x(frame.number) - 2
    if width(label.word, frame.small) <= beside:
        return [label.word]
    if not label.must:
        return [""]
    if label.kind == "stop":
        return [shortened(label.word, frame.small, beside)]
    return ["", *wrapped(label.word, frame.small, frame.label - 2)[:2]]


def _word_x(number_size: float) -> float:
    return width("00.0", number_size, bold=True) + 3


def _colour(kind: str, tokens: Palette) -> str:
    return {"stop": tokens.accent, "heat": tokens.heat, "fill": tokens.heat, "join": tokens.ink, "split": tokens.ink}[
        kind
    ]


def _leader(shape: Shape, label: Label, y: float, tokens: Palette) -> Iterator[str]:
    s = shape.inside(station(shape.canal, label.depth_mm))
    at, colour = shape.y(label.depth_mm), _colour(label.kind, tokens)
    start = shape.middle(s) + shape.half(s) + 2.2
    end = shape.labels_x - 2.5
    bend = max(end - 7, start)
    dashes = {"heat": "2.6 1.4", "fill": "0.6 1.8", "join": "1.5 2", "split": "1.5 2"}.get(label.kind)
    cap = "round" if label.kind == "fill" else None
    yield opened([(start, at), (bend, at), (end, y)], colour, 0.75, stroke_dasharray=dashes, stroke_linecap=cap)
    if label.kind in {"stop", "heat"}:
        yield bar(shape, label.depth_mm, colour, dashed=label.kind == "heat")
    if label.kind == "split":
        half = shape.half(s) + 2.2
        ends = (shape.middle(s) - half, at), (shape.middle(s) + half, at)
        yield line(*ends, colour, 1.2, stroke_dasharray="1.5 2")


def _text(shape: Shape, label: Label, lines: list[str], y: float, tokens: Palette) -> Iterator[str]:
    frame, x = shape.frame, shape.labels_x
    base = y + frame.number * 0.35
    if label.kind == "split":
        for i, text in enumerate(lines):
            yield words(text, x, base + i * frame.small * 1.1, frame.small, tokens.ink)
        return
    yield words(
        _number(label),
        x + width("00.0", frame.number, bold=True),
        base,
        frame.number,
        _colour(label.kind, tokens),
        font_weight=700,
        text_anchor="end",
    )
    if lines[0]:
        yield words(lines[0], x + _word_x(frame.number), base, frame.small, tokens.ink_2)
    for i, more in enumerate(lines[1:], start=1):
        yield words(more, x, base + i * frame.small * 1.1, frame.small, tokens.ink_2)

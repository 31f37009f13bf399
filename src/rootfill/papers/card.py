"""The tray card: one A4 page, whatever the plan."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from rootfill.drawing.frame import card_frame
from rootfill.drawing.long_section import long_section
from rootfill.drawing.svg import height
from rootfill.drawing.tokens import size_colour
from rootfill.papers import card_text, typeset
from rootfill.papers.card_text import HEAT, Line, Row
from rootfill.papers.shorten import clipped, fewer, sentence, short, stopped
from rootfill.plan.model import KEEP_IN_JOIN, NO_OTHER_SECONDS, NOT_REACHED, Plan

WIDTH_PT = 539.0
BESIDE_PT = 284.0
"""Width of the drawing of a single canal, which stands beside the table."""
CAUTION = (
    "Supports a trained, licensed clinician; local rules and the makers’ instructions come first. "
    "Not validated as a medical device."
)
FOOT = (
    "All depths in mm from each canal’s own reference. Stops stand short of binding. Boxes: what was seen. "
    f"Intervals (90 %), reasons and sources: report. {CAUTION}"
)


@dataclass(frozen=True)
class Tightness:
    """How much of everything goes on the page; the first one that fits is used."""

    texts: int = 400
    cautions: int = 40
    questions: int = 40
    names: int = 60
    order: int = 200
    """Letters of one line of the order of work; it is shortened last."""
    drawn: bool = True


TIGHTNESSES = (
    Tightness(),
    Tightness(130, 20, 12, 40),
    Tightness(110, 18, 12, 40),
    Tightness(100, 16, 10, 30),
    Tightness(92, 15, 10, 28),
    Tightness(86, 14, 10, 28),
    Tightness(80, 13, 10, 26),
    Tightness(80, 12, 10, 26),
    Tightness(80, 11, 8, 24),
    Tightness(80, 10, 8, 22),
    Tightness(70, 8, 6, 18),
    Tightness(60, 6, 5, 16),
    Tightness(110, 9, 8, 24, drawn=False),
    Tightness(90, 8, 6, 18, drawn=False),
    Tightness(70, 6, 5, 16, drawn=False),
    Tightness(60, 5, 4, 14, 120, drawn=False),
    Tightness(46, 4, 3, 12, 90, drawn=False),
    Tightness(46, 2, 2, 10, 60, drawn=False),
)
SIZES_PX_PER_MM = (23.0, 20.0, 17.0, 14.5, 12.5, 11.0, 10.0, 9.0, 8.3, 7.6, 7.0, 6.5, 6.2, 5.8, 5.4)
"""The drawing in these sizes; the largest that fits is used."""


def card_pdf(plan: Plan, printed: datetime) -> bytes:
    """One A4 page as PDF."""
    return typeset.pdf("card", card_data(plan), printed)


def card_data(plan: Plan) -> dict[str, Any]:
    """What the card says, as plain values: the head once, the body in every tightness."""
    tooth = plan.tooth
    return {
        "head": {
            "tooth": tooth.entered,
            "words": tooth.words,
            "numbers": f"ISO 3950: {tooth.iso3950} · Universal: {tooth.universal}",
            "id": short(plan.id, 40),
            "program": plan.program,
            "tray": f"{short(plan.tray, 40)}{', dimensions assumed' if plan.tray_assumed else ''}",
            "note": plan.note,
        },
        "gutter": _gutter(plan),
        "stacked": len(plan.canals) >= 5,
        "beside": len(plan.canals) == 1,
        "bodies": [_body(plan, tightness) for tightness in TIGHTNESSES],
        "drawings": [_drawing(plan, px_per_mm) for px_per_mm in SIZES_PX_PER_MM],
        "foot": FOOT,
    }


def _gutter(plan: Plan) -> float:
    return 72.0 if len(plan.canals) < 5 else 69.0


def _body(plan: Plan, tight: Tightness) -> dict[str, Any]:
    cautions = grouped_cautions(plan)
    return {
        "order": [short(says, tight.order) for says in order_lines(plan)],
        "sealer": short(sealer_line(plan), max(tight.texts, 170)),
        "columns": [_column(plan, i, tight) for i in range(len(plan.canals))],
        "rows": [_row(row, tight) for row in card_text.rows(plan)],
        "drawn": tight.drawn,
        "refused": fewer(answered(plan, "no"), tight.questions, tight.texts),
        "open": fewer(answered(plan, "open"), tight.questions, tight.texts),
        "cautions": fewer(cautions, tight.cautions, tight.texts, "…"),
        "cut": any(len(text) > tight.texts for text in cautions),
    }


def _column(plan: Plan, index: int, tight: Tightness) -> dict[str, Any]:
    canal = plan.canals[index]
    joins = [] if canal.ends_in is None else [f"ends in {clipped(canal.ends_in, tight.names)} at {_join(plan, index)}"]
    return {
        "name": clipped(canal.name, min(tight.names, 10 if len(plan.canals) >= 5 else 18)),
        "rank": card_text.rank(plan, canal),
        "reference": clipped(canal.reference, 2 * tight.names),
        "end": f"{canal.working_length_mm:.1f}",
        "joins": joins,
        "exit": [_line(line, max(tight.texts, 150)) for line in card_text.exit_lines(canal)],
    }


def _join(plan: Plan, index: int) -> str:
    canal = plan.canals[index]
    return f"{canal.made_end_mm - canal.section.own_from_mm:.1f}"


def _row(row: Row, tight: Tightness) -> dict[str, Any]:
    """A row; cells that all say the same become one across the page."""
    same = row.label == HEAT and len(set(row.cells)) == 1 < len(row.cells)
    cells = row.cells[:1] if same else row.cells
    return {
        "label": row.label,
        "note": row.note,
        "across": same,
        "cells": [[_line(line, tight.names) for line in cell] for cell in cells],
    }


def _line(line: Line, longest: int) -> dict[str, Any]:
    says = clipped(line.words, longest) if line.look == "stop" else short(line.words, max(longest, 60))
    return {
        "number": line.number,
        "words": says,
        "look": line.look,
        "box": line.box,
        "dot": None if line.size is None else size_colour(line.size),
    }


def _drawing(plan: Plan, px_per_mm: float) -> dict[str, Any]:
    width, gutter = (BESIDE_PT, 40.0) if len(plan.canals) == 1 else (WIDTH_PT, _gutter(plan))
    frame = card_frame(len(plan.canals), width, gutter, px_per_mm)
    svg = long_section(plan.canals, frame=frame, front=plan.tooth.iso3950 % 10 <= 3, prefix="card")
    return {"svg": svg, "height": height(svg)}


def order_lines(plan: Plan) -> list[str]:
    """The order of work, a line each, with the cone that stands in a join."""
    lines = []
    for step in plan.order:
        stays = step.stays_in_join
        keep = f" Keep the {stays} cone in the join." if stays and stays not in step.says else ""
        says = sentence(step.says) if step.canal in step.says else f"{step.canal}: {stopped(step.says)}"
        lines.append(f"{says}{keep}")
    return lines


def sealer_line(plan: Plan) -> str:
    """Sealer, how much and into what; '' where none was named."""
    if plan.sealer is None:
        return ""
    sealer = plan.sealer
    first = sentence(f"{sealer.name or 'Sealer'}: {sealer.amount}")
    return f"{first} {sentence(sealer.canal_state)}"


def answered(plan: Plan, answer: str) -> list[str]:
    """Questions of the checklist with this answer."""
    return [q.question for q in plan.ready if q.answer == answer]


SAID_ABOVE = (KEEP_IN_JOIN, NOT_REACHED, NO_OTHER_SECONDS)


def grouped_cautions(plan: Plan) -> list[str]:
    """Each caution once, behind the canals it speaks of; what concerns the whole tooth first.

    What the order of work and the table already say is not said again.
    """
    by_text: dict[str, list[str]] = {text: [] for text in plan.cautions}
    for canal in plan.canals:
        for text in canal.cautions:
            by_text.setdefault(text, []).append(canal.name)
    fresh = {text: names for text, names in by_text.items() if not any(said in text for said in SAID_ABOVE)}
    return [f"{', '.join(names)}: {text}" if names else text for text, names in fresh.items()]

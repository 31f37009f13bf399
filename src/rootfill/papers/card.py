"""The tray card: one A4 page, whatever the plan."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from rootfill.clinic import card_rows
from rootfill.clinic.card_notes import VITAL, answered, grouped_cautions, order_steps, sealer_line
from rootfill.clinic.card_rows import HEAT, Line, Row
from rootfill.drawing.frame import card_frame, shallowest_mm
from rootfill.drawing.long_section import long_section
from rootfill.drawing.svg import height
from rootfill.drawing.tokens import size_colour
from rootfill.papers import typeset
from rootfill.papers.shorten import apart, clipped, fewer, note_line, short
from rootfill.plan.model import Plan
from rootfill.units import entered_mm

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
    gathered: bool = False
    """Refused and vital questions in one line each: only where nothing else keeps them on the page."""


TIGHTNESSES = (
    Tightness(),
    Tightness(200, 24, 14, 50),
    Tightness(160, 20, 14, 40),
    Tightness(160, 14, 14, 40),
    Tightness(130, 18, 12, 40),
    Tightness(130, 12, 12, 36),
    Tightness(110, 16, 12, 40),
    Tightness(110, 10, 12, 30),
    Tightness(92, 14, 10, 28),
    Tightness(92, 10, 10, 26),
    Tightness(80, 12, 10, 26),
    Tightness(80, 10, 10, 22),
    Tightness(drawn=False),
    Tightness(200, 24, 14, 40, drawn=False),
    Tightness(160, 18, 14, 40, drawn=False),
    Tightness(130, 16, 12, 30, drawn=False),
    Tightness(130, 12, 12, 30, drawn=False),
    Tightness(110, 14, 10, 24, drawn=False),
    Tightness(110, 10, 10, 24, drawn=False),
    Tightness(90, 10, 9, 20, drawn=False),
    Tightness(90, 8, 8, 18, drawn=False),
    Tightness(70, 7, 6, 16, drawn=False),
    Tightness(60, 5, 4, 14, 120, drawn=False, gathered=True),
    Tightness(46, 4, 3, 12, 90, drawn=False, gathered=True),
    Tightness(46, 2, 2, 10, 60, drawn=False, gathered=True),
)
WHOLE_PX_PER_MM = (23.0, 20.0, 17.0, 14.5, 12.5, 11.0, 10.0, 9.0, 8.3, 7.6, 7.0)
CUT_PX_PER_MM = (9.0, 8.3, 7.6, 7.0, 6.5, 6.2, 5.8, 5.4)
"""The drawing in these sizes, the largest that fits is used: whole, then with its crown cut off."""


def card_pdf(plan: Plan, printed: datetime) -> bytes:
    """One A4 page as PDF."""
    return typeset.pdf("card", card_data(plan), printed)


def card_png(plan: Plan, printed: datetime) -> bytes:
    """The same page as a picture for the screen."""
    return typeset.png("card", card_data(plan), printed)


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
            "tray": f"{short(plan.tray, 40)}{', not all dimensions measured' if plan.tray_assumed else ''}",
            "note": note_line(plan.note),
        },
        "gutter": _gutter(plan),
        "stacked": len(plan.canals) >= 5,
        "beside": len(plan.canals) == 1,
        "bodies": [_body(plan, tightness) for tightness in TIGHTNESSES],
        "drawings": _drawings(plan),
        "foot": FOOT,
    }


def _gutter(plan: Plan) -> float:
    return 72.0 if len(plan.canals) < 5 else 69.0


def _body(plan: Plan, tight: Tightness) -> dict[str, Any]:
    cautions = grouped_cautions(plan)
    return {
        "order": [[number, short(says, tight.order)] for number, says in order_steps(plan)],
        "sealer": short(sealer_line(plan), max(tight.texts, 170)),
        "columns": [_column(plan, i, tight, name) for i, name in enumerate(_names(plan, tight))],
        "rows": [_row(row, tight) for row in card_rows.rows(plan)],
        "drawn": tight.drawn,
        "refused": _refused(plan, tight),
        "open": _open(plan, tight),
        "cautions": fewer(cautions, tight.cautions, tight.texts, "…"),
        "cut": any(len(text) > tight.texts for text in cautions),
    }


def _names(plan: Plan, tight: Tightness) -> list[str]:
    return apart([c.name for c in plan.canals], min(tight.names, 10 if len(plan.canals) >= 5 else 18))


def _refused(plan: Plan, tight: Tightness) -> list[str]:
    refused = [f"No: {question}" for question in answered(plan, "no")]
    if tight.gathered and len(refused) > 1:
        return [short(f"No, {len(refused)} times: {'; '.join(answered(plan, 'no'))}", 2 * tight.texts)]
    return [short(text, max(tight.texts, 120)) for text in refused]


def _open(plan: Plan, tight: Tightness) -> list[str]:
    """Open questions; where there are too many, those about allergies and a pacemaker stay."""
    asked = answered(plan, "open")
    vital = [q for q in asked if any(word in q.lower() for word in VITAL)]
    if tight.gathered and len(vital) > 1:
        asked = [short("; ".join(vital), 2 * tight.texts), *(q for q in asked if q not in vital)]
        vital = asked[:1]
    if len(asked) > tight.questions:
        room = max(tight.questions - len(vital) - 1, 0)
        kept = [*vital, *[q for q in asked if q not in vital][:room]]
        left = len(asked) - len(kept)
        asked = [*(q for q in asked if q in kept), *([f"and {left} more: see report"] if left else [])]
    return [short(q, max(tight.texts, 120)) for q in asked]


def _column(plan: Plan, index: int, tight: Tightness, name: str) -> dict[str, Any]:
    canal = plan.canals[index]
    joins = [] if canal.ends_in is None else [f"ends in {clipped(canal.ends_in, tight.names)} at {_join(plan, index)}"]
    joins += [] if canal.splits_at_mm is None else [f"divides at {canal.splits_at_mm:.1f}"]
    return {
        "name": name,
        "rank": card_rows.rank(plan, canal),
        "reference": clipped(canal.reference, 2 * tight.names),
        "end": entered_mm(canal.working_length_mm),
        "joins": joins,
        "exit": [_line(line, max(tight.texts, 150)) for line in card_rows.exit_lines(canal)],
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


def _drawings(plan: Plan) -> list[dict[str, Any]]:
    """The drawing whole from large to small, then without the crown; beside the table never without it."""
    whole = [_drawing(plan, px, 0.0) for px in WHOLE_PX_PER_MM]
    from_mm = shallowest_mm(plan.canals)
    if len(plan.canals) == 1 or from_mm <= 0:
        return [*whole, *(_drawing(plan, px, 0.0) for px in CUT_PX_PER_MM if px < WHOLE_PX_PER_MM[-1])]
    return [*whole, *(_drawing(plan, px, from_mm) for px in CUT_PX_PER_MM)]


def _drawing(plan: Plan, px_per_mm: float, from_mm: float) -> dict[str, Any]:
    width, gutter = (BESIDE_PT, 40.0) if len(plan.canals) == 1 else (WIDTH_PT, _gutter(plan))
    frame = card_frame(len(plan.canals), width, gutter, px_per_mm, from_mm)
    svg = long_section(plan.canals, frame=frame, front=plan.tooth.iso3950 % 10 <= 3, prefix="card")
    return {"svg": svg, "height": height(svg)}

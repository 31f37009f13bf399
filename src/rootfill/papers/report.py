"""The report: every number of the plan with its interval, its reason and its source; as page and as PDF."""

from __future__ import annotations

import base64
from dataclasses import asdict
from datetime import datetime
from functools import cache
from importlib.resources import files
from typing import Any

from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from rootfill.clinic.card_notes import order_steps
from rootfill.clinic.card_rows import exit_lines
from rootfill.clinic.sentences import sentence, stopped
from rootfill.drawing.cross_sections import cross_sections
from rootfill.drawing.frame import Frame
from rootfill.drawing.long_section import long_section
from rootfill.drawing.shape import shape_unknown
from rootfill.drawing.svg import height, width
from rootfill.drawing.tokens import FONT, PAPER, css_variables
from rootfill.papers import heat_text, typeset
from rootfill.papers import report_text as says
from rootfill.papers.card import CAUTION
from rootfill.papers.figures import Sources
from rootfill.papers.shorten import note_line
from rootfill.plan.model import CanalPlan, Plan
from rootfill.units import entered_mm

PAGE_PT, CUTS_PT = 518.0, 285.0
"""Widths on paper at which a drawing keeps its own type size."""
PAPER_PX_PER_MM = (8.0, 7.4, 6.8, 6.2, 5.7, 5.2)
"""The drawing on paper; the largest that leaves room for the tooth's page is used."""
WEIGHTS = {"400Regular": 400, "600SemiBold": 600, "700Bold": 700}


def report_pdf(plan: Plan, printed: datetime) -> bytes:
    """The report as PDF, fonts embedded."""
    data = report_data(plan)
    drawings = [_drawing(plan, px_per_mm, 9.0, PAGE_PT) for px_per_mm in PAPER_PX_PER_MM]
    data["drawings"] = [{"svg": d, "height": height(d), "width": min(width(d), PAGE_PT)} for d in drawings]
    for canal, drawn in zip(plan.canals, data["canals"], strict=True):
        if drawn["cuts"]:
            drawn["cuts"] = cross_sections(canal, px_per_mm=19.0, small=9.0, column=CUTS_PT / 3)
    return typeset.pdf("report", data, printed)


def report_html(plan: Plan, printed: datetime) -> str:
    """The report as one self-contained page: nothing is fetched from anywhere."""
    data = report_data(plan)
    data["drawing"] = _drawing(plan, 17.0, 13.0, 980.0)
    for canal in data["canals"]:
        canal["cuts"] = Markup(canal["cuts"])
        if canal["heat"]:
            canal["heat"]["moments"] = Markup(canal["heat"]["moments"])
    data["drawing_px"] = round(width(data["drawing"]))
    data["drawing"] = Markup(data["drawing"])
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    template = environment.from_string((files("rootfill.papers") / "report.html").read_text(encoding="utf-8"))
    return template.render(
        **data,
        printed=typeset.clock(printed),
        fonts=Markup(_font_faces()),
        light=Markup(css_variables(PAPER)),
        font=Markup(FONT),
    )


def report_data(plan: Plan) -> dict[str, Any]:
    """Everything the report says, as plain values."""
    sources = Sources(plan)
    canals = [_canal(canal, index, sources) for index, canal in enumerate(plan.canals)]
    sealer = _sealer(plan, sources)
    return {
        "head": {
            "tooth": plan.tooth.entered,
            "words": plan.tooth.words,
            "numbers": f"ISO 3950: {plan.tooth.iso3950} · Universal: {plan.tooth.universal}",
            "id": plan.id,
            "note": None if not plan.note else stopped(plan.note),
            "note_line": note_line(plan.note),
            "program": plan.program,
            "tray": f"{plan.tray}{', not all dimensions measured' if plan.tray_assumed else ''}",
        },
        "order": [{"number": number, "says": text} for number, text in order_steps(plan)],
        "ready": [asdict(question) for question in plan.ready],
        "cautions": list(plan.cautions),
        "canals": canals,
        "sealer": sealer,
        "assumed": list(plan.assumed),
        "unused": list(plan.unused),
        "sources": [asdict(line) for line in sources.listed()],
        "foot": f"Depths count in mm from each canal’s own reference. {CAUTION}",
    }


def _canal(canal: CanalPlan, index: int, sources: Sources) -> dict[str, Any]:
    cone = canal.cone
    rows, reasons = says.instruments(canal, sources)
    return {
        "name": canal.name,
        "reference": canal.reference,
        "end": f"{entered_mm(canal.working_length_mm)} mm",
        "made_end": f"{canal.made_end_mm:.1f} mm",
        "orifice": f"{entered_mm(canal.orifice_at_mm)} mm",
        "fill": None if canal.fill_level_mm is None else f"{canal.fill_level_mm:.1f} mm",
        "joins": _joins(canal),
        "technique": None
        if canal.exit is not None
        else f"{canal.technique.replace('_', ' ')}{', assumed' if canal.technique_assumed else ''}",
        "exit": [line.words for line in exit_lines(canal)],
        "figures": [asdict(f) for f in says.canal_figures(canal, sources)],
        "cone": None if cone is None else says.cone_decision(cone),
        "cone_figures": [] if cone is None else [asdict(f) for f in says.cone_figures(cone, sources)],
        "chances": [] if cone is None else [asdict(c) for c in says.chances(cone)],
        "advice": [] if cone is None else list(cone.advice),
        "instruments": rows,
        "reasons": [asdict(reason) for reason in reasons],
        "would_do": None if canal.would_do_mm is None else f"{canal.would_do_mm:.2f} mm",
        "downpack": [says.step(step, sources) for step in canal.downpack],
        "heat_note": says.heat_note(canal),
        "heat": heat_text.heat(canal, sources, f"heat-{index}"),
        "cold_advice": list(canal.cold_advice),
        "increments": [says.increment(i, n, sources) for n, i in enumerate(canal.increments, 1)],
        "sums": says.adds_up(canal),
        "options": list(canal.options),
        "cautions": list(canal.cautions),
        "cuts": "" if shape_unknown(canal) else cross_sections(canal, prefix=f"cuts-{index}"),
    }


def _joins(canal: CanalPlan) -> str | None:
    """Where the canal ends in another, and where it divides."""
    says = [] if canal.splits_at_mm is None else [f"divides at {canal.splits_at_mm:.1f} mm"]
    if canal.ends_in is not None:
        says.insert(0, f"ends in {canal.ends_in} at {canal.made_end_mm - canal.section.own_from_mm:.1f} mm")
    return " and ".join(says) or None


def _sealer(plan: Plan, sources: Sources) -> dict[str, Any] | None:
    if plan.sealer is None:
        return None
    figure = sources.figure("the steps take", plan.sealer.steps_take_min)
    sealer = plan.sealer
    about = (sealer.amount, sealer.canal_state, sealer.heat, sealer.working_time, *sealer.sentences)
    return {
        "name": sealer.name or "not named",
        "sentences": list(dict.fromkeys(sentence(text) for text in about if text)),
        "figures": [asdict(figure)],
    }


def _drawing(plan: Plan, px_per_mm: float, small: float, page: float) -> str:
    """The long section in its own type size; with few canals it is narrower than the page, never enlarged."""
    gutter = small * 3.7 + 9
    column = min((page - gutter) / len(plan.canals), small * (32 if len(plan.canals) == 1 else 24))
    label = small * (9.2 if column > small * 16 else 5.6)
    frame = Frame(gutter, column, px_per_mm, label, small, small * 1.25, small * 2.1, instruments=column > small * 16)
    return long_section(plan.canals, frame=frame, front=plan.tooth.iso3950 % 10 <= 3, prefix="report")


@cache
def _font_faces() -> str:
    return "".join(_font_face(name, weight) for name, weight in WEIGHTS.items())


def _font_face(name: str, weight: int) -> str:
    file = files("rootfill") / "data" / "fonts" / f"AtkinsonHyperlegibleNext_{name}.ttf"
    data = base64.b64encode(file.read_bytes()).decode("ascii")
    return (
        f'@font-face {{ font-family: "{FONT}"; font-weight: {weight}; '
        f"src: url(data:font/ttf;base64,{data}) format('truetype'); }}"
    )

"""The page of a tooth's heat: every moment of the schedule, canal by canal."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fastapi import APIRouter, Request
from markupsafe import Markup
from starlette.responses import Response

from rootfill.clinic import card_rows
from rootfill.clinic.heat_words import heat_words
from rootfill.clinic.plan_kept import settled, spelled
from rootfill.drawing import PAGE, heat_course
from rootfill.drawing.heat_course import said, warmest
from rootfill.errors import InputRefused
from rootfill.plan.model import CanalHeat, CanalPlan, Plan
from rootfill.tooth.notation import tooth_number
from rootfill.units import Estimate, shown
from rootfill.web.asked import TheClinic
from rootfill.web.pages import render

pages = APIRouter(include_in_schema=False)


@dataclass(frozen=True)
class Shown:
    """One canal: its seconds, its picture with the moment shown first, its numbers, or why there are none."""

    name: str
    seconds: card_rows.Cell
    picture: Markup | None = None
    last: int = 0
    first: int = 0
    says: str = ""
    numbers: tuple[tuple[str, str], ...] = ()
    words: tuple[str, ...] = ()


@pages.get("/cases/{case}/heat")
def heat(request: Request, clinic: TheClinic, case: int) -> Response:
    """Computed with the whole plan, which is made where it is not there yet. Raises InputRefused without one."""
    now = settled(clinic, case)
    if now.refused is not None:
        raise now.refused
    if now.plan is None:
        raise InputRefused("the plan", None, f"first: {spelled(now.left_out)}")
    head = now.kept.sections["case"]
    tooth = tooth_number(head.get("tooth"), head.get("notation")).words
    canals = list(_canals(now.plan))
    return render(request, "heat.html", case=case, head=head, tooth=tooth, canals=canals, version=now.version)


def _canals(plan: Plan) -> Iterator[Shown]:
    seconds = {row.label: row.cells for row in card_rows.rows(plan)}.get(card_rows.HEAT, ())
    for index, canal in enumerate(plan.canals):
        cell = seconds[index] if seconds else ()
        if canal.heat is None:
            yield Shown(canal.name, cell or _without(canal))
        else:
            yield _shown(canal, canal.heat, cell, f"heat-{index}")


def _without(canal: CanalPlan) -> card_rows.Cell:
    if canal.exit is not None:
        return card_rows.exit_lines(canal)
    return (card_rows.Line("", "No heat in this canal."),)


def _shown(canal: CanalPlan, computed: CanalHeat, seconds: card_rows.Cell, prefix: str) -> Shown:
    course, first = computed.course, warmest(computed.course)
    picture = Markup(heat_course(canal, tokens=PAGE, prefix=prefix))
    last_step = canal.downpack[-1]
    numbers: list[tuple[str, Estimate | None]] = [
        ("root’s surface warms by", computed.surface_rise_c),
        ("compound first changes, ahead of the deepest tip", last_step.softened_ahead_mm),
        ("mouldable ahead of it", last_step.mouldable_ahead_mm),
        ("stays a cold cone", canal.cold_apical_part_mm),
        ("sealer there gets to", computed.sealer_peak_c),
        ("solid under the plugger after", computed.solid_after_s),
        ("filling at its end gets to", computed.end_peak_c),
    ]
    return Shown(
        canal.name,
        seconds,
        picture,
        len(course.times_s) - 1,
        first,
        said(course, first),
        tuple((label, shown(estimate)) for label, estimate in numbers if estimate is not None),
        tuple(heat_words(canal, computed)),
    )

"""What the tray card says, as data: one set of rows for paper, page and tests."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

from rootfill.clinic.sentences import sentence
from rootfill.drawing.stops import working_stop_mm
from rootfill.plan.model import CanalPlan, ConeChoice, DownpackStep, Increment, InstrumentFit, Plan
from rootfill.tray.names import called
from rootfill.units import LENGTH_PLACES, Estimate, decimals, entered_mm, out_of_hundred

Look = Literal["huge", "stop", "heat", "strong", "plain", "warn"]

CONE = "cone, set to"
HEAT = "heat, seconds"
NOT_REACHED = "not reached: filled from above"
NOT_FOR = "not for this method"
ROLES = ("coronal", "middle", "apical")


@dataclass(frozen=True)
class Line:
    """One line of a cell: the number, the words after it, and whether a box for what was seen stands beside."""

    number: str
    words: str = ""
    look: Look = "plain"
    box: bool = False
    size: int | None = None
    """ISO size, where the number is one."""

    @property
    def text(self) -> str:
        return " ".join(part for part in (self.number, self.words) if part)


Cell = tuple[Line, ...]


@dataclass(frozen=True)
class Row:
    """One line of the card's table: what it is, then a cell for each canal."""

    label: str
    note: str
    cells: tuple[Cell, ...]


def rows(plan: Plan) -> tuple[Row, ...]:
    """The card's table, in the order the hand needs it. Cells of a canal with an exit are empty."""
    tips, needles = _names(plan)
    heated = partial(_heated, named=len(tips) > 1)
    backfill = partial(_backfill, named=len(needles) > 1)
    makers: tuple[tuple[str, str, Callable[[CanalPlan], Cell]], ...] = (
        (CONE, "from reference", _cone_set),
        ("cone", "and its tip", _cone),
        ("pluggers", "set stop to", _pluggers),
        (_only(tips, "heated tip"), "set stop to", heated),
        (HEAT, "", _seconds),
        ("cold part", "", _cold),
        ("packed top", "", _packed_top),
        ("back-fill", _only(needles, "length, needle"), backfill),
        ("fill to", "", _fill),
    )
    made = (Row(label, note, tuple(() if c.exit else make(c) for c in plan.canals)) for label, note, make in makers)
    return tuple(row for row in made if any(row.cells))


def _names(plan: Plan) -> tuple[set[str], set[str]]:
    """Heated tips and needles that are used."""
    tips = {s.heated_tip for c in plan.canals for s in c.downpack if s.heated_tip}
    return tips, {i.needle for c in plan.canals for i in c.increments if i.needle}


def _only(names: set[str], otherwise: str) -> str:
    """The one name that is used everywhere, else the general word."""
    return next(iter(names)) if len(names) == 1 else otherwise


def card_rows(plan: Plan) -> list[tuple[str, list[str]]]:
    """The card's table as plain text, with the exits: (label, a cell for each canal)."""
    head = [
        ("canal", [c.name for c in plan.canals]),
        ("reference", [c.reference for c in plan.canals]),
        ("end, set by you", [f"{entered_mm(c.working_length_mm)} mm" for c in plan.canals]),
    ]
    table = [(row.label, ["\n".join(line.text for line in cell) for cell in row.cells]) for row in rows(plan)]
    if plan.has_exit:
        table.append((NOT_FOR, ["\n".join(line.text for line in exit_lines(c)) for c in plan.canals]))
    return [*head, *table]


def exit_lines(canal: CanalPlan) -> Cell:
    """The exit, why, and what is done instead; nothing where there is none."""
    if canal.exit is None:
        return ()
    return (
        Line("", NOT_FOR, "warn"),
        Line("", sentence(f"Because {canal.exit.because}")),
        Line("", sentence(f"Instead: {canal.exit.instead}")),
    )


def rank(plan: Plan, canal: CanalPlan) -> int | None:
    """Place of a canal in the order of work, from 1; None where it is not packed or the order does not name it."""
    left_out = {c.name for c in plan.canals if c.exit is not None}
    named = [name for name in dict.fromkeys(step.canal for step in plan.order) if name not in left_out]
    return named.index(canal.name) + 1 if canal.name in named else None


def about(estimate: Estimate) -> tuple[str, str]:
    """('15.7', '15.2–16.1'): a length to a tenth of a millimetre at most; no interval where nothing spreads."""
    if estimate.low == estimate.high:
        return f"{estimate.value:.1f}", ""
    places = min(decimals(estimate.low, estimate.high), LENGTH_PLACES)
    return f"{estimate.value:.{places}f}", f"{estimate.low:.{places}f}–{estimate.high:.{places}f}"


def _cone_set(canal: CanalPlan) -> Cell:
    if canal.cone is None:
        return (Line("—", "injected only" if canal.technique == "injected_only" else "no cone of this tray"),)
    rests = ", ".join(part for part in about(canal.cone.cone_to_mm) if part)
    return (Line(f"{canal.cone.cone_set_mm:.1f}", "", "huge", box=True), Line("", f"rests at {rests}"))


def _cone(canal: CanalPlan) -> Cell:
    cone = canal.cone
    return () if cone is None else (*_trimmed(cone), *_held(cone))


def _held(cone: ConeChoice) -> Cell:
    """Where it will be held: the chance of the right place, and the likeliest other way."""
    right = f"right {out_of_hundred(cone.chances.get('right', 0.0))} %"
    if cone.verdict != "right":
        return (Line("", HELD[cone.verdict], "warn"), Line("", right))
    others = {verdict: chance for verdict, chance in cone.chances.items() if verdict != "right"}
    worst = max(others, key=lambda v: others[v], default=None)
    if worst is None or round(100 * others[worst]) == 0:
        return (Line("", right),)
    return (Line("", f"{right}, {HELD[worst]} {out_of_hundred(others[worst])} %"),)


HELD = {"loose": "too long", "all_along": "held all along", "wrong_place": "held too high"}


def _trimmed(cone: ConeChoice) -> Cell:
    first = Line(cone.name, "", "strong", size=cone.size)
    if cone.trim_mm.high <= 0 or cone.trim_to == cone.size:
        return (first, Line(f"{cone.trim_to}", "tip, not trimmed"))
    if cone.trim_by == "gauge":
        return (first, Line(f"{cone.trim_to}", "trim to, by gauge", "strong", size=cone.trim_to))
    value, between = about(cone.trim_mm)
    return (first, Line(f"{value} mm", f"({between}) off, by {cone.trim_by}; tip {cone.trim_to}", "strong"))


def _pluggers(canal: CanalPlan) -> Cell:
    chosen = sorted((p for p in canal.pluggers if p.role in ROLES), key=lambda p: ROLES.index(p.role or ""))
    lines = [_stop(canal, plugger) for plugger in chosen]
    if canal.would_do_mm is not None:
        lines.append(Line("", f"apical: none reaches; a tip of {canal.would_do_mm:.2f} mm would"))
    return tuple(lines) or (Line("—", "none of this tray"),)


def _stop(canal: CanalPlan, plugger: InstrumentFit) -> Line:
    return Line(f"{working_stop_mm(canal, plugger):.1f}", called(plugger.name, "plugger"), "stop", box=True)


def _heated(canal: CanalPlan, named: bool) -> Cell:
    return tuple(_heat_step(s, named) for s in canal.downpack) or (Line("—", "no heat in this canal"),)


def _heat_step(step: DownpackStep, named: bool) -> Line:
    if step.heat_set_stop_mm is None:
        return Line("—", f"step {step.step}: no heated tip")
    tip = [str(step.heated_tip)] if named else []
    then = [f"then {step.plugger.removeprefix('plugger ')}"] if step.plugger is not None else []
    return Line(f"{step.heat_set_stop_mm:.1f}", ", ".join([*tip, *then]), "heat", box=True)


def _seconds(canal: CanalPlan) -> Cell:
    lines = [line for step in canal.downpack for line in _heat(step, len(canal.downpack))]
    return tuple(dict.fromkeys(lines))


def _heat(step: DownpackStep, steps: int) -> Cell:
    """The seconds are the same at every step, and then said once."""
    if step.heat_s is None:
        return (Line("—", step.heat_says),)
    setting = f"at {step.heat_setting_c:g} °C{', each step' if steps > 1 else ''}"
    return (
        Line(f"{step.heat_s:g} s", setting, "heat"),
        Line("", f"stop by {step.stop_by_s:g} s; push, wait {step.wait_s:g} s"),
    )


def _cold(canal: CanalPlan) -> Cell:
    return () if canal.cold_apical_part_mm is None else (_length(canal.cold_apical_part_mm, box=False),)


def _packed_top(canal: CanalPlan) -> Cell:
    if canal.packed_top_mm is None:
        return ()
    line = _length(canal.packed_top_mm, box=True)
    if canal.technique != "injected_only":
        return (line,)
    return (replace(line, words=" ".join(part for part in ("top of plug", line.words) if part)),)


def _length(estimate: Estimate, *, box: bool) -> Line:
    value, between = about(estimate)
    return Line(value, between, "strong", box=box)


def _backfill(canal: CanalPlan, named: bool) -> Cell:
    if not canal.increments:
        return (Line("—", "no back-fill"),) if canal.fill_level_mm is not None else ()
    return tuple(_increment(step, named) for step in canal.increments)


def _increment(step: Increment, named: bool) -> Line:
    length = f"{step.length_mm:.1f}"
    if step.needle_set_stop_mm is None:
        return Line(length, NOT_REACHED if step.filled_from_above else "no needle", "strong", box=True)
    where = f"{called(step.needle or '', 'needle') if named else 'needle'} {step.needle_set_stop_mm:.1f}"
    says = f"{where}, not reached" if step.filled_from_above else where
    return Line(length, says, "strong", box=True)


def _fill(canal: CanalPlan) -> Cell:
    if canal.fill_level_mm is None:
        return ()
    lines = [Line(f"{canal.fill_level_mm:.1f}", "", "heat", box=True)]
    if canal.post_available_mm is not None:
        value, between = about(canal.post_available_mm)
        lines.append(Line(value, f"mm left for a post ({between})"))
    return tuple(lines)

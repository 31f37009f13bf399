"""The tooth as its page shows it: one column for each canal, from the drawing down to the numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from markupsafe import Markup

from rootfill.clinic import card_rows
from rootfill.clinic.card_notes import answered, grouped_cautions, order_steps, sealer_line
from rootfill.clinic.cells import CANAL, CELLS, Cell, cell_text
from rootfill.clinic.kept import KeptCase, Row
from rootfill.clinic.plan_kept import Standing
from rootfill.drawing import PAGE, Frame, cross_sections, expected_seen, long_section, stacked_sections
from rootfill.drawing.tokens import size_colour
from rootfill.plan.model import CanalPlan, Plan
from rootfill.tooth.notation import tooth_number
from rootfill.tray.model import Cone, Stiff, Tray
from rootfill.units import shown

GUTTER = 112.0
COLUMNS = {1: 440.0, 2: 330.0, 3: 280.0, 4: 224.0}
"""Width of a canal's column by the number of canals, in px of the drawing; from five on the narrowest."""
NARROWEST = 176.0
LABELS = {1: 160.0, 2: 140.0, 3: 124.0, 4: 116.0}
FIRST_FIELDS = ("reference", "length", "shape", "orifice", "curve", "joins", "drying", "patent", "wall")
"""Fields of a canal that stand on the page; the rest is folded away."""
TOLD = ("shape", "curve", "joins", "flare", "features", "splits")
"""Fields that nobody can guess how to type: their example stands beside them."""
PLACES = ("1st", "2nd", "3rd", *(f"{place}th" for place in range(4, 9)))


@dataclass(frozen=True)
class Typed:
    """One field to be typed in: where it is kept, and what stands there."""

    part: str
    key: int
    cell: Cell
    text: str

    @property
    def at(self) -> str:
        return f"{self.part}/{self.key}/{self.cell.field}"

    @property
    def id(self) -> str:
        return f"f-{self.part}-{self.key}-{self.cell.field}"


@dataclass(frozen=True)
class Seen:
    """A finding in the ledger: words, what was seen, and how that lies in what was expected."""

    key: int
    canal: str
    says: str
    value: str
    picture: Markup | None
    expected: str | None
    outside: bool


@dataclass(frozen=True)
class Head:
    """The top of a canal's column: when its turn comes, where it is measured from, and what it still lacks."""

    name: str
    place: str
    reference: str
    lacks: str


@dataclass(frozen=True)
class ShownRow:
    """A row of numbers; ``once`` is what is said for all canals alike, and then said once."""

    label: str
    note: str
    cells: Sequence[card_rows.Cell]
    once: card_rows.Cell


def view(now: Standing) -> dict[str, Any]:
    """Everything the templates of the tooth page need."""
    kept, plan = now.kept, now.plan
    head = kept.sections["case"]
    names = [str(r.entered.get("name")) for r in kept.canals]
    planned = {c.name: c for c in plan.canals} if plan else {}
    columns = [planned.get(name) for name in names]
    return {
        "now": now,
        "kept": kept,
        "head": head,
        "tray_key": kept.sections.get("tray", {}).get("key"),
        "words": tooth_number(head.get("tooth"), head.get("notation")).words,
        "names": names,
        "heads": list(_heads(now, columns)),
        "begun": bool(now.left_out) or not any(columns),
        "told": TOLD,
        "drawing": _drawing(columns, plan),
        "cuts": [_cuts(c, i, len(names)) for i, c in enumerate(columns)],
        "fields": list(_fields(kept, FIRST_FIELDS)),
        "more": list(_fields(kept, [c.field for c in CANAL if c.field not in (*FIRST_FIELDS, "name")])),
        "named": [Typed("canal", r.key, CANAL[0], str(r.entered.get("name", ""))) for r in kept.canals],
        "rows": list(_rows(plan, names)) if plan else [],
        "heated": any(c.heat is not None for c in planned.values()),
        "exits": {c.name: card_rows.exit_lines(c) for c in planned.values() if c.exit},
        "order": order_steps(plan) if plan else [],
        "sealer": sealer_line(plan) if plan else "",
        "cautions": grouped_cautions(plan) if plan else [],
        "refusals": answered(plan, "no") if plan else [],
        "open": answered(plan, "open") if plan else [],
        "seen": list(_ledger(now)),
        "today": _part(kept, "visit", kept.visits[-1].key) if kept.visits else [],
        "visit": kept.visits[-1].entered if kept.visits else {},
        "on": _day(kept.visits[-1].entered.get("date")) if kept.visits else "",
        "before": [*_part(kept, "patient", 0), *_part(kept, "baseline", 0), *_part(kept, "materials", 0)],
        "about": _part(kept, "case", 0),
        "dot": size_colour,
        "named_u": any(one.name.lower().startswith("u") for one in _instruments(now.tray)),
    }


def _instruments(tray: Tray) -> Sequence[Cone | Stiff]:
    """What a call-out may name."""
    return (*tray.cones, *tray.pluggers, *tray.heated_tips, *tray.needles)


def _heads(now: Standing, columns: Sequence[CanalPlan | None]) -> Iterator[Head]:
    """Turns are named where there is more than one canal to pack."""
    for row, canal in zip(now.kept.canals, columns, strict=True):
        name = str(row.entered.get("name"))
        turn = card_rows.rank(now.plan, canal) if now.plan and canal and len(columns) > 1 else None
        lacks = now.left_out.get(name, "")
        yield Head(name, PLACES[turn - 1] if turn else "", str(row.entered.get("reference") or ""), lacks)


def _day(kept: object) -> str:
    """'25 Nov 2026'; what is not a day as it was kept."""
    try:
        return date.fromisoformat(str(kept or "")).strftime("%d %b %Y")
    except ValueError:
        return str(kept or "")


def _drawing(columns: Sequence[CanalPlan | None], plan: Plan | None) -> Markup | None:
    if plan is None or not any(columns):
        return None
    count = len(columns)
    frame = Frame(
        gutter=GUTTER,
        column=COLUMNS.get(count, NARROWEST),
        label=LABELS.get(count, 84.0),
        px_per_mm=19.0,
        big=22.0,
        heads=False,
        instruments=count <= 4,
    )
    front = plan.tooth.iso3950 % 10 <= 3
    return Markup(long_section(columns, tokens=PAGE, frame=frame, front=front, prefix="tooth"))


def _cuts(canal: CanalPlan | None, index: int, count: int) -> Markup | None:
    if canal is None or (canal.exit is not None and canal.exit.kind == "c_shape"):
        return None
    prefix = f"cuts-{index}"
    if count == 1:
        return Markup(cross_sections(canal, tokens=PAGE, prefix=prefix, column=COLUMNS[1] / 3))
    scale = 22.0 if count in COLUMNS else 13.0
    return Markup(stacked_sections(canal, tokens=PAGE, prefix=prefix, px_per_mm=scale, width=NARROWEST))


def _fields(kept: KeptCase, wanted: Sequence[str]) -> Iterator[tuple[Cell, list[Typed]]]:
    """Each field with its cell in every canal."""
    for cell in CANAL:
        if cell.field in wanted:
            yield cell, [Typed("canal", r.key, cell, cell_text(cell, r.entered)) for r in kept.canals]


def _part(kept: KeptCase, part: str, key: int) -> list[Typed]:
    row = kept.row(part, key) or Row(key, {})
    return [Typed(part, key, cell, cell_text(cell, row.entered)) for cell in CELLS[part]]


def _rows(plan: Plan, names: Sequence[str]) -> Iterator[ShownRow]:
    """The rows of the card under the columns of the page; a canal that is not planned has empty cells."""
    place = {c.name: i for i, c in enumerate(plan.canals)}
    for row in card_rows.rows(plan):
        cells = [row.cells[place[name]] if name in place else () for name in names]
        yield ShownRow(row.label, row.note, cells, _alike(cells))


def _alike(cells: Sequence[card_rows.Cell]) -> card_rows.Cell:
    """What all canals say in the same words without a number."""
    wordy = len(cells) > 1 and bool(cells[0]) and all(line.number == "—" for line in cells[0])
    return cells[0] if wordy and all(cell == cells[0] for cell in cells) else ()


def _ledger(now: Standing) -> Iterator[Seen]:
    """The findings, newest first."""
    planned = [r for r in now.kept.findings if r.entered.get("canal") not in now.left_out]
    expected = dict(zip([r.key for r in planned], now.plan.seen if now.plan else (), strict=False))
    for row in reversed(now.kept.findings):
        entered, seen = row.entered, expected.get(row.key)
        value = entered.get("value_mm")
        band = seen.expected if seen is not None else None
        number = seen.value_mm if seen is not None else None
        yield Seen(
            key=row.key,
            canal=str(entered.get("canal") or "tooth"),
            says=seen.says if seen is not None else str(entered.get("kind", "")).replace("_", " "),
            value="" if value is None else f"{float(str(value).replace(',', '.')):.1f}",
            picture=None if band is None else Markup(
                expected_seen(band, number, tokens=PAGE, prefix=f"seen-{row.key}", size=(120.0, 24.0), span=5.0)
            ),
            expected=None if band is None else shown(band),
            outside=band is not None and number is not None and not band.low <= number <= band.high,
        )  # fmt: skip

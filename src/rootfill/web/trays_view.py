"""Trays as their pages show them: the list, and the form of one."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rootfill.clinic import keep_tray as use
from rootfill.clinic.cells import Cell
from rootfill.clinic.kept import KeptTray
from rootfill.clinic.tray_cells import GROUPS, Group, Line, cell_label
from rootfill.drawing.tokens import size_colour
from rootfill.units import parse_size

GENERIC = "generic"
_LONG = 12
"""Lines from which cones, whose lines are narrow, stand in columns."""
_COLUMNS = 3


@dataclass(frozen=True)
class TrayLine:
    """A tray in the list of trays; ``kept`` is None for the generic one."""

    key: str
    name: str
    holds: str
    measured: str
    kept: KeptTray | None


@dataclass(frozen=True)
class ShownCell:
    """A cell of the form: what it is called in it and to somebody who does not see it."""

    cell: Cell
    id: str
    text: str
    label: str
    bad: bool
    dot: str | None


@dataclass(frozen=True)
class ShownLine:
    """One line of the form. ``was`` is the row it was read from, as JSON."""

    id: str
    called: str
    was: str
    measured: bool
    cells: Sequence[ShownCell]


@dataclass(frozen=True)
class Section:
    """A group of lines, in one column or a few."""

    group: Group
    count: int
    measured: int
    columns: Sequence[Sequence[ShownLine]]


def listed(trays: Sequence[KeptTray]) -> list[TrayLine]:
    """The generic tray, then the clinic's own."""
    generic = use.generic_fields()
    first = TrayLine(GENERIC, str(generic["name"]), use.counted(generic), use.measured(generic), None)
    own = (TrayLine(str(t.key), t.name, use.counted(t.entered), use.measured(t.entered), t) for t in trays)
    return [first, *own]


def sections(typed: use.TypedTray, bad: str) -> list[Section]:
    """The form, group by group; ``bad`` is the label of the cell that was refused."""
    return [_section(group, typed.lines[group.key], bad) for group in GROUPS]


def _section(group: Group, lines: Sequence[Line], bad: str) -> Section:
    shown = [_line(group, i, line, bad) for i, line in enumerate(lines)]
    height = -(-len(shown) // _COLUMNS) if group.key == "cones" and len(shown) > _LONG else len(shown)
    columns = [shown[i : i + height] for i in range(0, len(shown), height or 1)]
    return Section(group, len(shown), sum(line.measured for line in shown), columns)


def _line(group: Group, index: int, line: Line, bad: str) -> ShownLine:
    row, was = f"{group.key}-{index}", json.dumps(dict(line.was))
    return ShownLine(row, group.called(line.name, index), was, line.measured, list(_cells(group, index, line, bad)))


def _cells(group: Group, index: int, line: Line, bad: str) -> Iterator[ShownCell]:
    for cell in group.cells:
        label, text = cell_label(group, index, line, cell), line.texts.get(cell.field, "")
        dot = _dot(text) if cell.field == "size" else None
        yield ShownCell(cell, f"{group.key}-{index}-{cell.field}", text, label, label == bad, dot)


def _dot(text: str) -> str | None:
    try:
        return size_colour(parse_size(text))
    except ValueError:
        return None

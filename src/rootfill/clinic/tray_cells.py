"""The lines of a tray, one instrument or material each, as they are typed, and read back.

A cell shows what is kept in the words in which it may be typed; what was not touched stays as it was, to the letter.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from pydantic import TypeAdapter, ValidationError

from rootfill.clinic.cell_text import plain
from rootfill.clinic.cells import NOT_KNOWN, YES_NO, Cell
from rootfill.clinic.kept import Fields
from rootfill.clinic.refusal import refusal
from rootfill.errors import InputRefused, Said
from rootfill.tray.model import Compound, Cone, HeatedTip, Needle, Plugger, Sealer
from rootfill.tray.names import called
from rootfill.units import parse_number, parse_taper, size_name

TICK = (("", "no"), ("yes", "yes"))
"""Choices of a cell that is ticked."""


@dataclass(frozen=True)
class Group:
    """What lies together on a tray: its key in a tray file, what one of it is called, and its cells."""

    key: str
    one: str
    title: str
    kind: Any
    cells: tuple[Cell, ...]
    measurable: bool = True
    """Whether its dimensions are measured or assumed."""

    def called(self, name: str, index: int) -> str:
        """'plugger 50', 'epoxy sealer'; 'plugger in line 3' where it has no nickname."""
        if not name:
            return f"{self.one} in line {index + 1}"
        if self.measurable:
            return called(name, self.one)
        return name if self.one in name.lower() else f"{self.one} {name}"


@dataclass(frozen=True)
class Line:
    """One instrument or material as it is typed. ``was`` is the row it was read from, empty for a new one."""

    was: Fields
    texts: Mapping[str, str]
    """By the field of each cell."""
    measured: bool

    @property
    def name(self) -> str:
        return tidy(self.texts.get("name", ""))


def _cell(key: str, label: str, unit: str = "", choices: tuple[tuple[str, str], ...] = (), example: str = "") -> Cell:
    return Cell(key, label, (key,), example, unit, choices)


_NAME = _cell("name", "nickname")
_MATERIALS = (("steel", "steel"), ("niti", "nickel-titanium"))
_STIFF = (
    _NAME,
    _cell("tip_mm", "tip", "mm"),
    _cell("taper", "taper"),
    _cell("material", "material", choices=_MATERIALS),
    _cell("working_mm", "working part", "mm"),
    _cell("shaft_mm", "shaft", "mm"),
    _cell("prebend", "pre-bent", choices=TICK),
)
_HEAT = _cell("measured", "heat at the tip", "setting in °C, s, real °C", example="200 1 95; 200 2 130")
_CONE = (_NAME, _cell("size", "size"), _cell("taper", "taper"), _cell("length_mm", "length", "mm"))
_NEEDLE = (
    _NAME,
    _cell("gauge", "gauge"),
    _cell("use", "use", choices=(("", "choose"), ("irrigate", "irrigate"), ("deliver", "deliver compound"))),
    _cell("vent", "opens", choices=(NOT_KNOWN, ("open", "at its end"), ("side", "at its side"))),
    _cell("working_mm", "usable length", "mm"),
)
_TYPES = ("epoxy", "zinc_oxide_eugenol", "calcium_silicate", "silicone")
_SEALER = (
    _NAME,
    _cell("type", "type", choices=(NOT_KNOWN, *((kind, kind.replace("_", " ")) for kind in _TYPES))),
    _cell("heat_allowed", "heat allowed", choices=YES_NO),
    _cell("canal", "canal", choices=(NOT_KNOWN, ("dry", "dry"), ("moist", "moist"))),
    _cell("working_min", "working time", "min"),
)
_COMPOUND = (_NAME, _cell("injected_c", "injected at", "°C"))

GROUPS = (
    Group("cones", "cone", "Cones", Cone, _CONE),
    Group("pluggers", "plugger", "Cold pluggers", Plugger, _STIFF),
    Group("heated_tips", "heated tip", "Heated tips", HeatedTip, (*_STIFF, _HEAT)),
    Group("needles", "needle", "Needles", Needle, _NEEDLE),
    Group("sealers", "sealer", "Sealers", Sealer, _SEALER, measurable=False),
    Group("compounds", "compound", "Compounds", Compound, _COMPOUND, measurable=False),
)
"""In the order in which they stand on the page."""


def tidy(text: str) -> str:
    """A line of text without spaces at its ends or twice within."""
    return " ".join(text.split())


def group_of(key: str) -> Group:
    """Raises InputRefused for a group that the page does not have."""
    for group in GROUPS:
        if group.key == key:
            return group
    raise InputRefused("group", key, f"allowed: {', '.join(g.key for g in GROUPS)}")


def show_cell(cell: Cell, row: Fields) -> str:
    """What stands in a cell; the first choice, or '', for what is not entered."""
    value = row.get(cell.field)
    if value is None:
        return cell.choices[0][0] if cell.choices else ""
    try:
        return _TO_TEXT.get(cell.field, plain)(value)
    except (TypeError, ValueError):
        return str(value)


def show_line(group: Group, row: Fields, tray_assumed: bool) -> Line:
    """A row of a tray as it is typed."""
    texts = {cell.field: show_cell(cell, row) for cell in group.cells}
    return Line(row, texts, measured=group.measurable and not _assumed(row, tray_assumed))


def new_line(group: Group) -> Line:
    """A line to be filled in; not measured until somebody says so."""
    return Line({}, {cell.field: show_cell(cell, {}) for cell in group.cells}, measured=False)


def is_blank(group: Group, line: Line) -> bool:
    """Whether nothing was typed into a new line."""
    return not line.was and all(tidy(line.texts.get(c.field, "")) == show_cell(c, {}) for c in group.cells)


def read_line(group: Group, index: int, line: Line, tray_assumed: bool) -> dict[str, Any]:
    """The row that a line means; keys the page does not show stay. Raises InputRefused in the words of the page."""
    row = dict(line.was)
    for cell in group.cells:
        text = tidy(line.texts.get(cell.field, ""))
        if text != show_cell(cell, line.was):
            row.pop(cell.field, None)
            row |= {cell.field: _read_cell(group, index, line, cell)} if text else {}
    if group.measurable and line.measured == _assumed(line.was, tray_assumed):
        row["assumed"] = not line.measured
    if group.kind is Cone and not line.name:
        row |= _named_by_size(row)
    return _checked(group, index, line, row)


def cell_label(group: Group, index: int, line: Line, cell: Cell) -> str:
    """'plugger 50: tip': what a cell is called where it is spoken of, in a refusal too."""
    return f"{group.called(line.name, index)}: {cell.label}"


def _assumed(row: Fields, tray_assumed: bool) -> bool:
    own = row.get("assumed")
    return tray_assumed if own is None else own is True


def _read_cell(group: Group, index: int, line: Line, cell: Cell) -> Any:
    typed = line.texts[cell.field]
    text = tidy(typed).removesuffix(cell.unit).strip() if cell.unit else tidy(typed)
    try:
        return _FROM_TEXT.get(cell.field, str)(text)
    except ValueError:
        how = f"type it like this: {cell.example}"
        raise InputRefused(cell_label(group, index, line, cell), typed, how) from None


def _checked(group: Group, index: int, line: Line, row: Fields) -> dict[str, Any]:
    """The row with its numbers as numbers."""
    adapter = _adapter(group.key)
    try:
        whole = adapter.dump_python(adapter.validate_python(dict(row)), mode="json")
    except ValidationError as error:
        refused = refusal(error, adapter, row)
        key = refused.field.partition(" (")[0].partition("[")[0]
        label = next((cell_label(group, index, line, c) for c in group.cells if c.field == key), refused.field)
        value = Said(plain(refused.value)) if isinstance(refused.value, float) else refused.value
        raise InputRefused(label, value, refused.allowed) from None
    return {key: value if line.was.get(key) == value else whole[key] for key, value in row.items()}


def _named_by_size(row: Fields) -> dict[str, str]:
    """A cone nobody gave a nickname is called by its size: '30/.04'."""
    try:
        return {"name": size_name(int(_size_text(row["size"])), parse_taper(row["taper"]))}
    except (KeyError, TypeError, ValueError):
        return {}


@cache
def _adapter(key: str) -> TypeAdapter[Any]:
    return TypeAdapter(group_of(key).kind)


def _number_text(value: object) -> str:
    return f"{parse_number(value):.10g}"


def _tip_text(value: object) -> str:
    """'0.5', '1.0', '0.45': a tenth of a millimetre at least."""
    return max(f"{parse_number(value):.1f}", _number_text(value), key=len)


def _size_text(value: object) -> str:
    return str(value).strip().removeprefix("#")


def _taper_text(value: object) -> str:
    """'.06', as the trade writes it; 0 for what has none."""
    return f"{parse_taper(value):.10g}".removeprefix("0") or "0"


def _rows_text(rows: Sequence[Sequence[object]]) -> str:
    return "; ".join(" ".join(_number_text(number) for number in row) for row in rows)


def _read_rows(text: str) -> list[list[float]]:
    rows = [[parse_number(word) for word in part.split()] for part in text.split(";")]
    if any(len(row) != 3 for row in rows):
        raise ValueError(text)
    return rows


_TO_TEXT: Mapping[str, Callable[[Any], str]] = {
    **dict.fromkeys(("tip_mm", "shaft_mm"), _tip_text),
    **dict.fromkeys(("working_mm", "length_mm", "working_min", "injected_c"), _number_text),
    "size": _size_text,
    "taper": _taper_text,
    "prebend": lambda bent: "yes" if bent else "",
    "measured": _rows_text,
}
_FROM_TEXT: Mapping[str, Callable[[str], Any]] = {
    "gauge": lambda text: text.lower().removesuffix("g").strip(),
    "measured": _read_rows,
}

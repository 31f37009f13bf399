"""The clinic's trays: copied under a name of their own, typed line by line, kept whole or not at all."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from rootfill.clinic.draft import read_tray_data
from rootfill.clinic.kept import Fields, KeptTray
from rootfill.clinic.plan_case import generic_tray_text
from rootfill.clinic.ports import Clinic
from rootfill.clinic.tray_cells import (
    GROUPS,
    Group,
    Line,
    cell_label,
    group_of,
    is_blank,
    new_line,
    read_line,
    show_cell,
    show_line,
    tidy,
)
from rootfill.errors import InputRefused, Said

MOST_LINES = 200
NAME = "name of the tray"
_STIFF = ("pluggers", "heated_tips", "needles")
_WITH_SHAFT = ("pluggers", "heated_tips")


@dataclass(frozen=True)
class TypedTray:
    """A tray as it stands in its form: ``was`` is the tray that was read when the form was made."""

    was: Fields
    name: str
    lines: Mapping[str, tuple[Line, ...]]

    @property
    def assumed(self) -> bool:
        """What the tray says of the dimensions of whatever does not say it itself."""
        return self.was.get("assumed") is True


def generic_fields() -> dict[str, Any]:
    """The generic tray without its invented heat, which must not be taken for somebody's measurement."""
    entered = tomllib.loads(generic_tray_text())
    tips = [{key: value for key, value in tip.items() if key != "measured"} for tip in entered["heated_tips"]]
    return {**entered, "heated_tips": tips}


def counted(entered: Fields) -> str:
    """What lies on a tray: '36 cones, 8 pluggers, 1 sealer'."""
    numbers = ((len(entered.get(group.key, ())), group.one) for group in GROUPS)
    return ", ".join(f"{n} {one}{'' if n == 1 else 's'}" for n, one in numbers if n) or "nothing"


def measured(entered: Fields) -> str:
    """How much of it was measured: 'all assumed', '12 of 50 measured', 'all measured'; '' where nothing can be."""
    typed = show(entered)
    lines = [line for group in GROUPS if group.measurable for line in typed.lines[group.key]]
    count = sum(line.measured for line in lines)
    if not lines:
        return ""
    return {0: "all assumed", len(lines): "all measured"}.get(count, f"{count} of {len(lines)} measured")


def copy_tray(clinic: Clinic, of: int | None, name: str) -> KeptTray:
    """A tray of one's own, of another one or of the generic tray. Raises InputRefused for a name taken, NotFound."""
    source = generic_fields() if of is None else clinic.records.tray(of).entered
    entered = {**source, "name": _own_name(name)}
    check_readable(entered)
    try:
        return clinic.records.add_tray(entered, clinic.now())
    except InputRefused as refused:
        raise _about_name(refused) from None


def remove_tray(clinic: Clinic, key: int) -> None:
    """Raises InputRefused while a case uses it, NotFound."""
    clinic.records.remove_tray(key)


def show(entered: Fields) -> TypedTray:
    """A tray as it is typed."""
    assumed = entered.get("assumed") is True
    lines = {g.key: tuple(show_line(g, row, assumed) for row in entered.get(g.key, ())) for g in GROUPS}
    return TypedTray(entered, str(entered.get("name", "")), lines)


def with_line(typed: TypedTray, key: str) -> TypedTray:
    """One line more in a group, to be filled in. Raises InputRefused for more than a tray holds."""
    _check_count(typed, 1)
    return _with_lines(typed, key, (*typed.lines[group_of(key).key], new_line(group_of(key))))


def without_line(typed: TypedTray, key: str, index: int) -> TypedTray:
    """The tray without one line of a group; unchanged where there is no such line."""
    lines = typed.lines[group_of(key).key]
    return _with_lines(typed, key, tuple(line for i, line in enumerate(lines) if i != index))


def with_measured(typed: TypedTray, key: str) -> TypedTray:
    """All lines of a group measured; none, where all were."""
    lines = typed.lines[group_of(key).key]
    every = not all(line.measured for line in lines)
    return _with_lines(typed, key, tuple(replace(line, measured=every) for line in lines))


def keep_tray(clinic: Clinic, key: int, typed: TypedTray) -> KeptTray:
    """Keep a tray as it was typed. Raises InputRefused naming line and cell, ChangedMeanwhile, NotFound."""
    after = read(typed)
    if after == typed.was:
        return clinic.records.tray(key)
    try:
        return clinic.records.change_tray(key, typed.was, after, clinic.now())
    except InputRefused as refused:
        raise _about_name(refused) from None


def read(typed: TypedTray) -> dict[str, Any]:
    """The fields of a tray file that were typed; what the page does not show stays. Raises InputRefused."""
    _check_count(typed, 0)
    after = {**typed.was, "name": _own_name(typed.name)}
    for group in GROUPS:
        rows = [read_line(group, i, line, typed.assumed) for i, line in _filled(group, typed)]
        if rows or group.key in after:
            after[group.key] = rows
    _check_names(typed)
    _check_shafts(typed)
    check_readable(after)
    return after


def differences(before: Fields, now: Fields) -> list[str]:
    """What somebody else changed on a tray, in words: 'plugger 50: tip is now 0.55'."""
    says = [] if before.get("name") == now.get("name") else [f"the tray is now called {now.get('name')}"]
    for group in GROUPS:
        says += _group_differences(group, _by_name(group, before), _by_name(group, now))
    if not says and before != now:
        says.append("the order of its lines, or something that this page does not show")
    return says


def check_readable(entered: Fields) -> None:
    """Refuse a tray that a plan could not read. Raises InputRefused."""
    try:
        read_tray_data(entered)
    except InputRefused as refused:
        raise _about_name(refused) from None


def _with_lines(typed: TypedTray, key: str, lines: tuple[Line, ...]) -> TypedTray:
    return replace(typed, lines={**typed.lines, key: lines})


def _own_name(typed: str) -> str:
    name = tidy(typed)
    if not name:
        raise InputRefused(NAME, None, "give it a name of its own")
    if name.casefold() == tomllib.loads(generic_tray_text())["name"]:
        raise InputRefused(NAME, name, "that is the tray nobody measured: give yours a name of its own")
    return name


def _about_name(refused: InputRefused) -> InputRefused:
    return InputRefused(NAME, refused.value, refused.allowed) if refused.field in ("name", "tray.name") else refused


def _check_count(typed: TypedTray, more: int) -> None:
    count = sum(map(len, typed.lines.values())) + more
    if count > MOST_LINES:
        raise InputRefused("the tray", Said(f"{count} lines long"), f"at most {MOST_LINES}: make a second tray")


def _filled(group: Group, typed: TypedTray) -> Iterator[tuple[int, Line]]:
    """The lines of a group into which anything was typed, by their place on the page."""
    yield from ((i, line) for i, line in enumerate(typed.lines[group.key]) if not is_blank(group, line))


def _check_names(typed: TypedTray) -> None:
    """As the plan asks: what may bind is called out by its nickname alone."""
    seen: dict[str, str] = {}
    for group in map(group_of, _STIFF):
        for i, line in _filled(group, typed):
            name = line.name.lower()
            if name in seen:
                how = f"a {seen[name]} has it already: give every plugger, tip and needle a nickname of its own"
                raise InputRefused(cell_label(group, i, line, group.cells[0]), line.name, how)
            seen[name] = group.one


def _check_shafts(typed: TypedTray) -> None:
    for group in map(group_of, _WITH_SHAFT):
        working = next(cell for cell in group.cells if cell.field == "working_mm")
        for i, line in _filled(group, typed):
            if tidy(line.texts.get("shaft_mm", "")) and not tidy(line.texts.get("working_mm", "")):
                where = cell_label(group, i, line, working)
                raise InputRefused(where, None, "a shaft needs the length of the part below it")


def _by_name(group: Group, entered: Fields) -> dict[str, Line]:
    lines = [show_line(group, row, entered.get("assumed") is True) for row in entered.get(group.key, ())]
    return {line.name: line for line in lines}


def _group_differences(group: Group, before: Mapping[str, Line], now: Mapping[str, Line]) -> Iterator[str]:
    for i, name in enumerate(dict.fromkeys((*before, *now))):
        if name not in now or name not in before:
            yield f"{group.called(name, i)} is {'new' if name in now else 'taken out'}"
            continue
        old, new = before[name], now[name]
        for cell in group.cells:
            text = show_cell(cell, new.was)
            if text != show_cell(cell, old.was):
                shown = dict(cell.choices).get(text, text) or "empty"
                yield f"{group.called(name, i)}: {cell.label} is now {shown}"
        if old.measured != new.measured:
            yield f"{group.called(name, i)} is now {'measured' if new.measured else 'assumed'}"

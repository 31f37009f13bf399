"""The case as it will stand after a line: what each statement changes, and whether its parts agree."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from rootfill.clinic.callout import telling
from rootfill.clinic.callout.cones import SIZE_OR_DEPTH
from rootfill.clinic.callout.model import Answered, Doubt, End, Entered, Heard, Measured, Moved
from rootfill.clinic.callout.ranges import allowed
from rootfill.clinic.kept import Edit, Fields, KeptCase, Row
from rootfill.plan.case import CanalEntry
from rootfill.units import parse_number

PAST_MM = 5.0
"""No instrument is meant to lie further past the length than this: the number is a slip."""
SHORTEST_MM = 3.0
"""From the orifice to the end, as a plan asks for it."""

_LEVELS = ("working_length_mm", "orifice_at_mm", "joins")


class Keeping:
    """Rows of the case with the changes of the line so far. Nothing of the case itself is touched."""

    def __init__(self, kept: KeptCase) -> None:
        named = [r for r in kept.canals if isinstance(r.entered.get("name"), str) and r.entered["name"].strip()]
        self.names = tuple(str(r.entered["name"]) for r in named)
        self._canals = {str(r.entered["name"]): r for r in reversed(named)}
        self._visit = kept.visits[-1].entered if kept.visits else None
        self._visit_key = kept.visits[-1].key if kept.visits else None
        self._first_visit = kept.visits[0].entered.get("id") if kept.visits else None
        self._said: dict[tuple[str, str], str] = {}
        self._measured_from: set[str] = set()

    def measured(self, name: str, said: Measured) -> Heard:
        """A finding of a canal, in the newest visit. Raises Doubt."""
        length = _number(self._fields(name), "working_length_mm")
        depth = {} if said.end is None else {"value_mm": _depth(name, said.end, length)}
        if said.end is not None and said.end.at_mm is None:
            self._measured_from.add(name)
        fields = {"kind": said.kind, "canal": name, **self._of_visit(), **said.fields, **depth}
        return Heard(name, telling.finding(name, said, fields, length), (Edit("finding", None, None, fields),))

    def entered(self, name: str, said: Entered) -> Heard:
        """A field of a canal. Raises Doubt for one that the line sets twice, or that does not fit what stands."""
        before = self._fields(name)
        self._check(name, said, before)
        of_visit = self._of_visit() if said.field == "working_length_mm" else {}
        after = {**before, said.field: said.value, **of_visit}
        told = telling.entry(name, said.field, said.value)
        self._once(name, said.field, told)
        old, new = (_words(said.field, fields) for fields in (before, after))
        if old.casefold() == new.casefold():
            return self._same(name, said, told, before, after)
        if said.field == "working_length_mm" and name in self._measured_from:
            raise Doubt(f"The line speaks of the length of {name} before it changes it: type the length first.")
        was = "" if not old or isinstance(said.value, bool) else f", was {old}"
        return Heard(name, told + was, (self._changed(name, before, after),))

    def answered(self, said: Answered) -> Heard:
        """An answer of the newest visit; the first visit is made where there is none."""
        told = telling.answer(said)
        self._once("", said.field, told)
        before = self._visit
        after = {**({"id": 1} if before is None else before), said.field: said.yes}
        if before == after:
            return Heard(None, f"{told}, already so", ())
        self._visit = after
        return Heard(None, told, (Edit("visit", self._visit_key, before, after),))

    def moved(self, name: str | None, said: Moved) -> Heard:
        """A reference that moved, of one canal or of the tooth."""
        by = {} if said.by_mm is None else {"by_mm": said.by_mm}
        fields = {"kind": "reference_moved", **({} if name is None else {"canal": name}), **self._of_visit(), **by}
        return Heard(name, telling.moved(name, said), (Edit("finding", None, None, fields),))

    def agree(self) -> None:
        """Lengths and levels of every canal that the line touched must fit together. Raises Doubt."""
        for name in dict.fromkeys(name for name, field in self._said if field in _LEVELS):
            fields = self._fields(name)
            length, orifice = _number(fields, "working_length_mm"), _number(fields, "orifice_at_mm")
            if length is not None and orifice is not None and length - orifice < SHORTEST_MM:
                at = f"{telling.mm(orifice)} mm for the orifice and {telling.mm(length)} mm for the end"
                raise Doubt(f"{name}: {at} do not leave {SHORTEST_MM:g} mm of canal: check both.")
            join = fields.get("joins")
            at_mm = _number(join, "at_mm") if isinstance(join, dict) else None
            if None not in (length, orifice, at_mm) and (length or 0) - (orifice or 0) <= (at_mm or 0):
                said = f"{telling.mm(at_mm or 0)} mm from the end lies above its orifice"
                raise Doubt(f"{name}: {said}; a depth from the reference is typed '{name} join 16'.")

    def _fields(self, name: str) -> Fields:
        return self._canals[name].entered

    def _of_visit(self) -> dict[str, Any]:
        known = None if self._visit is None else self._visit.get("id")
        return {} if known is None else {"visit": known}

    def _changed(self, name: str, before: Fields, after: Fields) -> Edit:
        key = self._canals[name].key
        self._canals[name] = Row(key, after)
        return Edit("canal", key, before, after)

    def _same(self, name: str, said: Entered, told: str, before: Fields, after: Fields) -> Heard:
        """The value stands already; a length that was set in an earlier visit is a length of this one now."""
        taken_again = after.get("visit") != (before.get("visit") or self._first_visit)
        if said.field != "working_length_mm" or not taken_again:
            return Heard(name, f"{told}, already so", ())
        return Heard(name, f"{told}, as in the visit before", (self._changed(name, before, after),))

    def _once(self, name: str, field: str, told: str) -> None:
        before = self._said.setdefault((name, field), told)
        if before != told:
            raise Doubt(f"The line says both '{before}' and '{told}': leave one.")

    def _check(self, name: str, said: Entered, fields: Fields) -> None:
        shaped = next((key for key in ("files", "profile") if fields.get(key)), None)
        if said.field == "made" and shaped is not None:
            how = {"files": "as several files", "profile": "as widths"}[shaped]
            raise Doubt(f"The shape of {name} is entered already, {how}: change it in the canal's own fields.")
        if said.field == "joins" and name in self._ends_in(said.value["canal"]):
            raise Doubt(f"{name} and {said.value['canal']} cannot end in each other: say which one joins the other.")

    def _ends_in(self, name: str) -> Iterator[str]:
        """This canal, the one it joins, and so on."""
        seen: list[str] = []
        while name in self._canals and name not in seen:
            yield name
            seen.append(name)
            join = self._fields(name).get("joins")
            name = str(join.get("canal")) if isinstance(join, dict) else ""


def _depth(name: str, end: End, length: float | None) -> float:
    """Depth of an end from the reference, mm. Raises Doubt where it needs a length, or cannot be."""
    if length is None and end.at_mm is None:
        raise Doubt(f"{name} has no length yet: type '{name} length 20' first, or a depth, such as 'at 18.5'.")
    value = round((length or 0.0) - (end.short_mm or 0.0), 3) if end.at_mm is None else end.at_mm
    if end.like_size and (length is None or value > length + 1.0):
        raise Doubt(SIZE_OR_DEPTH.format(f"{value:g}"))
    if length is not None and value > length + PAST_MM:
        past = f"{telling.mm(value - length)} mm past the length of {name}, {telling.mm(length)} mm"
        raise Doubt(f"{telling.mm(value)} mm lies {past}: check the number.")
    range_ = allowed(CanalEntry, "working_length_mm")
    if end.at_mm is None and not (range_.ge or 0.0) <= value <= (range_.le or 0.0):
        sum_ = f"{telling.mm(end.short_mm or 0.0)} mm short of {telling.mm(length or 0.0)} is {telling.mm(value)} mm"
        raise Doubt(f"{sum_}, out of range, {range_.ge:g} to {range_.le:g} mm; a depth is typed 'at 18.5'.")
    return value


def _words(field: str, fields: Fields) -> str:
    """What a field holds in words; '' for nothing."""
    return "" if fields.get(field) is None else telling.value_words(field, fields[field])


def _number(fields: Fields, field: str) -> float | None:
    """A number as it was entered; None where there is none, or nothing that can be read."""
    try:
        return parse_number(fields.get(field))
    except ValueError:
        return None

"""A store with many invented cases: every second one planned, the others just begun."""

from __future__ import annotations

import datetime as dt
import itertools
import json
import tomllib
import zlib
from collections import defaultdict
from functools import cache
from typing import Any

import sqlalchemy as sa

from rootfill import clinic
from rootfill.clinic.casefile import generic_tray, tray_adapter
from rootfill.clinic.draft import case_data
from rootfill.clinic.kept import KeptCase, Row
from rootfill.errors import InputRefused
from rootfill.store import Store
from rootfill.store.edits import plain
from rootfill.store.engine import WRITES
from rootfill.store.model import Base, CanalRow, CaseRow, DocumentRow, FindingRow, MarkRow, PlanRow, VisitRow
from rootfill.store.plans import digest_of

START = dt.datetime(2026, 1, 5, 8, 0, tzinfo=dt.UTC)
BEGUN = ((11, ["canal"]), (24, ["B", "P"]), (46, ["MB", "ML", "D"]), (17, ["MB", "MB2", "DB", "P"]))
PARTS = {"visits": VisitRow, "canals": CanalRow, "findings": FindingRow}
TABLES = (CaseRow, *PARTS.values(), MarkRow, PlanRow, DocumentRow)
CARD = b"%PDF-1.7\n% invented\n" + b"0" * 2000 + b"\n%%EOF\n"
AT_ONCE = 1000


def fill(store: Store, count: int) -> range:
    """Add ``count`` cases, INV-00001 on, a minute apart, to a store that has none of them. Their keys."""
    with store.engine.connect() as connection:
        newest = [connection.scalar(sa.select(sa.func.max(t.__table__.c.key))) or 0 for t in (CaseRow, *PARTS.values())]
    batch = Batch(demo(), newest[0] + 1, max(newest) + 1)
    for start in range(0, count, AT_ONCE):
        for number in range(start, min(start + AT_ONCE, count)):
            batch.add(number)
        with store.engine.execution_options(**WRITES).begin() as connection:
            batch.write(connection)
    return range(newest[0] + 1, newest[0] + 1 + count)


class NoTrays:
    """A shelf without tray files."""

    def tray_text(self, name: str) -> str:
        raise InputRefused("tray.file", name, "no tray files here")


class Demo:
    """The demonstration case under other names, with its tray and its plan."""

    def __init__(self) -> None:
        self.entered = plain(tomllib.loads(clinic.demo_case()))
        self.tray = plain(tray_adapter().dump_python(generic_tray(), mode="json"))
        self.plan = clinic.plan_json(clinic.plan_case(clinic.demo_case(), NoTrays()))
        self.made_by = clinic.program()

    def sections(self, name: str) -> dict[str, Any]:
        head = {key: value for key, value in self.entered["case"].items() if key != "baseline"}
        baseline = self.entered["case"]["baseline"]
        return {"case": {**head, "id": name}, "baseline": baseline, "patient": self.entered["patient"]}

    def inputs(self, name: str) -> dict[str, Any]:
        visits, canals, findings = (tuple(Row(0, fields) for fields in self.entered[part]) for part in PARTS)
        kept = KeptCase(0, 1, self.sections(name), visits, canals, findings, START, START)
        return {"case": case_data(kept), "tray": self.tray}

    def plan_of(self, name: str) -> str:
        return self.plan.replace('"DEMO-1"', json.dumps(name))


@cache
def demo() -> Demo:
    return Demo()


class Batch:
    """Rows of many cases, written at once."""

    def __init__(self, demo: Demo, first_case: int, first_part: int) -> None:
        self.demo = demo
        self.first_case = first_case
        self.keys = itertools.count(first_part)
        self.rows: dict[type[Base], list[dict[str, Any]]] = defaultdict(list)

    def write(self, connection: sa.Connection) -> None:
        for table in TABLES:
            if self.rows[table]:
                connection.execute(sa.insert(as_packed(table)), self.rows[table])
        self.rows.clear()

    def add(self, number: int) -> None:
        key, name, at = self.first_case + number, f"INV-{number + 1:05}", START + dt.timedelta(minutes=number)
        if number % 2 == 0:
            self._case(key, at, self.demo.sections(name), {part: self.demo.entered[part] for part in PARTS})
            self._plan(key, at, name)
        else:
            tooth, canals = BEGUN[number // 2 % len(BEGUN)]
            head = {"id": name, "tooth": tooth, "notation": "iso3950"}
            self._case(key, at, {"case": head}, {"visits": [{"id": 1}], "canals": [{"name": c} for c in canals]})

    def _case(self, key: int, at: dt.datetime, sections: dict[str, Any], parts: dict[str, Any]) -> None:
        head = sections["case"]
        repeated = {"id": head["id"], "id_folded": head["id"].casefold(), "tooth": str(head["tooth"])}
        when = {"made_at": at, "changed_at": at}
        self.rows[CaseRow].append(
            {"key": key, **repeated, "notation": head["notation"], "revision": 1, **when, "sections": sections}
        )
        edits = [added(part, 0, fields) for part, fields in sections.items()]
        for part, rows in parts.items():
            for fields in rows:
                row = {"key": next(self.keys), "case": key, "entered": fields}
                self.rows[PARTS[part]].append({**row, "name": fields["name"]} if part == "canals" else row)
                edits.append(added(part.removesuffix("s"), row["key"], fields))
        mark = {"number": 1, "at": at, "by": "Invented", "says": "case begun", "undone": False, "undoes": None}
        self.rows[MarkRow].append({"case": key, **mark, "edits": edits})

    def _plan(self, key: int, at: dt.datetime, name: str) -> None:
        inputs = self.demo.inputs(name)
        packed = {"inputs": quickly_packed(json.dumps(inputs)), "plan": quickly_packed(self.demo.plan_of(name))}
        made = {"number": 1, "made_at": at, "program": self.demo.made_by, "digest": digest_of(inputs)}
        self.rows[PlanRow].append({"case": key, **made, **packed})
        self.rows[DocumentRow].append({"case": key, "plan": 1, "name": "card.pdf", "made_at": at, "content": CARD})


def added(part: str, key: int, fields: dict[str, Any]) -> dict[str, Any]:
    return {"part": part, "key": key, "before": None, "after": fields}


def quickly_packed(text: str) -> bytes:
    return zlib.compress(text.encode(), 1)


def as_packed(table: type[Base]) -> sa.TableClause:
    """A table whose packed columns take what is packed already."""
    packed = ("inputs", "plan") if table is PlanRow else ()
    columns = (sa.column(c.name, sa.LargeBinary() if c.name in packed else c.type) for c in table.__table__.columns)
    return sa.table(table.__tablename__, *columns)

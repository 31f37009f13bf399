"""The use cases of the spine: a case text in, a plan and its documents out."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from importlib.metadata import version
from typing import Any

import numpy as np

from rootfill import tables
from rootfill.clinic.casefile import GENERIC_TRAY, case_adapter, read_case, tray_adapter
from rootfill.clinic.ports import Papers, TrayShelf
from rootfill.clinic.result import plan_json
from rootfill.errors import RootfillError
from rootfill.plan import FULL, QUICK, CanalPlan, Case, Plan, make_plan
from rootfill.tray.model import Tray

SEED = 20261124
"""The same case gives the same plan, to the last digit."""


@cache
def program() -> str:
    """Name and version."""
    return f"rootfill {version('rootfill')}"


def plan_case(text: str, shelf: TrayShelf) -> Plan:
    """Plan a case file. Raises InputRefused."""
    case, tray = read_case(text, shelf)
    return full_plan(case, tray, {})


def full_plan(case: Case, tray: Tray, keep: Mapping[str, CanalPlan]) -> Plan:
    """The full plan; canals in ``keep`` stand as they are. Raises InputRefused."""
    return make_plan(case, tray, np.random.default_rng(SEED), program(), FULL, keep)


def first_look(case: Case, tray: Tray, keep: Mapping[str, CanalPlan]) -> Plan:
    """A plan at once, with fewer draws and no instrument pushed; no document is made of it. Raises InputRefused."""
    return make_plan(case, tray, np.random.default_rng(SEED), program(), QUICK, keep)


HANDED_OUT = ("plan.json", "card.pdf", "report.html", "report.pdf")
"""Files of a plan that the command line writes."""


def make_documents(
    plan: Plan, papers: Papers, printed: dt.datetime, names: Sequence[str] = HANDED_OUT
) -> dict[str, bytes]:
    """What a plan is handed out as: file name and content. All or nothing.

    Raises RootfillError for a first look: nothing is printed of it.
    """
    if plan.effort != FULL.word:
        raise RootfillError("This plan is a first look: compute the full plan before a document is made of it.")
    makers: dict[str, Callable[[], bytes]] = {
        "plan.json": lambda: plan_json(plan).encode(),
        "card.pdf": lambda: papers.card_pdf(plan, printed),
        "card.png": lambda: papers.card_png(plan, printed),
        "report.html": lambda: papers.report_html(plan, printed).encode(),
        "report.pdf": lambda: papers.report_pdf(plan, printed),
    }
    return {name: makers[name]() for name in names}


def demo_case() -> str:
    """The case file of the demonstration, invented."""
    return tables.text("demo_case.toml")


def generic_tray_text() -> str:
    """The generic tray as a file to copy."""
    return tables.text(f"{GENERIC_TRAY}.toml")


def tray_json(tray: Tray) -> str:
    """A tray as JSON, defaults filled in."""
    return tray_adapter().dump_json(tray, indent=2).decode() + "\n"


def case_schema() -> dict[str, Any]:
    """JSON Schema of a case file; that of a tray file stands in its definitions as ``Tray``."""
    case, tray = case_adapter().json_schema(), tray_adapter().json_schema()
    definitions = {**tray.pop("$defs"), **case.pop("$defs"), "Tray": tray}
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": "rootfill case file"}
    return {**case, **head, "$defs": definitions}

"""The use cases of the spine: a case text in, a plan and its documents out."""

from __future__ import annotations

from importlib.metadata import version
from typing import Any

import numpy as np

from rootfill import tables
from rootfill.clinic.casefile import GENERIC_TRAY, case_adapter, read_case, tray_adapter
from rootfill.clinic.ports import TrayShelf
from rootfill.plan import Plan, make_plan
from rootfill.tray.model import Tray

SEED = 20261124
"""The same case gives the same plan, to the last digit."""


def plan_case(text: str, shelf: TrayShelf) -> Plan:
    """Plan a case file. Raises InputRefused."""
    case, tray = read_case(text, shelf)
    return make_plan(case, tray, np.random.default_rng(SEED), f"rootfill {version('rootfill')}")


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
    """JSON Schema of case files and tray files."""
    return {"case": case_adapter().json_schema(), "tray": tray_adapter().json_schema()}

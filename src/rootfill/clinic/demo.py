"""A throwaway clinic of invented cases, to try the page with."""

from __future__ import annotations

import tomllib
from typing import Any

from rootfill.clinic.add_case import add_case, keep_case_file
from rootfill.clinic.change_case import choose_tray, say
from rootfill.clinic.plan_case import demo_case, generic_tray_text
from rootfill.clinic.plan_kept import settled
from rootfill.clinic.ports import Clinic

BY = "Demo"
_NOTE = "Invented for demonstration."


def fill_demo(clinic: Clinic) -> None:
    """Three invented cases: a molar before packing, a premolar with findings, an incisor that is only begun."""
    _incisor(clinic)
    _premolar(clinic)
    settled(clinic, keep_case_file(clinic, BY, demo_case()).key)


def _incisor(clinic: Clinic) -> None:
    head = {"id": "DEMO-3", "tooth": "21", "notation": "iso3950", "note": _NOTE}
    add_case(clinic, BY, head, [{"name": "one", "reference": "incisal edge", "orifice": "9.0"}])


def _premolar(clinic: Clinic) -> None:
    head = {"id": "DEMO-2", "tooth": "14", "notation": "iso3950", "note": _NOTE}
    canals = [
        {"name": "B", "reference": "buccal cusp tip", "length": "21", "shape": "30/.06", "orifice": "10"},
        {"name": "P", "reference": "palatal cusp tip", "length": "20.5", "shape": "30/.06", "orifice": "10"},
    ]
    kept = add_case(clinic, BY, head, canals)
    choose_tray(clinic, BY, kept.key, clinic.records.add_tray(_measured_tray(), clinic.now()).key)
    for line in (
        "all straight",
        "all dry; all patent",
        "all wall 1.4",
        "b locator 21.5",
        "p cone short 1.0",
        "b 60 binds 15",
    ):
        say(clinic, BY, kept.key, line)


def _measured_tray() -> dict[str, Any]:
    """The generic tray with a heated tip that somebody measured, in invented figures."""
    tray = tomllib.loads(generic_tray_text())
    tip = {**tray["heated_tips"][0], "measured": [[200, 1, 90], [200, 2, 115], [200, 4, 140]], "assumed": False}
    return {**tray, "name": "Demo tray, its tip measured (invented)", "heated_tips": [tip]}

"""Invented cases as the text a clinician would type."""

from __future__ import annotations

from collections.abc import Sequence

from rootfill import clinic
from rootfill.errors import InputRefused
from rootfill.plan import Plan


class NoTrays:
    """A shelf without tray files."""

    def tray_text(self, name: str) -> str:
        raise InputRefused("tray.file", name, "no tray files here")


def canal(name: str, working_length: float, length: str, size: str, taper: str, more: str = "") -> str:
    return (
        f'[[canals]]\nname = "{name}"\nreference = "{name} cusp tip"\nworking_length_mm = {working_length}\n{length}\n'
        f'made = {{ size = {size}, taper = "{taper}" }}\n{more}\n'
    )


def case_text(tooth: int, canals: Sequence[str], more: str = "") -> str:
    head = f'[case]\nid = "invented"\ntooth = {tooth}\nnotation = "iso3950"\n'
    return head + "\n".join(canals) + "\n" + more


def plan_text(text: str) -> Plan:
    return clinic.plan_case(text, NoTrays())

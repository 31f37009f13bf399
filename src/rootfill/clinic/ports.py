"""What the use cases need from outside."""

from __future__ import annotations

import datetime as dt
from typing import Protocol

from rootfill.plan.model import Plan


class TrayShelf(Protocol):
    """Where named tray files lie."""

    def tray_text(self, name: str) -> str:
        """Text of a tray file. Raises InputRefused when there is none of that name."""
        ...


class Papers(Protocol):
    """Documents out."""

    def card_pdf(self, plan: Plan, printed: dt.datetime) -> bytes:
        """The tray card, one A4 page."""
        ...

    def report_html(self, plan: Plan, printed: dt.datetime) -> str:
        """The report as one self-contained page."""
        ...

    def report_pdf(self, plan: Plan, printed: dt.datetime) -> bytes:
        """The report on paper."""
        ...

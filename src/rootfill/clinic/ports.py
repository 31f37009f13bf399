"""What the use cases need from outside."""

from __future__ import annotations

from typing import Protocol


class TrayShelf(Protocol):
    """Where named tray files lie."""

    def tray_text(self, name: str) -> str:
        """Text of a tray file. Raises InputRefused when there is none of that name."""
        ...

"""What an instrument is called where nothing beside it says what it is."""

from __future__ import annotations

_WORDS = {"cone": ("cone",), "plugger": ("plugger",), "heated tip": ("tip", "heat", "plugger"), "needle": ("needle",)}


def called(name: str, kind: str) -> str:
    """'plugger 60' for a plugger whose nickname is only '60'; a name that says it already stays.

    >>> called("60", "plugger"), called("fine tip", "heated tip"), called("30/.04", "cone")
    ('plugger 60', 'fine tip', 'cone 30/.04')
    """
    said = name.lower()
    return name if any(word in said for word in _WORDS[kind]) else f"{kind} {name}"

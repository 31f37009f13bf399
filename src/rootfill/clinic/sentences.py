"""Text made into sentences."""

from __future__ import annotations


def sentence(text: str) -> str:
    """``text`` with a capital at its beginning and one full stop at its end; '' stays ''."""
    text = stopped(text)
    return f"{text[:1].upper()}{text[1:]}"


def stopped(text: str) -> str:
    """``text`` with one full stop at its end; '' stays ''."""
    text = text.strip().rstrip(".")
    return f"{text}." if text else ""

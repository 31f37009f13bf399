"""Text that is too long for the card says so: nothing is dropped without a word."""

from __future__ import annotations

from collections.abc import Sequence

SEE = "… see report"


def sentence(text: str) -> str:
    """``text`` with a capital at its beginning and one full stop at its end; '' stays ''."""
    text = stopped(text)
    return f"{text[:1].upper()}{text[1:]}"


def stopped(text: str) -> str:
    """``text`` with one full stop at its end; '' stays ''."""
    text = text.strip().rstrip(".")
    return f"{text}." if text else ""


def short(text: str, longest: int, mark: str = SEE) -> str:
    """``text``, or as many whole words as fit with ``mark`` behind them."""
    if len(text) <= longest:
        return text
    room = max(longest - len(mark), 1)
    cut = text[:room]
    if " " in cut and not text[room : room + 1].isspace():
        cut = cut.rsplit(" ", 1)[0]
    return f"{cut.rstrip(' ,.;:')}{mark}"


def clipped(name: str, longest: int) -> str:
    """A name cut to ``longest`` letters, the last one '…' where it was cut."""
    return name if len(name) <= longest else f"{name[: longest - 1].rstrip()}…"


def fewer(texts: Sequence[str], count: int, longest: int, mark: str = SEE) -> list[str]:
    """At most ``count`` lines, each cut to ``longest``; the last says how many more stand in the report."""
    if len(texts) <= count:
        return [short(text, longest, mark) for text in texts]
    kept = [short(text, longest, mark) for text in texts[: count - 1]]
    return [*kept, f"and {len(texts) - len(kept)} more: see report"]

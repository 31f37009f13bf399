"""Text that is too long for the card says so: nothing is dropped without a word."""

from __future__ import annotations

from collections.abc import Sequence

from rootfill.clinic.sentences import stopped

SEE = "… see report"


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
    """A name cut in its middle to ``longest`` letters; both ends stay, since names of canals differ there.

    >>> clipped("Mesiobuccal 1", 10)
    'Mesio…al 1'
    """
    if len(name) <= longest:
        return name
    tail = (longest - 1) // 2
    return f"{name[: longest - 1 - tail].rstrip()}…{name[len(name) - tail :].lstrip()}"


def apart(names: Sequence[str], longest: int) -> list[str]:
    """The names, each clipped; those that would look alike get their place behind them."""
    made = [clipped(name, longest) for name in names]
    return [
        clip if made.count(clip) == 1 else f"{clipped(name, max(longest - 4, 3))} ({place})"
        for place, (name, clip) in enumerate(zip(names, made, strict=True), start=1)
    ]


def note_line(note: str | None, longest: int = 90) -> str | None:
    """A note as one line with a full stop at its end, or '…' where it was cut; None where there is none."""
    if note is None or not note.strip():
        return None
    return short(stopped(" ".join(note.split())), longest, "…")


def fewer(texts: Sequence[str], count: int, longest: int, mark: str = SEE) -> list[str]:
    """At most ``count`` lines, each cut to ``longest``; the last says how many more stand in the report."""
    if len(texts) <= count:
        return [short(text, longest, mark) for text in texts]
    kept = [short(text, longest, mark) for text in texts[: count - 1]]
    return [*kept, f"and {len(texts) - len(kept)} more: see report"]

"""What a line says: its statements, what each means, and why one is not understood."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from rootfill.clinic.kept import Edit, Fields


@dataclass(frozen=True)
class Heard:
    """One statement understood, of one canal or of the whole tooth, in words and as edits of the case."""

    canal: str | None
    says: str
    edits: tuple[Edit, ...]


@dataclass(frozen=True)
class Understood:
    """A whole line. ``doubt`` says what is not understood and what to type; then nothing of the line counts."""

    heard: tuple[Heard, ...]
    doubt: str | None

    @property
    def says(self) -> str:
        """The statements in one line, for the ledger."""
        return "; ".join(one.says for one in self.heard)

    @property
    def edits(self) -> tuple[Edit, ...]:
        """One edit for each row that changes, from what stands in the case to the end of the line; () in doubt."""
        if self.doubt is not None:
            return ()
        merged: dict[object, Edit] = {}
        for number, edit in enumerate(e for one in self.heard for e in one.edits):
            row: object = number if edit.part == "finding" else (edit.part, edit.key)
            first = merged.get(row, edit)
            merged[row] = Edit(edit.part, edit.key, first.before, edit.after)
        return tuple(merged.values())


@dataclass(frozen=True)
class End:
    """A depth near the end of a canal as it was said: from the reference, short of the length, or to the length."""

    at_mm: float | None = None
    short_mm: float | None = None
    like_size: bool = False
    """Whether the depth was said by a bare number that is also the size of a cone on the tray."""


@dataclass(frozen=True)
class Measured:
    """A finding of one canal. Where ``end`` is given, the depth follows from it."""

    kind: str
    fields: Fields
    end: End | None = None
    called: str = ""
    """The instrument as it is called, where its nickname alone would not tell."""


@dataclass(frozen=True)
class Entered:
    """A field of one canal."""

    field: str
    value: Any


@dataclass(frozen=True)
class Answered:
    """An answer of this visit, about the whole tooth."""

    field: str
    yes: bool


@dataclass(frozen=True)
class Moved:
    """A reference that moved, of the tooth or of one canal; positive when lengths now read shorter."""

    by_mm: float | None


Meaning = Measured | Entered | Answered | Moved


class Doubt(Exception):
    """What is not understood or missing, and what to type: one sentence."""


class NotKnown(Doubt):
    """A word that is neither one of the grammar nor a name of this case."""

    def __init__(self, word: str) -> None:
        super().__init__(word)
        self.word = word

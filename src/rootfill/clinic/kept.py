"""What is kept of a case: rows as they were entered, perhaps incomplete, and the marks that made them so.

A row holds the fields of the case file under their names there. Every change is an edit of one row, before and
after; what is entered in one go is one mark, kept whole or not at all, and undone whole.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

Fields = Mapping[str, Any]

SECTIONS = ("case", "baseline", "patient", "preferences", "materials", "tray")
"""Parts of which a case has one row each, key 0. ``tray`` holds {"key": number of a kept tray} or nothing."""
LISTS = ("visit", "canal", "finding", "picture")
"""Parts of which a case has any number of rows, in the order of their keys."""


@dataclass(frozen=True)
class Row:
    """One visit, canal, finding or picture: its number, never used again, and its fields."""

    key: int
    entered: Fields


@dataclass(frozen=True)
class KeptCase:
    """A case as it stands. ``revision`` is the number of its last mark."""

    key: int
    revision: int
    sections: Mapping[str, Fields]
    visits: tuple[Row, ...]
    canals: tuple[Row, ...]
    findings: tuple[Row, ...]
    made_at: dt.datetime
    changed_at: dt.datetime
    pictures: tuple[Row, ...] = ()

    def rows(self, part: str) -> tuple[Row, ...]:
        """The rows of one part, sections included."""
        if part in SECTIONS:
            return (Row(0, self.sections.get(part, {})),)
        lists = {"visit": self.visits, "canal": self.canals, "finding": self.findings, "picture": self.pictures}
        return lists[part]

    def row(self, part: str, key: int) -> Row | None:
        """One row, None where it is gone."""
        return next((r for r in self.rows(part) if r.key == key), None)

    def canal(self, name: str) -> Row | None:
        """The canal of this name."""
        return next((r for r in self.canals if r.entered.get("name") == name), None)


@dataclass(frozen=True)
class Edit:
    """One row before and after. Without ``before`` it is added, without ``after`` removed.

    ``key`` is None for a row that has no number yet. Only the fields that differ count: each must still hold what
    it held before, or nothing is kept (ChangedMeanwhile).
    """

    part: str
    key: int | None
    before: Fields | None
    after: Fields | None

    @property
    def reverse(self) -> Edit:
        """The edit that takes this one back."""
        return Edit(self.part, self.key, self.after, self.before)

    def changed(self) -> Iterator[str]:
        """Names of the fields that differ."""
        old, new = self.before or {}, self.after or {}
        yield from (name for name in dict.fromkeys((*old, *new)) if old.get(name) != new.get(name))


@dataclass(frozen=True)
class Mark:
    """What was entered in one go: when, by whom, in words, and its edits with the numbers of their rows."""

    number: int
    at: dt.datetime
    by: str
    says: str
    edits: tuple[Edit, ...]
    undone: bool = False
    undoes: int | None = None
    """Number of the mark that this one took back."""


@dataclass(frozen=True)
class CaseLine:
    """A case in the list of cases."""

    key: int
    id: str
    tooth: str
    notation: str
    canals: tuple[str, ...]
    changed_at: dt.datetime
    plan: int | None
    """Number of its newest plan."""
    card: int | None
    """Number of the plan of which the newest tray card was made."""
    card_at: dt.datetime | None = None
    """When it was made."""


@dataclass(frozen=True)
class CaseList:
    """One page of the list, and how many there are in all."""

    lines: tuple[CaseLine, ...]
    total: int


@dataclass(frozen=True)
class KeptPlan:
    """One version of a plan with everything it was made from."""

    case: int
    number: int
    made_at: dt.datetime
    program: str
    inputs: Fields
    """The whole case and its tray, as entered: {"case": ..., "tray": ...}."""
    plan: str
    """Text of plan.json."""


@dataclass(frozen=True)
class DocumentLine:
    """A document that was made: of which plan, which file, when. Its content is asked for by itself."""

    key: int
    case: int
    plan: int
    name: str
    made_at: dt.datetime


@dataclass(frozen=True)
class KeptTray:
    """A tray of the clinic. ``entered`` are the fields of a tray file."""

    key: int
    entered: Fields
    changed_at: dt.datetime
    cases: int = field(default=0, compare=False)
    """How many cases use it."""

    @property
    def name(self) -> str:
        return str(self.entered.get("name", "tray"))


@dataclass(frozen=True)
class User:
    """Somebody who may sign in. ``role`` is owner as long as there is nothing else."""

    key: int
    name: str
    role: str
    password_hash: str


@dataclass(frozen=True)
class Session:
    """One sign-in, known by the hash of its token. Locked, it stays but shows nothing until the password comes."""

    token_hash: str
    user: int
    csrf: str
    made_at: dt.datetime
    seen_at: dt.datetime
    locked: bool

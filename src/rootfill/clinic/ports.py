"""What the use cases need from outside."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from rootfill.clinic.kept import (
    CaseList,
    DocumentLine,
    Edit,
    Fields,
    KeptCase,
    KeptPlan,
    KeptTray,
    Mark,
    Session,
    User,
)
from rootfill.clinic.kept_picture import PictureRead
from rootfill.images.model import Grey, Scale
from rootfill.plan.case import Case
from rootfill.plan.model import CanalPlan, Plan
from rootfill.tray.model import Tray


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

    def card_png(self, plan: Plan, printed: dt.datetime) -> bytes:
        """The same page as a picture for the screen."""
        ...

    def report_html(self, plan: Plan, printed: dt.datetime) -> str:
        """The report as one self-contained page."""
        ...

    def report_pdf(self, plan: Plan, printed: dt.datetime) -> bytes:
        """The report on paper."""
        ...


@dataclass(frozen=True)
class Unread:
    """What came and is to be read: a file, or a folder of files of one series; where its grey values go.

    ``spacing_mm`` along x, y (and z) where somebody typed it.
    """

    source: Path
    target: Path
    kind: str
    spacing_mm: tuple[float, ...] | None = None


@dataclass(frozen=True)
class Unsearched:
    """A file of kept grey values in which canals are to be found; seeds are voxels (x, y, z), ``edge`` a kept grey."""

    file: Path
    shape: tuple[int, ...]
    scale: Scale
    seeds: tuple[tuple[float, float, float], ...] = ()
    edge: float | None = None


class Work(Protocol):
    """Long computations, outside of whoever asks; each call waits for its answer."""

    def plan(self, case: Case, tray: Tray, keep: Mapping[str, CanalPlan]) -> Plan:
        """The full plan; canals in ``keep`` stand as they are. Raises InputRefused."""
        ...

    def documents(self, plan: Plan, names: Sequence[str], printed: dt.datetime) -> dict[str, bytes]:
        """The documents of these file names (card.pdf, card.png, report.html, report.pdf)."""
        ...

    def read_picture(self, unread: Unread, gone: Callable[[], bool]) -> PictureRead:
        """Read what came and write its grey values to ``unread.target``, one picture after the other.

        Given up as soon as whoever asked is ``gone``. Raises InputRefused, and NotKept when it was given up.
        """
        ...

    def find_canals(self, asked: Unsearched, gone: Callable[[], bool]) -> Fields:
        """Canals as ``found_canals`` holds them; given up as soon as whoever asked is ``gone``.

        Raises InputRefused, and NotKept when it was given up.
        """
        ...


class Records(Protocol):
    """Cases, plans, documents and trays that are kept.

    Whatever changes something is one transaction, on disk when it returns. Every method may raise NotFound for
    a key that is not kept, NotKept when nothing could be written, ChangedMeanwhile as named.
    """

    def cases(self, search: str, limit: int, offset: int) -> CaseList:
        """Cases whose id or tooth number begins with ``search``, the last changed first."""
        ...

    def case(self, key: int) -> KeptCase: ...

    def add_case(
        self, sections: Mapping[str, Fields], visits: Sequence[Fields], canals: Sequence[Fields],
        says: str, by: str, at: dt.datetime,
    ) -> KeptCase:  # fmt: skip
        """A new case; its first mark is number 1. Raises InputRefused for an id that another case has."""
        ...

    def remove_case(self, key: int) -> None:
        """The case with everything that belongs to it."""
        ...

    def mark(self, case: int, edits: Sequence[Edit], says: str, by: str, at: dt.datetime) -> Mark:
        """Keep edits of a case, all or none. Raises ChangedMeanwhile, and InputRefused for a case id taken."""
        ...

    def undo(self, case: int, by: str, at: dt.datetime) -> Mark | None:
        """Take back the newest mark that is neither undone, nor an undoing, nor the first; None where there is none.

        The answer is the new mark; its ``undoes`` names the old one. Raises ChangedMeanwhile.
        """
        ...

    def marks(self, case: int, limit: int) -> tuple[Mark, ...]:
        """The newest marks, newest first."""
        ...

    def picture_files(self) -> frozenset[str]:
        """Names of the files that the pictures of all cases name."""
        ...

    def newest_plan(self, case: int) -> KeptPlan | None: ...

    def plan(self, case: int, number: int) -> KeptPlan: ...

    def keep_plan(self, case: int, inputs: Fields, plan: str, program: str, at: dt.datetime) -> KeptPlan:
        """The next version; the newest one where it was made from the same inputs by the same program."""
        ...

    def keep_documents(
        self, case: int, plan: int, contents: Mapping[str, bytes], at: dt.datetime
    ) -> tuple[DocumentLine, ...]: ...

    def documents(self, case: int) -> tuple[DocumentLine, ...]:
        """The newest first."""
        ...

    def document(self, case: int, key: int) -> tuple[DocumentLine, bytes]: ...

    def trays(self) -> tuple[KeptTray, ...]:
        """By name."""
        ...

    def tray(self, key: int) -> KeptTray: ...

    def add_tray(self, entered: Fields, at: dt.datetime) -> KeptTray:
        """Raises InputRefused for a name that another tray has."""
        ...

    def change_tray(self, key: int, before: Fields, after: Fields, at: dt.datetime) -> KeptTray:
        """Raises ChangedMeanwhile when the tray is no longer as ``before``, InputRefused for a name taken."""
        ...

    def remove_tray(self, key: int) -> None:
        """Raises InputRefused while a case uses it."""
        ...

    def setting(self, name: str) -> Any:
        """A setting of the clinic, None where it was never set."""
        ...

    def set(self, name: str, value: Any) -> None: ...


class Incoming(Protocol):
    """What comes and is not kept yet, in a place of its own that is gone as soon as nobody holds it."""

    @property
    def target(self) -> Path:
        """Where grey values are written to, before they are kept."""
        ...

    def begin(self, name: str) -> None:
        """A file under this name, or a harmless one that is like it. Raises InputRefused for too many, NotKept."""
        ...

    def write(self, block: bytes) -> None:
        """More of the file begun last. Raises NotKept."""
        ...

    def source(self) -> Path:
        """The one file, or the folder of them. Raises InputRefused where nothing came."""
        ...

    def names(self) -> tuple[str, ...]:
        """The files, as they were called where they come from."""
        ...

    def size(self) -> int:
        """All that came, in bytes."""
        ...


class PictureFiles(Protocol):
    """Grey values of pictures in files of the clinic's own; their rows are with the case. NotKept as in Records."""

    def incoming(self) -> AbstractContextManager[Incoming]:
        """A place for what comes; whatever is not kept of it at the end is gone."""
        ...

    def keep(self, incoming: Incoming) -> str:
        """Put the grey values in ``incoming.target`` on disk whole; their name. Swept unless settled."""
        ...

    def settle(self, file: str) -> None:
        """Say that a row names this file now."""
        ...

    def leave(self, file: str) -> None:
        """Say that no row names it any more: it goes when its time is over."""
        ...

    def remove(self, file: str) -> None:
        """Remove it now; nothing where there is none."""
        ...

    def size(self, file: str) -> int:
        """Size of a file in bytes. Raises NotFound where it is gone."""
        ...

    def path(self, file: str) -> Path:
        """Where it lies, to be read only. Raises NotFound where it is gone."""
        ...

    def slice(self, file: str, shape: tuple[int, ...], axis: int, index: int) -> Grey:
        """The slice of that index along an axis of the array. Raises NotFound where it is not to be had."""
        ...

    def soon(self, file: str) -> None:
        """Say that slices of it will be asked for."""
        ...

    def sweep(self, named: Collection[str], now: dt.datetime) -> None:
        """Remove what a kill left behind, and what rows left long enough ago; ``named`` are the files of all rows."""
        ...


class Accounts(Protocol):
    """Who may sign in, and who is signed in. Same promises as Records."""

    def users(self) -> tuple[User, ...]: ...

    def add_user(self, name: str, role: str, password_hash: str, at: dt.datetime) -> User:
        """Raises InputRefused for a name that is taken."""
        ...

    def set_password(self, user: int, password_hash: str) -> None: ...

    def add_session(self, session: Session) -> None: ...

    def session(self, token_hash: str) -> tuple[Session, User] | None: ...

    def touch(self, token_hash: str, seen_at: dt.datetime, locked: bool) -> None: ...

    def end_sessions(self, user: int, except_hash: str | None = None) -> None:
        """Sign a user out everywhere, but for one session."""
        ...

    def end_session(self, token_hash: str) -> None: ...


@dataclass(frozen=True)
class Clinic:
    """Everything the use cases of a kept clinic need, joined once in app.py."""

    records: Records
    accounts: Accounts
    work: Work
    pictures: PictureFiles
    now: Callable[[], dt.datetime]

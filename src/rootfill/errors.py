"""The error tree.

RootfillError              our own fault unless a subclass says otherwise; exit code 1
├── InputRefused           something entered cannot be right; exit code 2
├── NotFound               something asked for that is not kept here; exit code 2
├── ChangedMeanwhile       somebody else changed it first: nothing of this was kept; exit code 2
├── NotSignedIn            who asks is not known, or has been idle too long; exit code 2
├── NotKept                what was entered could not be written to disk; exit code 1
├── TableError             package data asked for that does not exist
└── SolverError            a numerical solver did not finish: never a number

Edges turn these into one exit code, one JSON shape, one notice. A user never sees a traceback.
"""

from __future__ import annotations


class RootfillError(Exception):
    """Base of everything this package raises on purpose."""

    exit_code = 1


class Said(str):
    """A value described in our words, not quoted from what was typed."""

    __slots__ = ()


class InputRefused(RootfillError):
    """An entered value that cannot be right: names the field, the value and what is allowed."""

    exit_code = 2

    def __init__(self, field: str, value: object, allowed: str) -> None:
        self.field = field
        self.value = value
        self.allowed = allowed
        super().__init__(self.sentence)

    def __reduce__(self) -> tuple[type[InputRefused], tuple[str, object, str]]:
        """It comes whole out of another process."""
        return type(self), (self.field, self.value, self.allowed)

    @property
    def sentence(self) -> str:
        """One sentence for the person who typed it."""
        if self.value is None:
            return _ended(f"{self.field} is missing; {self.allowed}")
        return _ended(f"{self.field} is {_shown(self.value)}; {self.allowed}")


class NotFound(RootfillError):
    """Something asked for that is not kept here: a case, a plan, a tray, a document."""

    exit_code = 2


class ChangedMeanwhile(RootfillError):
    """A field that no longer holds what its writer saw; nothing of the whole change was kept.

    ``seen`` is what the writer saw, ``theirs`` what stands there now; None where there is no such value.
    """

    exit_code = 2

    def __init__(self, field: str, seen: object, theirs: object) -> None:
        self.field = field
        self.seen = seen
        self.theirs = theirs
        super().__init__(self.sentence)

    def __reduce__(self) -> tuple[type[ChangedMeanwhile], tuple[str, object, object]]:
        """It comes whole out of another process."""
        return type(self), (self.field, self.seen, self.theirs)

    @property
    def sentence(self) -> str:
        """One sentence for the person whose change was not kept."""
        now = "is gone" if self.theirs is None else f"is now {_shown(self.theirs)}"
        return f"{self.field} was changed meanwhile and {now}; your change was not kept: look, and enter it again."


class NotSignedIn(RootfillError):
    """Nobody is signed in, the session was locked, or name and password do not belong together."""

    exit_code = 2


class NotKept(RootfillError):
    """What was entered could not be written; the message says why and what to do."""


class TableError(RootfillError):
    """A table, row or source asked for that the package does not hold."""


class SolverError(RootfillError):
    """A solver stopped in any state but solved."""


def _ended(sentence: str) -> str:
    return sentence if sentence.endswith("?") else f"{sentence}."


def _shown(value: object, longest: int = 60) -> str:
    text = repr(value) if isinstance(value, str) and not isinstance(value, Said) else str(value)
    text = " ".join(text.split())
    return text if len(text) <= longest else text[: longest - 1] + "…"

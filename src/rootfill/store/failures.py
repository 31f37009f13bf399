"""Failures of the database and of the disk below it, as sentences."""

from __future__ import annotations

import errno
from collections.abc import Iterator, Mapping
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, IntegrityError, ProgrammingError
from sqlalchemy.exc import TimeoutError as NoConnection

from rootfill.errors import InputRefused, NotFound, NotKept, Said

Parts = tuple[str, str]
"""Of a sentence: what happened, what to do."""
OPENING: Parts = ("The records could not be opened", "start again")
READING: Parts = ("The records could not be read", "try again")
WRITING: Parts = ("Nothing was saved", "enter it again")

_DAMAGED = ("the file is damaged", "stop the program, put back the last copy of the file")
_BUSY = ("another writer held the records too long", "wait a moment")
_UNKNOWN = ("the database failed", "look whether the disk is full or failing")
_CAUSES: Mapping[str, Parts] = {
    "SQLITE_FULL": ("the disk is full", "free some space"),
    "SQLITE_IOERR": ("the disk refused it", "look whether the disk is full or failing"),
    "SQLITE_READONLY": ("the file may only be read", "make the file and its folder writable"),
    "SQLITE_CANTOPEN": ("the file cannot be opened", "look whether its folder is there and may be written"),
    "SQLITE_CORRUPT": _DAMAGED,
    "SQLITE_NOTADB": _DAMAGED,
    "SQLITE_BUSY": _BUSY,
    "SQLITE_LOCKED": _BUSY,
}


@contextmanager
def told(doing: Parts) -> Iterator[None]:
    """Turn what the database raises into the errors of this package; its wrong use stays our own fault."""
    try:
        yield
    except (IntegrityError, ProgrammingError):
        raise
    except NoConnection as error:
        raise busy(doing) from error
    except DBAPIError as error:
        raise _failed(doing, _CAUSES.get(_code(error), _UNKNOWN)) from error
    except OSError as error:
        raise _failed(doing, _of_disk(error)) from error
    except OverflowError:
        raise NotFound("Nothing is kept under so large a number: go back to the list of cases.") from None
    except UnicodeEncodeError as error:
        shown = Said(ascii(error.object[error.start : error.end]))
        raise InputRefused("a sign in the text", shown, "it cannot be kept: type the text again without it") from None


def busy(doing: Parts) -> NotKept:
    """For who waited too long."""
    return _failed(doing, _BUSY)


def _failed(doing: Parts, cause: Parts) -> NotKept:
    return NotKept(f"{doing[0]}, because {cause[0]}: {cause[1]}, then {doing[1]}.")


def _of_disk(error: OSError) -> Parts:
    if error.errno == errno.ENOSPC:
        return _CAUSES["SQLITE_FULL"]
    because, do = _CAUSES["SQLITE_CANTOPEN"]
    return f"{because} ({error.strerror or error})", do


def _code(error: DBAPIError) -> str:
    """SQLITE_IOERR of SQLITE_IOERR_WRITE; '' from another database."""
    return "_".join(str(getattr(error.orig, "sqlite_errorname", "")).split("_")[:2])

"""Case files and tray files: TOML text in, a case and its tray out, or one sentence why not."""

from __future__ import annotations

import re
import tomllib
from functools import cache
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from rootfill import tables
from rootfill.clinic.ports import TrayShelf
from rootfill.clinic.refusal import refusal
from rootfill.errors import InputRefused, Said
from rootfill.plan.case import Case, TrayEntry
from rootfill.tray.model import Tray

T = TypeVar("T")

GENERIC_TRAY = "generic_tray"
TYPED = """TOML as `rootfill new 36` writes it: 22.5 or "22,5", 0.06 or ".06" or "6 %" """.strip()
LARGEST_FILE = 1_000_000
"""Characters; a case file is a few thousand."""


@cache
def case_adapter() -> TypeAdapter[Case]:
    """Validator and JSON Schema of a case file."""
    return TypeAdapter(Case)


@cache
def tray_adapter() -> TypeAdapter[Tray]:
    """Validator and JSON Schema of a tray file."""
    return TypeAdapter(Tray)


def text_of(content: bytes, what: str) -> str:
    """UTF-8 text of a file. Raises InputRefused for anything else, or for a file far too large."""
    if len(content) > LARGEST_FILE:
        raise InputRefused(what, Said(f"{len(content)} bytes"), f"a text file of at most {LARGEST_FILE} bytes")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputRefused(what, Said(f"not UTF-8 at byte {error.start}"), "save it as UTF-8 text") from None


def read_case(text: str, shelf: TrayShelf) -> tuple[Case, Tray]:
    """A case and the tray it names; no tray means the generic one. Raises InputRefused."""
    case = parse(case_adapter(), text, "the case file")
    return case, _tray_of(case.tray, shelf)


def read_tray(text: str) -> Tray:
    """A tray file. Raises InputRefused."""
    return parse(tray_adapter(), text, "the tray file")


@cache
def generic_tray() -> Tray:
    """The tray that works in the first minute; every dimension assumed."""
    return read_tray(tables.text(f"{GENERIC_TRAY}.toml"))


def parse(adapter: TypeAdapter[T], text: str, what: str) -> T:
    """TOML text as a validated object."""
    try:
        data: dict[str, Any] = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputRefused(what, Said(f"not readable {_where(str(error), text)}"), TYPED) from None
    try:
        return adapter.validate_python(data)
    except ValidationError as error:
        raise refusal(error, adapter, data) from None


def _where(message: str, text: str) -> str:
    """'at line 8: working_length_mm = 22,5', as far as the reader of TOML says where."""
    found = re.search(r"at line (\d+)", message)
    if found is None:
        return f"({message[:60]})"
    line = text.splitlines()[int(found[1]) - 1].strip()
    return f"at line {found[1]}: {line[:50]}"


def _tray_of(entry: TrayEntry | None, shelf: TrayShelf) -> Tray:
    if entry is None:
        return generic_tray()
    if entry.file is None:
        return entry
    if entry.cones or entry.pluggers or entry.needles or entry.heated_tips or entry.sealers or entry.compounds:
        raise InputRefused("tray.file", entry.file, "name a tray file or list the instruments here, not both")
    return generic_tray() if entry.file == "generic" else read_tray(shelf.tray_text(entry.file))

"""The one door to package data: tables, sources and rules of thumb, each value with its source and mark."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from rootfill.errors import TableError

MARKS = (
    "standard",
    "published",
    "common practice",
    "from memory",
    "derived",
    "our choice",
    "invented",
)
"""How sure a value is; every row of every table carries one of these words."""


@dataclass(frozen=True)
class Source:
    """Where a value comes from: short id, text for a reader, mark out of ``MARKS``, address or ''."""

    id: str
    text: str
    mark: str
    address: str


@dataclass(frozen=True)
class Rule:
    """A rule of thumb: value with its range in ``unit`` (None = not known), and a sentence for a reader."""

    key: str
    value: float
    low: float | None
    high: float | None
    unit: str
    source: str
    says: str

    @property
    def mark(self) -> str:
        """How sure the rule is: the mark of its source."""
        return source(self.source).mark


@cache
def table(name: str) -> tuple[Mapping[str, str], ...]:
    """The rows of ``data/<name>.csv``, columns by name, all text, '' = not known.

    Lines that start with '#' are comments. Raises TableError if there is no such table.
    """
    lines = [line for line in _text(name).splitlines() if not line.startswith("#")]
    return tuple(MappingProxyType(row) for row in csv.DictReader(lines, strict=True))


def source(id: str) -> Source:
    """The source with this id. Raises TableError, naming the id, when there is none."""
    try:
        return _sources()[id]
    except KeyError:
        raise TableError(f"no source is called {id!r}") from None


def rule(key: str) -> Rule:
    """The rule with this key. Raises TableError, naming the key, when there is none."""
    try:
        return _rules()[key]
    except KeyError:
        raise TableError(f"no rule is called {key!r}") from None


def number(text: str) -> float | None:
    """A number out of a table cell; None where the cell is blank, which means not known."""
    return float(text) if text else None


def text(name: str) -> str:
    """A text file of the package data, such as ``generic_tray.toml``. Raises TableError if there is none."""
    path = files("rootfill") / "data" / name
    if not re.fullmatch(r"[a-z0-9_]+\.[a-z]+", name) or not path.is_file():
        raise TableError(f"no data file is called {name!r}")
    return path.read_text(encoding="utf-8")


def _text(name: str) -> str:
    if not re.fullmatch(r"[a-z0-9_]+", name) or not (files("rootfill") / "data" / f"{name}.csv").is_file():
        raise TableError(f"no table is called {name!r}")
    return text(f"{name}.csv")


@cache
def _sources() -> dict[str, Source]:
    return {row["id"]: Source(**row) for row in table("sources")}


@cache
def _rules() -> dict[str, Rule]:
    return {row["key"]: _rule(row) for row in table("rules")}


def _rule(row: Mapping[str, str]) -> Rule:
    low, high = number(row["low"]), number(row["high"])
    return Rule(row["key"], float(row["value"]), low, high, row["unit"], row["source"], row["says"])

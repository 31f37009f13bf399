"""One statement: which canals it names, and what it means."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from rootfill.clinic.callout import entries, findings, visits
from rootfill.clinic.callout.model import Doubt, Meaning, NotKnown
from rootfill.clinic.callout.said import Said, is_filler, is_unknown
from rootfill.clinic.callout.tokens import Token
from rootfill.tray.model import Tray

Reader = Callable[[Said, Tray], Meaning]

HEADS: tuple[tuple[tuple[str, ...], Reader], ...] = (
    (("binds",), findings.binds),
    (tuple(visits.QUESTIONS), visits.answer),
    (("moved", "shorter", "longer"), visits.moved),
    (("joins",), findings.join),
    (("rubbed",), findings.rubbed),
    (("gauge", "goes"), findings.gauging),
    (("point",), findings.paper_point),
    (("locator",), findings.locator),
    (("cone",), findings.cone),
    (("film",), findings.film),
    (("made",), entries.made),
    (("pack",), entries.pack),
    (("curve",), entries.curve),
    (("orifice",), entries.orifice),
    (("wall",), entries.wall),
    (("file", "to length"), findings.file),
    (("stops",), findings.gauging),
    (("length",), entries.length),
    (tuple(entries.STATES), entries.state),
)
"""The word that says what a statement is about; where a statement holds several, the first of this table."""

_CARRIED = (
    findings.binds, findings.paper_point, findings.locator, findings.cone, findings.film, entries.orifice,
    entries.wall, entries.length, entries.pack,
)  # fmt: skip
"""Readers that go on for the next canal: 'length mb 20.5, ml 20'."""


@dataclass(frozen=True)
class Statement:
    """The canals that a statement names (``every``: it said 'all') and its meaning; None where it only names canals."""

    canals: tuple[str, ...]
    every: bool
    meaning: Meaning | None
    reader: Reader | None
    """What read it, for a next statement that goes on in the same way."""


def read(tokens: Sequence[Token], text: str, tray: Tray, before: Reader | None) -> Statement:
    """One reading of a statement of the line ``text``; ``before`` read the statement before it. Raises Doubt."""
    at = _reference_at(tokens)
    if at is not None:
        names, every, _ = _subjects(tokens[:at])
        words, rest = text[tokens[at].end : tokens[-1].end], tokens[at + 1 :]
        return Statement(names, every, entries.reference(words, rest, _is_head), None)
    names, every, rest = _subjects(tokens)
    if all(is_filler(t) for t in rest):
        return Statement(names, every, None, None)
    reader = _reader(rest, names, every, before)
    if reader is findings.join and (every or len(names) > 1):
        raise Doubt("Which canal ends in the other? Type for example 'ml joins mb at 3.5'.")
    return Statement(names, every, reader(Said(rest), tray), reader)


def _reference_at(tokens: Sequence[Token]) -> int | None:
    """Where the free words of a reference begin: 'mb from mb cusp tip'."""
    first = next(
        (i for i, t in enumerate(tokens) if t.kind != "canal" and not is_filler(t) and not t.is_word("all")), -1
    )
    return first if first >= 0 and tokens[first].is_word("reference", "from") else None


def _subjects(tokens: Sequence[Token]) -> tuple[tuple[str, ...], bool, list[Token]]:
    """The canals that a statement speaks of, and its other tokens: 'with mb in' and 'joins mb' stay among these."""
    names: list[str] = []
    rest: list[Token] = []
    for token in tokens:
        if token.kind == "canal" and not _asks_for_canal(rest):
            names.append(token.means)
        elif not token.is_word("all"):
            rest.append(token)
    return tuple(dict.fromkeys(names)), any(t.is_word("all") for t in tokens), rest


def _asks_for_canal(before: Sequence[Token]) -> bool:
    words = [t for t in before if not is_filler(t)]
    joined = any(t.is_word("joins") for t in words)
    return bool(words) and (words[-1].is_word("with", "joins") or (joined and words[-1].is_word("to")))


def _reader(rest: Sequence[Token], names: Sequence[str], every: bool, before: Reader | None) -> Reader:
    for words, reader in HEADS:
        if any(t.is_word(*words) for t in rest):
            return reader
    if _is_file(rest):
        if before is findings.binds:
            raise Doubt("Is that a file or an instrument that binds? Type 'file 30 to 19' or '50 binds 19'.")
        return findings.file
    if any(t.kind == "shape" for t in rest) and before is not findings.cone:
        return entries.made
    goes_on = bool(names or every) or (before is findings.binds and len(_numbers(rest)) == 2)
    if before is not None and before in _CARRIED and goes_on and _numbers(rest):
        return before
    raise _says_nothing(rest)


def _is_file(rest: Sequence[Token]) -> bool:
    """'30 to 19', '30/.04 to 19'."""
    return any(
        one.kind in ("number", "shape") and to.is_word("to") and depth.kind == "number"
        for one, to, depth in zip(rest, rest[1:], rest[2:], strict=False)
    )


def _says_nothing(rest: Sequence[Token]) -> Doubt:
    unknown = next((t for t in rest if is_unknown(t)), None)
    if unknown is not None:
        return NotKnown(unknown.text)
    over = next(t for t in rest if not is_filler(t))
    example = {"number": "length {}", "shape": "last file {}"}.get(over.kind, "length 20.5").format(over.text)
    return Doubt(f"'{over.text}' alone does not say what it is: type for example '{example}'.")


def _numbers(rest: Sequence[Token]) -> list[Token]:
    return [t for t in rest if t.kind == "number"]


def _is_head(token: Token) -> bool:
    return any(token.is_word(*words) for words, _ in HEADS)

"""Which instrument binds, and at which depth: two numbers that look alike are never mixed up silently."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rootfill.clinic.callout.model import Doubt, NotKnown
from rootfill.clinic.callout.nicknames import Nicknames, Stiff, squeezed
from rootfill.clinic.callout.said import Said, is_filler, is_idle, is_unknown
from rootfill.clinic.callout.tokens import Token
from rootfill.clinic.callout.words import spelled

_DEEPEST = 40
"""No depth is larger: a number above it can only be a nickname."""
_LONGEST = 5
"""Words of the longest nickname that is looked for."""
_KINDS = {"plugger": "plugger", "heated tip": "heated tip", "tip": "heated tip", "needle": "needle"}


@dataclass(frozen=True)
class _Pair:
    """One way to read a statement: these instruments may be meant, this number is the depth."""

    meant: tuple[Stiff, ...]
    depth: Token
    ordered: bool
    """'50 binds 16': the instrument before the word, the depth behind it."""


def instrument_and_depth(said: Said, known: Nicknames) -> tuple[Stiff, Token]:
    """The instrument and the number that is its depth; takes all that is left. Raises Doubt."""
    pairs = list(dict.fromkeys(_pairs(said.left, known)))
    pairs = [p for p in pairs if p.ordered] or pairs
    pairs = [p for p in pairs if p.depth.value <= _DEEPEST] or pairs
    if not pairs:
        raise _why_not(said.left, known)
    if len(pairs) > 1:
        ways = spelled([f"'{p.meant[0].name} binds {p.depth.text}'" for p in pairs[:2]])
        raise Doubt(f"It is not clear which number is the instrument: type {ways}.")
    (pair,) = pairs
    if len(pair.meant) > 1:
        names = spelled([s.called for s in pair.meant], "and")
        raise Doubt(f"More than one instrument on the tray may be meant, {names}: type the whole nickname.")
    said.left = []
    return pair.meant[0], pair.depth


def _pairs(left: Sequence[Token], known: Nicknames) -> Iterator[_Pair]:
    pivot = _pivot(left)
    if sum(t.kind == "number" for t in left) > _LONGEST + 1:
        return
    for start, end in _named(left, known):
        rest = [t for i, t in enumerate(left) if not start <= i < end]
        numbers = [t for t in rest if t.kind == "number"]
        if len(numbers) != 1 or not all(_may_stand_beside(t) for t in rest):
            continue
        meant = known.called(" ".join(t.text for t in left[start:end]), _kinds(rest))
        at = left.index(numbers[0])
        if meant and _may_be_instrument(left, start, end, at):
            yield _Pair(meant, numbers[0], pivot is not None and end <= pivot < at)


def _named(left: Sequence[Token], known: Nicknames) -> Iterator[tuple[int, int]]:
    """From where to where there is a nickname."""
    for start in range(len(left)):
        for end in range(start + 1, min(start + _LONGEST, len(left)) + 1):
            if squeezed(" ".join(t.text for t in left[start:end])) in known.typed:
                yield start, end


def _may_stand_beside(token: Token) -> bool:
    return token.kind == "number" or is_idle(token) or token.is_word("binds", *_KINDS)


def _may_be_instrument(left: Sequence[Token], start: int, end: int, depth: int) -> bool:
    """A number that could be a depth is none behind 'at', nor behind 'binds' with the other number before it."""
    first, pivot = left[start], _pivot(left)
    if end - start > 1 or first.kind != "number" or first.value > _DEEPEST:
        return True
    if start > 0 and left[start - 1].is_word("at", "to"):
        return False
    return not (pivot is not None and depth < pivot < start)


def _pivot(left: Sequence[Token]) -> int | None:
    return next((i for i, t in enumerate(left) if t.is_word("binds")), None)


def _kinds(tokens: Sequence[Token]) -> list[str]:
    return [_KINDS[t.means] for t in tokens if t.kind == "word" and t.means in _KINDS]


def _why_not(left: Sequence[Token], known: Nicknames) -> Doubt:
    numbers = [t for t in left if t.kind == "number"]
    unknown = [t for t in left if is_unknown(t)]
    words = [t for t in left if not is_idle(t) and not t.is_word("binds", *_KINDS) and t.kind != "number"]
    if words and (len(numbers) != 1 or not unknown):
        return _left_over(unknown, words)
    if words:
        return Doubt(f"'{' '.join(t.text for t in words)[:40]}' is not on the tray: {known.near(words[0].text)}.")
    if not numbers:
        return Doubt("Which instrument, and at what depth? Type for example '50 binds 16'.")
    if len(numbers) > 2:
        return Doubt(f"'{numbers[-1].text}' is one number too many: type one instrument and its depth.")
    return _not_on_tray(left, numbers, known)


def _left_over(unknown: Sequence[Token], words: Sequence[Token]) -> Doubt:
    if unknown:
        return NotKnown(unknown[0].text)
    return Doubt(f"'{words[0].text}' is left over: leave it out, or put a comma before another statement.")


def _not_on_tray(left: Sequence[Token], numbers: Sequence[Token], known: Nicknames) -> Doubt:
    kinds = _kinds(left)
    if len(numbers) == 1 and (known.called(numbers[0].text, kinds) and not _is_depth(left, numbers[0])):
        return Doubt(f"How deep does {numbers[0].text} bind? Type for example '{numbers[0].text} binds 16'.")
    if len(numbers) == 1:
        return Doubt(f"Which instrument binds at {numbers[0].text}? Type its nickname: {known.near('')}.")
    name = next((t for t in numbers if t.value > _DEEPEST), numbers[0])
    called = f"{kinds[0] if kinds else 'instrument'} {name.text}"
    return Doubt(f"{called.capitalize()} is not on the tray: {known.near(name.text)}.")


def _is_depth(left: Sequence[Token], number: Token) -> bool:
    """Whether it stands where the depth does."""
    before = [t for t in left[: left.index(number)] if not is_filler(t)]
    return bool(before) and before[-1].is_word("binds", "at", "to") and number.value <= _DEEPEST

"""What is set down of a canal: from the words of a statement to a field of the canal."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from rootfill.clinic.callout import ranges
from rootfill.clinic.callout.model import Doubt, Entered
from rootfill.clinic.callout.said import Said
from rootfill.clinic.callout.tokens import Token
from rootfill.plan.case import CanalEntry
from rootfill.tray.model import Tray

STATES: dict[str, tuple[str, object]] = {
    "straight": ("curvature", []),
    "dry": ("drying", "dry"),
    "damp": ("drying", "damp"),
    "blood": ("drying", "blood"),
    "patent": ("patent", True),
    "blocked": ("patent", False),
    "round": ("shape", "round"),
    "oval": ("shape", "oval"),
    "c shape": ("shape", "c_shape"),
    "stepwise": ("technique", "stepwise"),
    "single wave": ("technique", "single_wave"),
    "injected only": ("technique", "injected_only"),
    "post": ("post_planned", True),
}
"""Words that say something of a canal by themselves: the field and its value."""


def state(said: Said, _: Tray) -> Entered:
    """'dry', 'not patent', 'oval'."""
    word = said.take(*STATES) or ""
    negated = said.negated()
    said.close()
    field, value = STATES[word]
    if negated and not isinstance(value, bool):
        raise Doubt(f"'not {word}' does not say what it is: type {_instead(field, word)}.")
    return Entered(field, not value if negated else value)


def _instead(field: str, word: str) -> str:
    others = [w for w, (f, _) in STATES.items() if f == field and w != word]
    return " or ".join(f"'{other}'" for other in others or ["curve 30 r 8"])


def length(said: Said, _: Tray) -> Entered:
    """'length 20.5'."""
    said.skip("length")
    value = ranges.end_depth(said.number("The length", "length 20.5"), "The length")
    said.close()
    return Entered("working_length_mm", value)


def made(said: Said, _: Tray) -> Entered:
    """'30/.04', 'last file 30 .04'."""
    explicit = said.take("made") is not None
    shape = said.shape()
    if shape is None:
        size = said.number("The last file", "last file 30/.04")
        raise Doubt(f"The taper of the last file is missing: type 'last file {size.text}/.04'.")
    if explicit:
        said.skip("to length")
    said.close()
    size_, taper = ranges.made(shape)
    return Entered("made", {"size": size_, "taper": taper})


def curve(said: Said, _: Tray) -> Entered:
    """'curve 30 r 8 from 2': central angle, radius, and the station of its lower end."""
    radius, start = said.number_after("r"), said.number_after("from")
    said.skip("curve", "above")
    angle = said.number("The angle", "curve 30 r 8")
    said.close()
    if radius is None:
        raise Doubt("The radius of the curve is missing: type 'curve 30 r 8'.")
    return Entered("curvature", [ranges.bend(angle, radius, start)])


def measure(word: str, field: str, what: str) -> Callable[[Said, Tray], Entered]:
    """The reader of a field that is one number, such as 'orifice 8'."""

    def read(said: Said, _: Tray) -> Entered:
        said.skip(word)
        number = said.number(what, f"{word} {'0.9' if field == 'wall_mm' else '8'}")
        said.close()
        return Entered(field, ranges.checked(number, what, CanalEntry, field))

    return read


orifice = measure("orifice", "orifice_at_mm", "The depth of the orifice")
wall = measure("wall", "wall_mm", "The wall")
pack = measure("pack", "pack_to_mm", "The depth to pack to")


def reference(text: str, tokens: Sequence[Token], heads: Callable[[Token], bool]) -> Entered:
    """The point that lengths are read from, in free words. Raises Doubt where a number or another statement follows."""
    words = " ".join(text.split()).removeprefix("the ")
    if not words:
        raise Doubt("Which point is the length read from? Type for example 'from mb cusp tip'.")
    over = next((t for t in tokens if t.kind in ("number", "shape", "odd") or heads(t)), None)
    if over is not None:
        raise Doubt(f"'{over.text}' is no part of a point on the tooth: put a comma before another statement.")
    return Entered("reference", re.sub(r"\b[mdblp]{2}\b", lambda found: found[0].upper(), words, flags=re.IGNORECASE))

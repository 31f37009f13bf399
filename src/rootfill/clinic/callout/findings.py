"""What was measured in a canal: from the words of a statement to a finding."""

from __future__ import annotations

from rootfill.clinic.callout import ranges
from rootfill.clinic.callout.binding import instrument_and_depth
from rootfill.clinic.callout.cones import cone_and_end
from rootfill.clinic.callout.model import Doubt, End, Entered, Measured
from rootfill.clinic.callout.nicknames import stiff_of
from rootfill.clinic.callout.said import Said
from rootfill.tray.model import Tray
from rootfill.units import size_name

SHALLOWEST_JOIN_MM = 8.0
"""A smaller number is a distance from the end, not a depth from the reference."""
MARKS_MM = 3.0
"""Marks of a locator lie between 0 and 3; a number above it is a length."""


def locator(said: Said, _: Tray) -> Measured:
    """'19.5 locator at 0.5'."""
    said.skip("locator")
    mark = said.number_after("mark") or said.number_after("at", most=MARKS_MM)
    value = ranges.end_depth(said.number("The length", "locator 19.5 at 0.5"), "The length")
    if mark is not None and not 0 <= mark.value <= MARKS_MM:
        raise Doubt(f"The mark {mark.text} is out of range, 0 to {MARKS_MM:g}.")
    said.close()
    return Measured("locator", {"value_mm": value, "mark": "0" if mark is None else f"{mark.value:g}"})


def paper_point(said: Said, _: Tray) -> Measured:
    """'point 19.5 dry'."""
    said.skip("point")
    tips = [tip for tip in ("dry", "damp", "blood") if said.take(tip)]
    if len(tips) > 1:
        raise Doubt(f"The tip of the point cannot be both {tips[0]} and {tips[1]}: leave one.")
    value = ranges.end_depth(said.number("The length", "point 19.5 dry"), "The length")
    said.close()
    return Measured("paper_point", {"value_mm": value, **({"tip": tips[0]} if tips else {})})


def film(said: Said, _: Tray) -> Measured:
    """'film 20'."""
    said.skip("film")
    value = ranges.end_depth(said.number("The length", "film 20"), "The length")
    said.close()
    return Measured("film_length", {"value_mm": value})


def cone(said: Said, tray: Tray) -> Measured:
    """'cone 30/.04 short 1.5 with mb in'."""
    said.skip("cone")
    trimmed = said.number_after("trimmed")
    fields = {
        "trimmed_to": None if trimmed is None else ranges.size(trimmed, "The size"),
        "other_cone_in": _other_cone(said),
    }
    named, end = cone_and_end(said, tray, _end(said))
    said.close()
    return Measured("cone_seat", {k: v for k, v in {"cone": named, **fields}.items() if v is not None}, end)


def _other_cone(said: Said) -> str | bool | None:
    """What was in the other of two joined canals, where it was said."""
    named, other, alone = said.canal_after("with"), said.take("other"), said.take("alone")
    if alone and (named or other):
        raise Doubt("'alone' and the other cone cannot both be true: leave one.")
    return False if alone else named or (True if other else None)


def rubbed(said: Said, _: Tray) -> Measured:
    """'rubbed tip'."""
    said.skip("rubbed", "cone")
    where = said.take("tip", "whole", "top")
    said.close()
    if where is None:
        raise Doubt("Where is the cone rubbed? Type 'rubbed tip', 'rubbed whole' or 'rubbed top'.")
    return Measured("rubbed", {"where": where})


def binds(said: Said, tray: Tray) -> Measured:
    """'50 binds 16'."""
    instrument, depth = instrument_and_depth(said, stiff_of(tray))
    at = ranges.depth(depth, "The depth")
    return Measured("binds", {"instrument": instrument.name}, End(at), instrument.called)


def file(said: Said, _: Tray) -> Measured:
    """'file 30 to 19', '30 to length'."""
    shape = said.shape()
    size = shape or said.number_after("file")
    said.skip("file")
    end = _end(said)
    if size is None:
        size = said.number("The size of the file", "30 to length")
    if end is None:
        end = End(ranges.end_depth(said.number("The depth", "file 30 to 19"), "The depth"))
    said.close()
    name = size_name(*ranges.made(size)) if size is shape else str(ranges.size(size, "The size"))
    return Measured("file_to_length", {"instrument": name}, end)


def gauging(said: Said, _: Tray) -> Measured:
    """'gauge 30 goes 35 stops short 1'."""
    short = said.number_after("short") or said.number_before("short")
    said.skip("gauge", "short")
    sizes = {word: _gauge(said, word) for word in ("goes", "stops") if said.has(word)}
    if not sizes:
        raise Doubt("Which size goes, and which stops? Type for example 'gauge 30 goes 35 stops short 1'.")
    if len(sizes) == 2 and sizes["stops"] <= sizes["goes"]:
        raise Doubt(f"The size that stops, {sizes['stops']}, must be larger than the one that goes, {sizes['goes']}.")
    said.close()
    return Measured("gauging", sizes if short is None else {**sizes, "short_mm": ranges.short(short)})


def _gauge(said: Said, word: str) -> int:
    """The size beside the word: in front of it where a number comes first in the statement, else behind."""
    first = next((t for t in said.left if t.kind == "number" or t.is_word("goes", "stops")), None)
    in_front = first is not None and first.kind == "number"
    number = said.number_before(word) if in_front else said.number_after(word)
    if number is None:
        raise Doubt(f"Which size {word}? Type for example 'gauge 30 goes 35 stops short 1'.")
    return ranges.size(number, "The size")


def join(said: Said, _: Tray) -> Measured | Entered:
    """'ml joins mb at 3.5' is where the canal ends, from the end; 'mb join 16' a depth that was felt."""
    other = said.canal_after("joins", "with", "to")
    said.skip("joins")
    if other is None:
        depth = said.number("The depth", "join 16")
        said.close()
        if 0 <= depth.value < SHALLOWEST_JOIN_MM:
            raise Doubt(f"Is {depth.text} the distance from the end? Then type 'ml joins mb at {depth.text}'.")
        return Measured("join", {"value_mm": ranges.end_depth(depth, "The depth of the join")})
    at = said.number("Its distance from the end", f"joins {other} at 3.5")
    said.take("above")
    said.close()
    station = ranges.station(at, "Its distance from the end")
    if station > SHALLOWEST_JOIN_MM:
        raise Doubt(f"Is {at.text} a depth from the reference? Type the distance from the end: 'joins {other} at 3.5'.")
    return Entered("joins", {"canal": other, "at_mm": station})


def _end(said: Said) -> End | None:
    """How far an instrument went, as far as that was said with a word."""
    whole = said.take("to length")
    short = said.number_after("short") or said.number_before("short")
    at = said.number_after("at", "to", "stops")
    said.skip("stops")
    if sum((whole is not None, short is not None, at is not None)) > 1:
        raise Doubt("The depth is said twice: leave one of 'at', 'short' and 'to length'.")
    if short is not None:
        return End(short_mm=ranges.short(short))
    if at is not None:
        said.skip("short")
        return End(ranges.end_depth(at, "The depth"))
    return End(short_mm=0.0) if whole else None

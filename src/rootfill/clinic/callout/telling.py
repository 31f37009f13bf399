"""What was understood, in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from rootfill.clinic.callout.model import Answered, Measured, Moved
from rootfill.clinic.cell_text import TO_TEXT
from rootfill.clinic.kept import Fields

_TIPS = {None: "paper point", "dry": "paper point dry", "damp": "paper point damp", "blood": "paper point with blood"}
_WHERE = {"tip": "at the tip", "whole": "all along", "top": "at the top"}
_IS: Mapping[tuple[str, object], str] = {
    ("drying", "dry"): "is dry",
    ("drying", "damp"): "is damp",
    ("drying", "blood"): "bleeds",
    ("patent", True): "is patent",
    ("patent", False): "is not patent",
    ("shape", "round"): "is round",
    ("shape", "oval"): "is oval",
    ("shape", "c_shape"): "is C-shaped",
    ("post_planned", True): "will hold a post",
    ("post_planned", False): "will hold no post",
}
_ANSWERS = {
    "identity": ("identity and tooth checked", "identity and tooth not checked"),
    "isolated": ("tooth isolated", "tooth not isolated"),
    "anaesthetised": ("anaesthesia works", "anaesthesia does not work"),
    "consent": ("consent for this step", "no consent for this step"),
    "rinsed": ("final rinse done", "final rinse not done"),
    "dry_for_a_minute": ("still dry after a minute", "not dry after a minute"),
    "length_retaken": ("length taken again after shaping", "length not taken again after shaping"),
    "cone_film_seen": ("cone film seen", "cone film not seen"),
}
_ENTRIES = {
    "working_length_mm": "working length {}",
    "made": "last file {}",
    "orifice_at_mm": "orifice at {}",
    "reference": "read from {}",
    "curvature": "curve {}",
    "wall_mm": "wall {}",
    "technique": "{}",
    "pack_to_mm": "pack to {}",
}


def mm(value: float) -> str:
    """'20.0', '19.25'."""
    return f"{value:.1f}" if abs(value * 10 - round(value * 10)) < 1e-6 else f"{value:.3f}".rstrip("0")


def finding(name: str, said: Measured, fields: Fields, length_mm: float | None) -> str:
    """One finding of a canal as it is kept; ``length_mm`` is the canal's working length."""
    if said.kind == "binds":
        return f"{name}: {said.called} binds at {mm(fields['value_mm'])} mm"
    return f"{name}: {_FINDINGS[said.kind](fields, length_mm)}"


def entry(name: str, field: str, value: Any) -> str:
    """A field of a canal as it is set."""
    if field == "joins":
        return f"{name} joins {value['canal']} {mm(value['at_mm'])} mm from the end"
    if field == "curvature" and not value:
        return f"{name} is straight"
    if not isinstance(value, list | dict) and (field, value) in _IS:
        return f"{name} {_IS[field, value]}"
    return f"{name}: {_ENTRIES[field].format(value_words(field, value))}"


def value_words(field: str, value: Any) -> str:
    """A value of a canal in words, also one that was entered in another way or cannot be read."""
    try:
        words = TO_TEXT.get(field, str)(value)
    except (ValueError, TypeError, KeyError, IndexError, AttributeError):
        return str(value)
    return f"{words} mm" if field.endswith("_mm") and ";" not in words else words.replace("_", " ")


def answer(said: Answered) -> str:
    """An answer of the visit."""
    return _ANSWERS[said.field][0 if said.yes else 1]


def moved(name: str | None, said: Moved) -> str:
    """A reference that moved."""
    whose = "the reference moved" if name is None else f"{name}: the reference moved"
    lengths = "all lengths of the tooth" if name is None else "its lengths"
    if said.by_mm is None:
        return f"{whose}, by how much is not said"
    return f"{whose}, {lengths} read {mm(abs(said.by_mm))} mm {'longer' if said.by_mm < 0 else 'shorter'}"


def _off(value: float, length_mm: float | None) -> str:
    """', 1.5 mm short of 20.0'."""
    if length_mm is None or abs(value - length_mm) < 1e-6:
        return ""
    way = "short of" if value < length_mm else "past"
    return f", {mm(abs(value - length_mm))} mm {way} {mm(length_mm)}"


def _goes(value: float, length_mm: float | None, stops: str) -> str:
    if length_mm is not None and abs(value - length_mm) < 1e-6:
        return f"goes to length, {mm(value)} mm"
    return f"{stops} {mm(value)} mm{_off(value, length_mm)}"


def _cone(f: Fields, length_mm: float | None) -> str:
    words = ["the cone", *([str(f["cone"])] if "cone" in f else [])]
    trimmed = f" trimmed to {f['trimmed_to']}" if "trimmed_to" in f else ""
    other = f.get("other_cone_in")
    beside = {None: "", False: ", alone", True: ", with the other cone in"}.get(other, f", with the cone of {other} in")
    return f"{' '.join(words)}{trimmed} {_goes(f['value_mm'], length_mm, 'stops at')}{beside}"


def _gauging(f: Fields, _: float | None) -> str:
    told = [f"{f['goes']} goes"] if "goes" in f else []
    told += [f"{f['stops']} stops"] if "stops" in f else []
    short = f", {mm(f['short_mm'])} mm short" if "short_mm" in f else ""
    return f"gauge {', '.join(told)}{short}"


_FINDINGS: Mapping[str, Callable[[Fields, float | None], str]] = {
    "locator": lambda f, _: f"apex locator at {f['mark']}, {mm(f['value_mm'])} mm",
    "paper_point": lambda f, _: f"{_TIPS[f.get('tip')]} at {mm(f['value_mm'])} mm",
    "film_length": lambda f, _: f"length on the film {mm(f['value_mm'])} mm",
    "cone_seat": _cone,
    "rubbed": lambda f, _: f"the cone is rubbed {_WHERE[f['where']]}",
    "file_to_length": lambda f, length: f"file {f['instrument']} {_goes(f['value_mm'], length, 'goes to')}",
    "gauging": _gauging,
    "join": lambda f, _: f"a join felt at {mm(f['value_mm'])} mm from the reference",
}

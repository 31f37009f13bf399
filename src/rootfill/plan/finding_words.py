"""A finding in words that its depth follows."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from rootfill.plan.case import Finding
from rootfill.tray.model import HeatedTip, Needle, Stiff
from rootfill.tray.names import called
from rootfill.units import parse_number


def says(finding: Finding, stiff: Stiff | None) -> str:
    """'plugger 60 binds at', 'apex locator at 0'; ``stiff`` is the instrument of the tray it names."""
    if finding.kind == "binds":
        return f"{_instrument(finding, stiff)} binds at"
    word = _WORDS[finding.kind]
    return word if isinstance(word, str) else word(finding)


def mark_of(finding: Finding) -> float | None:
    """The mark of a locator as a number, None where it is none."""
    try:
        return parse_number(finding.mark)
    except ValueError:
        return None


def _instrument(finding: Finding, stiff: Stiff | None) -> str:
    if stiff is None:
        return finding.instrument or "an instrument without a name"
    kind = "needle" if isinstance(stiff, Needle) else "heated tip" if isinstance(stiff, HeatedTip) else "plugger"
    return called(stiff.name, kind)


def _locator(finding: Finding) -> str:
    mark = mark_of(finding)
    said = finding.mark if mark is None else f"{mark:g}"
    return "apex locator" if said is None else f"apex locator at {said}"


def _paper_point(finding: Finding) -> str:
    return "paper point dry to" if finding.tip in (None, "dry") else f"paper point, tip {finding.tip}, at"


def _file(finding: Finding) -> str:
    return f"{finding.instrument or 'file'} goes to"


def _gauging(finding: Finding) -> str:
    goes = [] if finding.goes is None else [f"size {finding.goes} goes to length"]
    stops = [] if finding.stops is None else [f"size {finding.stops} stops {finding.short_mm or 0:g} mm short"]
    return ", ".join([*goes, *stops]) or "gauging"


def _cone_seat(finding: Finding) -> str:
    name = "cone" if finding.cone is None else called(finding.cone, "cone")
    trimmed = "" if finding.trimmed_to is None else f" trimmed to {finding.trimmed_to}"
    other = " with the other cone in" if finding.other_cone_in else ""
    return f"{name}{trimmed} comes to rest{other} at"


def _rubbed(finding: Finding) -> str:
    where = {"tip": " at its tip", "whole": " all along", "top": " in its upper part", None: ""}
    return f"cone rubbed{where[finding.where]}"


def _moved(finding: Finding) -> str:
    if finding.by_mm is None:
        return "reference moved"
    return f"reference moved: lengths read {abs(finding.by_mm):g} mm {'shorter' if finding.by_mm >= 0 else 'longer'}"


def _step(finding: Finding) -> str:
    return "after a step" if finding.step is None else f"after step {finding.step}"


_WORDS: Mapping[str, str | Callable[[Finding], str]] = {
    "locator": _locator,
    "paper_point": _paper_point,
    "film_length": "length on the film",
    "gauging": _gauging,
    "cone_seat": _cone_seat,
    "rubbed": _rubbed,
    "file_to_length": _file,
    "join": "join at",
    "orifice": "orifice at",
    "reference_moved": _moved,
    "after_step": _step,
}

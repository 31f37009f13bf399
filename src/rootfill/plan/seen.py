"""What was seen beside what was expected: each finding with what the plan says there without it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from rootfill import tables
from rootfill.plan.case import Finding
from rootfill.plan.cone import enters, rests_at
from rootfill.plan.finding_words import mark_of, says
from rootfill.plan.frame import Frame
from rootfill.plan.model import CanalPlan, Seen
from rootfill.plan.reaches import binds_computed, reach_of
from rootfill.plan.settings import Settings, same_name
from rootfill.tray.model import Cone, Stiff
from rootfill.units import Z90, Estimate, parse_size, parse_taper

HALF_MARK_MM = 0.5
"""What a locator claims to be short of the foramen at its mark 0.5."""


@dataclass(frozen=True, eq=False)
class _Place:
    """The canal a finding speaks of, and its plan."""

    frame: Frame
    plan: CanalPlan
    settings: Settings


def seen(frames: Sequence[Frame], plans: Mapping[str, CanalPlan], settings: Settings) -> tuple[Seen, ...]:
    """Every finding in the order of the case, with what was expected where there is such a thing."""
    places = {f.name: _Place(f, plans[f.name], settings) for f in frames}
    return tuple(_seen(f, places.get(f.canal or ""), settings) for f in settings.case.findings)


def _seen(finding: Finding, at: _Place | None, settings: Settings) -> Seen:
    return Seen(
        canal=finding.canal,
        kind=finding.kind,
        instrument=finding.instrument or finding.cone,
        says=says(finding, _stiff(finding.instrument, settings)),
        value_mm=finding.value_mm,
        expected=None if at is None or not _comparable(finding, at) else _EXPECTED[finding.kind](finding, at),
    )


def _comparable(finding: Finding, at: _Place) -> bool:
    """Whether there is a depth, from the reference that stands, of a kind something is expected of."""
    known = finding.kind in _EXPECTED and finding.value_mm is not None
    return known and not at.settings.outdated(finding, at.frame)


def _binds(finding: Finding, at: _Place) -> Estimate | None:
    stiff = _stiff(finding.instrument, at.settings)
    if stiff is None or at.plan.exit is not None:
        return None
    reach = reach_of(at.frame, at.settings, stiff)
    return None if reach is None else binds_computed(at.frame, at.settings, reach)


def _cone_seat(finding: Finding, at: _Place) -> Estimate | None:
    """Nothing with another cone in the way: then that one decides."""
    chosen = at.plan.cone
    if at.plan.exit is not None or finding.other_cone_in:
        return None
    cone = _cone(finding.cone if finding.cone or chosen is None else chosen.name, at.settings)
    if cone is None or not enters(cone, at.frame):
        return None
    planned = chosen is not None and chosen.name == cone.name
    if chosen is not None and planned and finding.trimmed_to in (None, chosen.trim_to):
        return chosen.cone_to_mm
    return rests_at(at.frame, at.settings, cone, max(finding.trimmed_to or cone.size, cone.size))


def _locator(finding: Finding, at: _Place) -> Estimate | None:
    mark = mark_of(finding)
    if mark not in (0.0, HALF_MARK_MM):
        return None
    claim = "; that mark 0.5 stands half a millimetre short of it is doubtful" if mark else ""
    return _foramen(at, "locator_sd_mm", mark, claim)


def _paper_point(finding: Finding, at: _Place) -> Estimate | None:
    """Where it turns wet; a point dry to its tip ends somewhere above."""
    return None if finding.tip == "dry" else _foramen(at, "paper_point_sd_mm", 0.0, "")


def _foramen(at: _Place, rule: str, short_mm: float, claim: str) -> Estimate:
    """The foramen as the chosen end places it, read by an instrument of this spread."""
    beyond, spread = at.settings.case.preferences.end_short_of_foramen_mm, tables.rule(rule)
    because = f"working length and {beyond:g} mm to the foramen; spread of the reading and of the made end{claim}"
    return _around(at.frame.entry.working_length_mm + beyond - short_mm, spread.value, at, because, spread.source)


def _file_to_length(finding: Finding, at: _Place) -> Estimate | None:
    """The made end, of the last file alone: those before it went less deep for their own reasons."""
    mine = [f for f in at.settings.case.findings if f.kind == finding.kind and f.canal == finding.canal]
    if finding is not mine[-1]:
        return None
    spread = tables.rule("stop_reading_sd_mm")
    because = "the made end; spread of reading a stop and of the made end"
    return _around(at.frame.made_end_mm, spread.value, at, because, spread.source)


def _around(value: float, sd_mm: float, at: _Place, because: str, source: str) -> Estimate:
    half = Z90 * math.hypot(sd_mm, at.settings.case.preferences.wl_sd_mm)
    return Estimate(value, value - half, value + half, "mm", because, source)


_EXPECTED: Mapping[str, Callable[[Finding, _Place], Estimate | None]] = {
    "binds": _binds,
    "cone_seat": _cone_seat,
    "locator": _locator,
    "paper_point": _paper_point,
    "file_to_length": _file_to_length,
}


def _stiff(name: str | None, settings: Settings) -> Stiff | None:
    tray = settings.tray
    everything: tuple[Stiff, ...] = (*tray.pluggers, *tray.heated_tips, *tray.needles)
    return next((s for s in everything if same_name(name, s.name)), None)


def _cone(said: str | None, settings: Settings) -> Cone | None:
    """A cone of the tray by its nickname, else by size and taper."""
    cones = settings.tray.cones
    by_name = (c for c in cones if same_name(said, c.name))
    return next(by_name, None) or next((c for c in cones if (c.size, c.taper) == _size_and_taper(said)), None)


def _size_and_taper(said: str | None) -> tuple[int, float] | None:
    """'30/.04' and its like."""
    size, _, taper = (said or "").partition("/")
    try:
        return parse_size(size), parse_taper(taper)
    except ValueError:
        return None

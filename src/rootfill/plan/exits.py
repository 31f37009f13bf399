"""States in which no packing numbers are given. Only what was entered leads to one; unknown never does."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

from rootfill import tables
from rootfill.plan.case import Case, Visit
from rootfill.plan.frame import Frame
from rootfill.plan.model import Exit
from rootfill.plan.words import open_end

REPAIR = "Repair the perforation first; then plan again with what is left of the canal."
BARRIER = (
    "Place an apical barrier, let it set, then back-fill: "
    "enter the top of the barrier as pack_to_mm with technique injected_only."
)


SHARED = ("open_end", "resorbed_end", "not_dry")
"""Exits of the end itself: they hold for every canal that shares it."""


def exits(case: Case, shapes: Sequence[Frame]) -> dict[str, Exit]:
    """The first exit that holds, by canal name; canals that share an end share the exits of that end."""
    own = {f.name: e for f in shapes if (e := next(_exits(case, f), None)) is not None}
    _share_perforations(shapes, own)
    ends = {_end(f, shapes): (f.name, own[f.name]) for f in shapes if f.name in own and own[f.name].kind in SHARED}
    for frame in shapes:
        if frame.name not in own and _end(frame, shapes) in ends:
            name, found = ends[_end(frame, shapes)]
            own[frame.name] = Exit(found.kind, f"it shares its end with {name}: {found.because}", found.instead)
    return own


def too_warm(tip: str, least_s: float, after: str, wall: str) -> Exit:
    """Of a canal whose wall as entered allows this tip not even the shortest heat."""
    limit = tables.rule("surface_rise_limit_c").value
    return Exit(
        "too_warm",
        f"even {least_s:g} s of heat at each step with {tip} may warm the root's surface by more than {limit:g} °C"
        f"{after} ({wall})",
        "A lower setting or another tip, measured; injection only; or a cold method.",
    )


def _share_perforations(shapes: Sequence[Frame], own: dict[str, Exit]) -> None:
    """A perforation below a join lies in the stretch both canals share."""
    by_name = {f.name: f for f in shapes}
    for frame in shapes:
        if frame.entry.joins is None:
            continue
        other = by_name[frame.entry.joins.canal]
        for one, two in ((frame, other), (other, frame)):
            below = [p for p in one.entry.features if p.kind == "perforation" and p.lower_mm <= frame.canal.own_from_mm]
            if below and two.name not in own:
                own[two.name] = Exit(
                    "perforation", f"a perforation lies in the stretch it shares with {one.name}", REPAIR
                )


def _end(frame: Frame, shapes: Sequence[Frame]) -> str:
    """Name of the canal whose end this one shares."""
    by_name = {f.name: f for f in shapes}
    while frame.entry.joins is not None:
        frame = by_name[frame.entry.joins.canal]
    return frame.name


def this_visit(case: Case) -> Visit | None:
    """The visit of the filling: the latest by date where all have one, else the last one entered."""
    dates = [v.date for v in case.visits]
    if case.visits and all(isinstance(d, dt.date) for d in dates):
        return max(case.visits, key=lambda v: str(v.date))
    return case.visits[-1] if case.visits else None


def _exits(case: Case, frame: Frame) -> Iterator[Exit]:
    visit, entry = this_visit(case), frame.entry
    if case.case.baseline.fracture_suspected:
        yield Exit(
            "fracture_suspected",
            "a fracture is suspected",
            "Find out first: probe, look under magnification, take a film. Do not pack.",
        )
    if entry.shape == "c_shape":
        yield Exit(
            "c_shape",
            "the canal is C-shaped: numbers per orifice are not valid",
            "Fill it by a method that follows the whole C; use the checklist only.",
        )
    if any(f.kind == "perforation" for f in entry.features):
        yield Exit("perforation", "a perforation is entered", REPAIR)
    yield from _open_end(case, frame)
    if visit is not None and visit.isolated is False:
        yield Exit("not_isolated", "the tooth is not isolated", "Isolate the tooth, rinse again, then plan.")
    if entry.drying in ("damp", "blood"):
        word = "stays damp" if entry.drying == "damp" else "bleeds"
        yield Exit(
            "not_dry",
            f"the canal {word}",
            "Not today: check length and end, rinse, dress the canal, fill at another visit.",
        )


def _plug_mm(frame: Frame) -> float | None:
    """Thickness of a barrier already placed: chosen end to its top."""
    if frame.entry.technique != "injected_only" or frame.entry.pack_to_mm is None:
        return None
    return frame.entry.working_length_mm - frame.entry.pack_to_mm


def _open_end(case: Case, frame: Frame) -> Iterator[Exit]:
    """End at or above the open-end width, or resorbed; an apical barrier already placed answers both."""
    plug = _plug_mm(frame)
    if plug is not None and plug >= (tables.rule("plug_mm").low or 0.0):
        return
    limit = tables.rule("open_end_mm").value
    width = max(float(frame.canal.profile.wide_at(s)) for s in (0.0, frame.chosen_end_s_mm))
    if width >= limit - 1e-9:
        yield Exit("open_end", f"the end is {width:.2f} mm wide; the limit is {limit:.2f} mm", BARRIER)
    at_end = any(
        f.kind == "resorption" and f.lower_mm <= tables.rule("resorbed_end_mm").value for f in frame.entry.features
    )
    if at_end or open_end(case.case.baseline.apex):
        yield Exit("resorbed_end", "the end is resorbed or open", BARRIER)

"""Which canals of a plan still stand after the case or its tray was changed."""

from __future__ import annotations

from rootfill.errors import InputRefused
from rootfill.plan.case import Case
from rootfill.plan.exits import exits, this_visit
from rootfill.plan.frame import Frame, frames
from rootfill.plan.heat import heatable
from rootfill.plan.order import joined_to
from rootfill.plan.settings import moved
from rootfill.tooth.anatomy import same_root
from rootfill.tooth.notation import tooth_number
from rootfill.tray.model import Tray

Story = tuple[object, ...]


def unaffected(before: Case, tray_before: Tray, after: Case, tray_after: Tray) -> frozenset[str]:
    """Names of the canals whose plan is the same, to the last digit, before and after.

    Holds for plans of one program and one effort. None where one of the two cannot be planned at all.
    """
    if _shared(before, tray_before) != _shared(after, tray_after):
        return frozenset()
    try:
        old, new = _with_root(before, tray_before), _with_root(after, tray_after)
    except InputRefused:
        return frozenset()
    return frozenset(name for name, story in new.items() if old.get(name) == story)


def _shared(case: Case, tray: Tray) -> Story:
    """What the plan of any canal reads beside canals and findings."""
    head, visit = case.case, this_visit(case)
    return (
        head.tooth,
        head.notation,
        head.baseline.apex,
        head.baseline.fracture_suspected,
        case.preferences,
        None if visit is None else visit.isolated,
        tuple(v.id for v in case.visits),
        (tray.cones, tray.pluggers, tray.heated_tips, tray.needles),
        _heatable(tray),
        moved(case),
        tuple(f for f in case.findings if f.canal is None),
    )


def _stories(case: Case) -> dict[str, Story]:
    """What the plan of each canal reads of canals and findings."""
    shapes = frames(case)
    leaving = exits(case, shapes)
    return {
        f.name: (
            f.entry,
            f.shared_features,
            leaving.get(f.name),
            tuple(_join(other) for other in joined_to(f, shapes)),
            tuple(x for x in case.findings if x.canal == f.name),
        )
        for f in shapes
    }


def _with_root(case: Case, tray: Tray) -> dict[str, Story]:
    """With a measured tip the canals of one root warm each other: each story holds those of its root."""
    stories = _stories(case)
    if not _heatable(tray):
        return stories
    tooth = tooth_number(case.case.tooth, case.case.notation)
    return {
        name: (story, tuple((x, stories[x]) for x in stories if x != name and same_root(tooth, name, x)))
        for name, story in stories.items()
    }


def _heatable(tray: Tray) -> Story:
    return tuple(tip.name for tip in tray.heated_tips if heatable(tray, tip.name))


def _join(other: Frame) -> Story:
    return other.name, other.canal.own_from_mm

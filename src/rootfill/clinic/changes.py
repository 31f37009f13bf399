"""What a new plan changes for the hand, and what of a printed card no longer holds.

Both compare plans as plan.json holds them.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rootfill.clinic.card_notes import SAID_ABOVE, answered, sealer_line
from rootfill.clinic.card_rows import NOT_FOR, exit_lines, rows
from rootfill.clinic.decisions import Decision, decisions
from rootfill.plan.model import CanalPlan, Plan
from rootfill.units import entered_mm

ORDER = "order of work:"
CAUTION = "caution"
NEW, REMOVED = "new canal", "canal removed"


@dataclass(frozen=True)
class Change:
    """One thing that is set or said otherwise than before; ``canal`` is None for the whole tooth."""

    canal: str | None
    what: str
    was: str | None
    now: str | None

    @property
    def says(self) -> str:
        """'MB: plugger 60, stop 12.5, was 13.0'."""
        text = self._text()
        return f"{text[:1].upper()}{text[1:]}" if self.canal is None else f"{self.canal}: {text}"

    def _text(self) -> str:
        if self.what == CAUTION:
            return f"no longer said: {self.was}" if self.now is None else f"new caution: {self.now}"
        if self.was is None:
            return self.what if self.now is None else f"{self.what} {self.now}, new"
        return f"{self.what} {self.was}, no longer" if self.now is None else f"{self.what} {self.now}, was {self.was}"


def changes(before: Plan, after: Plan) -> tuple[Change, ...]:
    """What the hand sets otherwise, canal by canal, then what concerns the whole tooth."""
    return (*_of_canals(before, after), *_of_tooth(before, after))


def _of_canals(before: Plan, after: Plan) -> Iterator[Change]:
    old, new = _by_name(before), _by_name(after)
    for name in dict.fromkeys((*old, *new)):
        if name in old and name in new:
            yield from _of_canal(old[name], new[name])
        else:
            yield Change(name, NEW if name in new else REMOVED, None, None)


def _of_canal(old: CanalPlan, new: CanalPlan) -> Iterator[Change]:
    """Where an exit comes or goes that is the change: all packing numbers come or go with it."""
    was, now = (None if c.exit is None else c.exit.because for c in (old, new))
    if was != now:
        yield Change(old.name, f"{NOT_FOR}:", was, now)
    if (was is None) == (now is None):
        yield from _decided(old, new)
        yield from _cautions(old.name, old.cautions, new.cautions)


def _decided(old: CanalPlan, new: CanalPlan) -> Iterator[Change]:
    before, after = ({d.slot: d for d in decisions(canal)} for canal in (old, new))
    for slot in dict.fromkeys((*after, *before)):
        was, now = before.get(slot), after.get(slot)
        one = after.get(slot) or before[slot]
        whole = one.part_of is None or (one.part_of in before and one.part_of in after)
        if was != now and whole:
            yield _changed(old.name, one, was, now)


def _changed(canal: str, one: Decision, was: Decision | None, now: Decision | None) -> Change:
    """Named by what stays: the instrument where it only stands elsewhere, its place where another takes it."""
    stays = was is not None and now is not None and was.name == now.name
    if stays or not one.name:
        return Change(canal, one.what, None if was is None else was.value, None if now is None else now.value)
    old, new = (None if d is None else f"{d.name}, stop {d.value}" for d in (was, now))
    return Change(canal, one.slot, old, new)


def _cautions(canal: str | None, old: Sequence[str], new: Sequence[str]) -> Iterator[Change]:
    yield from (Change(canal, CAUTION, text, None) for text in old if text not in new)
    yield from (Change(canal, CAUTION, None, text) for text in new if text not in old)


def _of_tooth(before: Plan, after: Plan) -> Iterator[Change]:
    was, now = _sequence(before, after), _sequence(after, before)
    if was != now:
        yield Change(None, ORDER, was, now)
    if before.sealer is not None and after.sealer is not None and before.sealer.name != after.sealer.name:
        yield Change(None, "sealer", before.sealer.name or "not named", after.sealer.name or "not named")
    yield from _cautions(None, before.cautions, after.cautions)


def _sequence(plan: Plan, other: Plan) -> str:
    """The order of the canals that both plans pack, and whose cone stands in a join meanwhile."""
    both = _packed(plan) & _packed(other)
    steps = [(s.canal, s.stays_in_join if s.stays_in_join in both else None) for s in plan.order if s.canal in both]
    return ", ".join(name if stays is None else f"{name} with the cone of {stays} in the join" for name, stays in steps)


def _packed(plan: Plan) -> set[str]:
    return {c.name for c in plan.canals if c.exit is None}


def _by_name(plan: Plan) -> dict[str, CanalPlan]:
    return {c.name: c for c in plan.canals}


def out_of_date(printed: Plan, now: Plan) -> tuple[str, ...]:
    """Names of the canals of which a card says something else by now, then the parts of the card that do."""
    old, new = _by_name(printed), _by_name(now)
    names = [
        name for name in dict.fromkeys((*old, *new))
        if name not in old or name not in new or _column(printed, old[name]) != _column(now, new[name])
    ]  # fmt: skip
    parts = {
        "the heading": _heading(printed) != _heading(now),
        "the order of work": _order(printed, now, names) != _order(now, printed, names),
        "the open questions": _questions(printed) != _questions(now),
        "the cautions": _printed(printed.cautions) != _printed(now.cautions),
        "the sealer": sealer_line(printed) != sealer_line(now),
    }
    return (*names, *(part for part, differs in parts.items() if differs))


def _column(plan: Plan, canal: CanalPlan) -> tuple[object, ...]:
    """Everything in words and numbers that a card of this canal alone says of it."""
    alone = dataclasses.replace(plan, canals=(canal,))
    ends_at = None if canal.ends_in is None else f"{canal.made_end_mm - canal.section.own_from_mm:.1f}"
    splits_at = None if canal.splits_at_mm is None else f"{canal.splits_at_mm:.1f}"
    head = (canal.reference, entered_mm(canal.working_length_mm), canal.ends_in, ends_at, splits_at)
    return (head, rows(alone), exit_lines(canal), _printed(canal.cautions))


def _printed(cautions: Sequence[str]) -> tuple[str, ...]:
    """Cautions that the card does not say elsewhere already."""
    return tuple(text for text in cautions if not any(said in text for said in SAID_ABOVE))


def _heading(plan: Plan) -> tuple[object, ...]:
    return (plan.tooth, plan.id, plan.note, plan.tray, plan.tray_assumed)


def _order(plan: Plan, other: Plan, named: Sequence[str]) -> tuple[object, ...]:
    """The order of the canals of both plans, and what it says of those that are not named already."""
    both = {c.name for c in plan.canals} & {c.name for c in other.canals}
    says = tuple((s.canal, s.says, s.stays_in_join) for s in plan.order if s.canal in both - set(named))
    return (tuple(s.canal for s in plan.order if s.canal in both), says)


def _questions(plan: Plan) -> tuple[list[str], list[str]]:
    return answered(plan, "open"), answered(plan, "no")

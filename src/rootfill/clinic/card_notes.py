"""What the card and the page say around the numbers: order of work, sealer, questions, cautions."""

from __future__ import annotations

from rootfill.clinic.sentences import sentence, stopped
from rootfill.plan.model import KEEP_IN_JOIN, NO_OTHER_SECONDS, NOT_REACHED, Plan


def order_steps(plan: Plan) -> list[tuple[int | None, str]]:
    """The order of work, a line each, with the cone that stands in a join; only what is packed has a number."""
    steps: list[tuple[int | None, str]] = []
    left_out = {c.name for c in plan.canals if c.exit is not None}
    number = 0
    for step in plan.order:
        stays = step.stays_in_join
        keep = f" Keep the {stays} cone in the join." if stays and stays not in step.says else ""
        says = sentence(step.says) if step.canal in step.says else f"{step.canal}: {stopped(step.says)}"
        number += step.canal not in left_out
        steps.append((None if step.canal in left_out else number, f"{says}{keep}"))
    return steps


def sealer_line(plan: Plan) -> str:
    """Sealer, how much and into what; '' where none was named."""
    if plan.sealer is None:
        return ""
    sealer = plan.sealer
    first = sentence(f"{sealer.name or 'Sealer'}: {sealer.amount}")
    return f"{first} {sentence(sealer.canal_state)}"


def answered(plan: Plan, answer: str) -> list[str]:
    """Questions of the checklist with this answer."""
    return [q.question for q in plan.ready if q.answer == answer]


SAID_ABOVE = (KEEP_IN_JOIN, NOT_REACHED, NO_OTHER_SECONDS)


VITAL = ("allerg", "pacemaker")
"""Words of questions that no card leaves out."""
LOOK_FOR = "Look for"
"""How cautions begin that speak of canals that were not found: useful, but no danger of this filling."""


UNKNOWNS = ("not entered", "outside the tables", "not on the tray")


def _later(text: str) -> int:
    """What is merely unknown comes after the dangers, what to look for last."""
    return 2 if text.startswith(LOOK_FOR) else 1 if any(unknown in text for unknown in UNKNOWNS) else 0


def grouped_cautions(plan: Plan) -> list[str]:
    """Each caution once, behind the canals it speaks of: dangers, then what is unknown, then what to look for.

    What the order of work and the table already say is not said again.
    """
    by_text: dict[str, list[str]] = {text: [] for text in plan.cautions}
    for canal in plan.canals:
        for text in canal.cautions:
            by_text.setdefault(text, []).append(canal.name)
    by_text = {text: by_text[text] for text in sorted(by_text, key=_later)}
    fresh = {text: names for text, names in by_text.items() if not any(said in text for said in SAID_ABOVE)}
    return [f"{', '.join(names)}: {text}" if names else text for text, names in fresh.items()]

"""What is answered for the whole tooth: the questions of this visit, and a reference that moved."""

from __future__ import annotations

from rootfill.clinic.callout import ranges
from rootfill.clinic.callout.model import Answered, Doubt, Moved
from rootfill.clinic.callout.said import Said
from rootfill.plan.case import Finding
from rootfill.tray.model import Tray

QUESTIONS = {
    "isolated": "isolated",
    "consent": "consent",
    "numb": "anaesthetised",
    "rinsed": "rinsed",
    "identity": "identity",
    "minute": "dry_for_a_minute",
    "retaken": "length_retaken",
    "seen": "cone_film_seen",
}
"""Words, and the field of the visit that each answers."""


def answer(said: Said, _: Tray) -> Answered:
    """'isolated', 'no consent', 'cone film not seen'."""
    word = said.take(*QUESTIONS) or ""
    negated = said.negated()
    if word == "seen" and said.take("film") is None:
        raise Doubt("What was seen? Type 'cone film seen'.")
    if word == "seen":
        said.skip("cone")
    said.close()
    return Answered(QUESTIONS[word], not negated)


def moved(said: Said, _: Tray) -> Moved:
    """'reference moved 1', 'all lengths shorter 1'."""
    way = said.take("shorter", "longer")
    said.skip("moved", "reference", "length")
    if way is None and not said.numbers():
        said.close()
        return Moved(None)
    number = said.number("The distance", "reference moved 1")
    said.close()
    by = ranges.checked(number, "The distance", Finding, "by_mm")
    if way is not None and by < 0:
        raise Doubt(f"'{way}' and {number.text} say it twice: leave out the sign.")
    return Moved(0.0 - by if way == "longer" else by)

"""Ready to fill? Questions by diagnosis and visit; what was not answered stands open."""

from __future__ import annotations

from collections.abc import Iterator

from rootfill import tables
from rootfill.plan.case import Case
from rootfill.plan.exits import this_visit
from rootfill.plan.model import Question
from rootfill.plan.words import affirms, open_end
from rootfill.tray.model import Sealer


def questions(case: Case, sealer: Sealer | None) -> tuple[Question, ...]:
    """The checklist for this tooth today."""
    return tuple(_questions(case, sealer))


def _questions(case: Case, sealer: Sealer | None) -> Iterator[Question]:
    visit = this_visit(case)

    def seen(name: str) -> str:
        return _answer(None if visit is None else getattr(visit, name))

    yield Question("Identity and tooth checked", seen("identity"))
    yield Question("Consent for this step", seen("consent"))
    yield from _allergies(case, sealer)
    yield _pacemaker(case)
    yield Question(_anaesthesia(case), seen("anaesthetised"))
    yield Question("Isolated", seen("isolated"))
    yield Question("All canals patent", _together([c.patent for c in case.canals]))
    if case.case.baseline.apex is not None and open_end(case.case.baseline.apex) is None:
        yield Question(f"Apex noted as '{case.case.baseline.apex[:40]}': open, resorbed, or closed?", "open")
    yield Question("Final rinse done", seen("rinsed"))
    yield Question("Dry, and still dry after a minute", _dry(case, seen("dry_for_a_minute")))
    yield Question("Length taken again after shaping", seen("length_retaken"))
    if any(c.technique != "injected_only" for c in case.canals):
        yield Question("Cone film seen", seen("cone_film_seen"))
    if sealer is not None and sealer.heat_allowed is not None:
        yield Question(f"Maker of {sealer.name} allows heat", _answer(sealer.heat_allowed))


def _answer(value: bool | None) -> str:
    return "open" if value is None else "yes" if value else "no"


def _together(values: list[bool | None]) -> str:
    return "no" if False in values else "open" if None in values else "yes"


def _anaesthesia(case: Case) -> str:
    """Vital teeth treated in one visit come in pain."""
    said = f"{case.case.baseline.pulp or ''}, {case.case.diagnosis or ''}"
    vital = affirms(said, "vital", "pulpitis", "inflamed")
    return "Anaesthesia works: the pulp was vital" if vital else "Anaesthesia where needed"


def _dry(case: Case, seen: str) -> str:
    wet = any(c.drying in ("damp", "blood") for c in case.canals)
    return "no" if wet else seen


def _allergies(case: Case, sealer: Sealer | None) -> Iterator[Question]:
    if case.patient.allergies is None:
        yield Question("Allergies asked: latex, epoxy amines, eugenol, iodine, chlorhexidine", "open")
        return
    if not case.patient.allergies:
        yield Question("No allergies", "yes")
    for typed in case.patient.allergies:
        yield _allergy(typed, case, sealer)


def _allergy(typed: str, case: Case, sealer: Sealer | None) -> Question:
    """One allergy against what is used: settled only where the case says the material is not there."""
    rows = [r for r in tables.table("allergies") if any(w in typed.lower() for w in r["typed"].split(";"))]
    if not rows:
        return Question(f"Allergy to {typed}: checked against every material", "open")
    row = rows[0]
    text = f"Allergy to {typed}: {row['concerns']}"
    if row["allergen"] == "latex" and case.materials.latex_free is not None:
        return Question(f"{text} free of it", _answer(case.materials.latex_free))
    if row["sealer"] and sealer is not None and sealer.type is not None:
        return Question(f"{text}; today's sealer is {sealer.name}", _answer(sealer.type != row["sealer"]))
    if any(w in irrigant.lower() for irrigant in case.materials.irrigants for w in row["typed"].split(";")):
        return Question(f"{text}; it is among today's irrigants", "no")
    return Question(f"{text} not used", "open")


def _pacemaker(case: Case) -> Question:
    if case.patient.pacemaker is False:
        return Question("No pacemaker", "yes")
    if case.patient.pacemaker is None:
        return Question("Pacemaker asked, before an electronic locator is used", "open")
    return Question("Pacemaker: locator cleared with the cardiologist, or length by film and paper point", "open")

"""Many mutated forms at one house."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

from tests.web.forms import Form, every_form
from tests.web.mutate import SCRIPT, Mutator
from tests.web.open_house import MB, ML, OpenHouse
from tests.web.shots import as_file, ramps, upload
from tests.web.visitor import Visitor

BEGUN = {"name": "MB", "reference": "MB cusp tip"}
TYPE = {"Content-Type": "application/x-www-form-urlencoded"}


@dataclass
class Seen:
    """How the house answered, and every answer that nobody may get."""

    statuses: Counter[int] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)


def storm(house: OpenHouse, seed: int, count: int) -> Seen:
    """Send so many; afterwards every case must still be shown, and planned or say why not."""
    mutator, seen = Mutator(seed), Seen()
    cases = [house.case(BEGUN, {**BEGUN, "name": "ML"}) for _ in range(3)] + [house.case(MB, ML)]
    for case in cases:
        house.program().post(f"/api/cases/{case}/pictures", **upload(("a.npy", as_file(ramps()))))
    forms, visitor = list[Form](), house.browser()
    for number in range(count):
        if number % 50 == 0:
            forms = [form for case in cases for form in every_form(house, case)]
        house.clock.passes(seconds=1)
        if _send(visitor, mutator, mutator.chance.choice(forms), seen) in (204, 303, 401, 403):
            visitor = house.browser()  # it may have been led out of the door
    for line in house.store.records.cases("", 1000, 0).lines:
        _look(house, line.key, seen)
    return seen


def _send(visitor: Visitor, mutator: Mutator, form: Form, seen: Seen) -> int:
    body = mutator.body(mutator.mutated(form.fields))
    path = (
        form.path if mutator.chance.random() > 0.05 else form.path.replace("1", mutator.chance.choice(("7", "0", "a")))
    )
    headers = {"X-CSRF": visitor.csrf, **TYPE, **({"HX-Request": "true"} if mutator.chance.random() < 0.5 else {})}
    if form.method == "GET":
        answer = visitor.get(f"{path}?{body[:4000]}", headers=headers)
    else:
        answer = visitor.post(path, content=body.encode(), headers=headers)
    seen.statuses[answer.status_code] += 1
    wrong = answer.status_code >= 500 or "Traceback" in answer.text or SCRIPT in answer.text
    if wrong:
        seen.faults.append(f"{form.method} {path} {answer.status_code} {body[:600]}")
    return answer.status_code


def _look(house: OpenHouse, case: int, seen: Seen) -> None:
    page = house.browser().get(f"/cases/{case}")
    if page.status_code != 200:
        seen.faults.append(f"GET /cases/{case} {page.status_code} afterwards: {house.kept(case)}")
    standing = house.program().get(f"/api/cases/{case}/standing")
    if standing.status_code != 200:
        seen.faults.append(f"GET /api/cases/{case}/standing {standing.status_code}: {standing.text[:300]}")
        return
    now = standing.json()
    if not (now["plan"] or now["left_out"] or now["refused"]):
        seen.faults.append(f"case {case} is neither planned nor says why not: {house.kept(case)}")

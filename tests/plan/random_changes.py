"""One change of a random case: a number, a word, a finding more or less."""

from __future__ import annotations

import re

from hypothesis import strategies as st

from rootfill.clinic.casefile import read_case
from rootfill.errors import InputRefused
from rootfill.plan.case import Case
from rootfill.tray.model import Tray
from tests.plan.cases import NoTrays
from tests.plan.random_cases import cases

NUMBER = re.compile(r"(?<=[=\[ ])\d+(\.\d+)?(?=[\s,\]}])")
CANAL = re.compile(r'^\[\[canals\]\]\nname = "(\w+)"', re.MULTILINE)
ADDED_TO_A_CANAL = (
    'drying = "dry"', 'drying = "damp"', "patent = true", "wall_mm = 0.8", 'shape = "oval"',
    "features = [{ kind = 'ledge', from_mm = 1, to_mm = 3 }]",
    "features = [{ kind = 'perforation', from_mm = 1, to_mm = 1.5 }]",
    "features = [{ kind = 'resorption' }]",
)  # fmt: skip
ADDED_TO_THE_HEAD = (
    'note = "n"',
    'diagnosis = "pulpitis"',
    'baseline = { apex = "open" }',
    "baseline = { mobility = 1 }",
)


@st.composite
def findings(draw: st.DrawFn, canal: str) -> str:
    """One finding of a canal, or the reference of the whole tooth moved."""
    kind = draw(
        st.sampled_from(["binds", "binds", "binds", "locator", "cone_seat", "file_to_length", "reference_moved"])
    )
    more = {
        "binds": f'instrument = "{draw(st.sampled_from(["40", "60", "90", "fill", "fine", "rinse", "lost"]))}"',
        "locator": f'mark = "{draw(st.sampled_from(["0", "0.5", "1"]))}"',
        "cone_seat": f'cone = "{draw(st.sampled_from(["20/.04", "cone 35/.02", "99/.02"]))}"\ntrimmed_to = 30',
        "reference_moved": "by_mm = 0.5",
    }
    whole = kind == "reference_moved" and draw(st.booleans())
    lines = [f'\n[[findings]]\nkind = "{kind}"', more.get(kind, "")]
    lines += [] if whole else [f'canal = "{canal}"']
    lines += [] if kind == "reference_moved" else [f"value_mm = {draw(st.integers(20, 46)) / 2}"]
    return "\n".join(lines) + "\n"


@st.composite
def cases_with_findings(draw: st.DrawFn) -> str:
    text = draw(cases())
    names = CANAL.findall(text)
    return text + "".join(draw(findings(draw(st.sampled_from(names)))) for _ in range(draw(st.integers(0, 2))))


@st.composite
def changed_once(draw: st.DrawFn, text: str) -> str:
    """The case with one thing entered otherwise."""
    names = CANAL.findall(text)
    how = draw(st.sampled_from(["number", "number", "number", "canal", "finding", "head"]))
    if how == "number":
        return number_changed(draw, text)
    if how == "finding":
        return text + draw(findings(draw(st.sampled_from(names))))
    if how == "head":
        return text.replace("\nnotation", f"\n{draw(st.sampled_from(ADDED_TO_THE_HEAD))}\nnotation", 1)
    head = f'[[canals]]\nname = "{draw(st.sampled_from(names))}"\n'
    return text.replace(head, f"{head}{draw(st.sampled_from(ADDED_TO_A_CANAL))}\n", 1)


def number_changed(draw: st.DrawFn, text: str, within: tuple[int, int] | None = None) -> str:
    """One number of the text, or of a part of it, a little or a lot larger or smaller."""
    place = draw(st.sampled_from(list(NUMBER.finditer(text, *(within or (0, len(text)))))))
    value = float(place[0]) + draw(st.sampled_from([0.1, 0.5, 1, -0.1, -0.5, -1, 5]))
    new = str(round(value, 3)) if "." in place[0] or value != int(value) else str(int(value))
    return text[: place.start()] + new + text[place.end() :]


def entered(text: str) -> tuple[Case, Tray] | None:
    """Case and tray of a text, None where it is refused."""
    try:
        return read_case(text, NoTrays())
    except InputRefused:
        return None

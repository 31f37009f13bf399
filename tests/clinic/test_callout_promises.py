"""What holds for any text at all: it is answered, at once, and nothing is kept that was not said."""

from __future__ import annotations

import re
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from rootfill.clinic.callout import Understood
from rootfill.clinic.callout.words import KNOWN
from rootfill.plan.case import CanalEntry, Finding, Visit
from tests.clinic.callouts import MOLAR, applied, canal, hear, kept, sure
from tests.pace import budget

KINDS = {"finding": TypeAdapter(Finding), "canal": TypeAdapter(CanalEntry), "visit": TypeAdapter(Visit)}
ODD = kept(canal("r", 20.0), canal("all", 20.0), canal("50", 20.0), canal("cone", 20.0), canal("short"), canal("16"))
BROKEN = kept(
    {"name": "MB", "working_length_mm": "?", "made": "30", "curvature": 3, "joins": "ML", "visit": [1], "files": 0},
    {"name": "mb", "orifice_at_mm": [8], "wall_mm": {}, "joins": {"canal": None}, "reference": 4, "post_planned": "x"},
    {"name": 5}, {"name": "ML", "working_length_mm": True, "made": {"size": "x"}, "joins": {"canal": "ML"}},
    visits=({}, {"id": None, "isolated": "perhaps"}),
)  # fmt: skip
CASES = pytest.mark.parametrize("case", [MOLAR, ODD, BROKEN], ids=["usual names", "names that are words", "broken"])
PIECES = [*sorted(KNOWN), "mb", "ML", "db", "dl", "50", "16", "19.5", "20,5", "2", "30/.04", "30 .06", ",", ";"]
texts = st.text(max_size=400) | st.lists(st.sampled_from(PIECES), max_size=12).map(" ".join)
STATEMENTS = [
    "mb", "ml", "all", "locator 19.5", "point 20 dry", "film 20", "cone fits", "cone 30/.04 short 1", "50 binds 16",
    "60 14", "30 to length", "gauge 30 goes 35 stops", "30/.04", "length 20", "orifice 8", "straight", "dry", "damp",
    "not patent", "curve 30 r 8", "joins ml at 3", "isolated", "no consent", "reference moved 1", "pack to 15",
]  # fmt: skip
lines = st.lists(st.sampled_from(STATEMENTS), max_size=9).map(", ".join)


@CASES
@given(text=texts | lines)
def test_any_text_has_an_answer_and_in_doubt_nothing_changes(case, text):
    heard = hear(text, case)
    assert isinstance(heard, Understood)
    if heard.doubt is not None:
        assert heard.edits == ()
        assert re.fullmatch(r"[^\n]{5,600}[.?]", heard.doubt, re.DOTALL), heard.doubt


@given(text=texts | lines)
def test_whatever_is_kept_is_allowed_in_a_case_file(text):
    for edit in hear(text).edits:
        KINDS[edit.part].validate_python(dict(edit.after or {}) | ({"working_length_mm": 20} if _short(edit) else {}))


def _short(edit) -> bool:
    return edit.part == "canal" and "working_length_mm" not in (edit.after or {})


@given(text=texts | lines)
def test_nothing_is_kept_for_a_canal_that_the_line_does_not_name(text):
    words = set(re.findall(r"[a-z]+", text.lower()))
    for one in hear(text).heard:
        assert one.canal is None or one.canal.lower() in words or "all" in words


@given(line=lines)
def test_the_statements_of_a_line_one_by_one_give_the_same_case_as_the_whole(line):
    heard = hear(line)
    if heard.doubt is None:
        case = MOLAR
        for one in heard.heard:
            case = applied(case, one.edits)
        assert case == applied(MOLAR, heard.edits)
        again = sure(line, case) if heard.heard else heard
        assert {e.part for e in again.edits} <= {"finding"}


@given(line=lines)
def test_letter_case_and_spaces_change_nothing(line):
    for other in (line.upper(), f"  {line.replace(' ', '   ')} "):
        assert hear(other).heard == hear(line).heard
        assert hear(other).edits == hear(line).edits


SLOW = [
    "mb 50 binds 16, " * 25,
    "r all 50 cone short 16 r all 50 cone binds 16 short 50",
    "50 16 50 16 50 16 50 16 50 16 50 binds fine tip medium tip",
    "qqqqqqqq " * 40,
    "x" * 400,
    "dry, " * 80,
    "1" * 400,
]


@pytest.mark.alone
@CASES
@pytest.mark.parametrize("text", SLOW, ids=[text[:12] for text in SLOW])
def test_a_line_is_understood_within_five_milliseconds(case, text):
    taken = []
    for _ in range(5):
        started = time.perf_counter()
        hear(text, case)
        taken.append(time.perf_counter() - started)
    assert min(taken) < budget(0.005)

"""The page of the studies says what the evidence says, and the evidence is what a run gives."""

from __future__ import annotations

from prove.heat_published import SETUPS
from prove.studies import run
from prove.studies_page import BEGIN, END, PAGE, PICTURE, drawing, evidence, tables, with_tables


def test_the_numbers_of_the_page_are_those_of_the_evidence():
    page, results = PAGE.read_text(encoding="utf-8"), evidence()
    assert page.partition(BEGIN)[2].partition(END)[0] == tables(results)
    assert with_tables(page, results) == page


def test_the_drawing_is_that_of_the_evidence():
    assert PICTURE.read_text(encoding="utf-8") == drawing(evidence())


def test_the_evidence_is_what_its_first_seed_gives():
    seed, results = next(iter(evidence().items()))
    again = run(int(seed))
    assert [row["what"] for row in again["rows"]] == [m.what for setup in SETUPS for m in setup.measured]
    for one, other in zip(results["rows"], again["rows"], strict=True):
        assert abs(one["middle"] - other["middle"]) <= 0.02 * abs(other["middle"]) + 0.02, one["what"]


def test_every_study_of_the_issue_is_there_with_its_misses():
    rows = next(iter(evidence().values()))["rows"]
    assert {row["study"].split()[0] for row in rows} == {"Venturi", "Floren", "Blum", "Goodman", "Sweatman", "Cen"}
    assert any(not row["inside"] for row in rows)
    assert all(row["low"] <= row["middle"] <= row["high"] for row in rows)

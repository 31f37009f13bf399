"""The page for the assistant shows what the program does, word for word."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from rootfill.clinic.callout.words import FILLERS, SAID
from tests.clinic.callouts import INCISOR, MOLAR, doubt, sure

PAGE = (Path(__file__).parents[2] / "docs" / "call-outs.md").read_text(encoding="utf-8")


def rows(heading: str) -> Iterator[list[str]]:
    """Cells of the rows of every table below a heading, without the heads of the tables."""
    (section,) = re.findall(rf"^#+ {re.escape(heading)}\n(.*?)(?=^#|\Z)", PAGE, re.MULTILINE | re.DOTALL)
    lines = [line for line in section.splitlines() if line.startswith("|")]
    assert len(lines) > 2, heading
    for line in lines[2:]:
        yield [cell.strip() for cell in line.strip("|").split("|")]


def typed(cell: str) -> str:
    (line,) = re.findall(r"`([^`]+)`", cell)
    return str(line)


KEPT = [
    (typed(line), says, INCISOR if heading == "One canal" else MOLAR)
    for heading in ("Length and shape", "Cone and pluggers", "Dry, and ready", "One canal")
    for _, line, says in rows(heading)
]
ASKED = [(typed(line), says) for line, says in rows("What is asked back")]


@pytest.mark.parametrize(("line", "says", "case"), KEPT, ids=[line for line, _, _ in KEPT])
def test_every_line_of_the_page_is_understood_as_the_page_says(line, says, case):
    heard = sure(line, case)
    assert heard.says == says
    assert heard.edits


@pytest.mark.parametrize(("line", "says"), ASKED, ids=[line for line, _ in ASKED])
def test_every_line_that_the_page_shows_as_asked_back_is(line, says):
    assert doubt(line) == says


def test_every_rule_above_the_tables_has_an_example_that_is_understood() -> None:
    (rules,) = re.findall(r"## How to type\n(.*?)\n\n[A-Z]", PAGE, re.DOTALL)
    lines = [line for line in re.findall(r"`([^`]+)`", rules) if "mb" in line or "all" in line]
    assert len(lines) >= 8
    for line in lines:
        sure(line)


def test_the_page_lists_every_word_of_the_grammar_and_no_other() -> None:
    assert {word: ", ".join(re.findall(r"`([^`]+)`", cell)) for word, cell in rows("Words")} == dict(SAID)
    (fillers,) = re.findall(r"change nothing: (.+)\.$", PAGE, re.MULTILINE)
    assert set(re.findall(r"`([^`]+)`", fillers)) == FILLERS

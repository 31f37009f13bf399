"""Widths of words agree with the font files; what is too long is cut and says so."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootfill.drawing.measure import shortened, width, wrapped


def test_a_word_is_as_wide_as_its_letters_in_the_font() -> None:
    assert width("mm", 10) == pytest.approx(16.9)
    assert width("mm", 10, bold=True) == pytest.approx(17.64)


@given(st.text(max_size=60), st.floats(5, 200))
def test_a_shortened_text_always_fits(text: str, room: float) -> None:
    assert width(shortened(text, 9, room), 9) <= room + 1e-9


def test_a_shortened_text_shows_that_something_was_cut() -> None:
    cut = shortened("second mesiobuccal 1", 10, 60)
    assert "…" in cut
    assert cut.startswith("sec")
    assert cut.endswith("l 1")
    assert shortened("MB", 10, 60) == "MB"


@given(st.text(alphabet="ab cde", max_size=80))
def test_wrapped_lines_hold_every_word_and_none_is_too_wide(text: str) -> None:
    lines = wrapped(text, 10, 1000)
    assert " ".join(lines).split() == text.split()
    assert all(width(line, 10) <= 60 for line in wrapped(text, 10, 60))

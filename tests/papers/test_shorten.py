"""What is too long says so."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from rootfill.papers.shorten import SEE, clipped, fewer, sentence, short, stopped


@given(st.text(max_size=300), st.integers(20, 200))
def test_a_shortened_text_is_never_longer_than_asked_and_says_where_the_rest_is(text: str, longest: int) -> None:
    made = short(text, longest)
    assert len(made) <= longest
    assert made == text or made.endswith(SEE)


@given(st.lists(st.text(max_size=20), max_size=20), st.integers(1, 12))
def test_lines_that_are_left_out_are_counted(texts: list[str], count: int) -> None:
    made = fewer(texts, count, 100)
    assert len(made) <= count
    if len(texts) > count:
        assert made[-1] == f"and {len(texts) - count + 1} more: see report"
    else:
        assert made == texts


def test_a_text_is_cut_between_words() -> None:
    assert short("the wall towards the furcation is thin", 30) == "the wall towards… see report"


def test_a_clipped_name_ends_in_dots() -> None:
    assert clipped("mesiobuccal", 6) == "mesio…"
    assert clipped("MB", 6) == "MB"


def test_a_sentence_begins_with_a_capital_and_ends_with_one_stop() -> None:
    assert sentence("pack MB first..") == "Pack MB first."
    assert stopped("its cone ends at 16.0 mm") == "its cone ends at 16.0 mm."
    assert sentence("") == ""

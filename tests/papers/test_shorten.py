"""What is too long says so."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from rootfill.papers.shorten import SEE, apart, clipped, fewer, note_line, short


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


def test_a_clipped_name_keeps_both_its_ends() -> None:
    assert clipped("Mesiobuccal 1", 10) == "Mesio…al 1"
    assert clipped("Mesiobuccal 2", 10) == "Mesio…al 2"
    assert clipped("MB", 6) == "MB"


def test_names_that_would_look_alike_once_clipped_stay_apart() -> None:
    names = ["Mesiobuccal upper 1", "Mesiobuccal lower 1", "P"]
    made = apart(names, 10)
    assert len(set(made)) == 3
    assert made[2] == "P"
    assert all(len(name) <= 10 for name in made)


def test_a_note_is_one_line_with_a_stop_or_says_that_it_was_cut() -> None:
    assert note_line("Invented\n for a demonstration") == "Invented for a demonstration."
    assert note_line(" ") is note_line(None) is None
    long = note_line("A rather long remark about this patient. " * 10)
    assert long is not None
    assert len(long) <= 90
    assert long.endswith("…")

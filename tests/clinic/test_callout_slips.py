"""Lines that could be heard in two ways are asked back, and names that would swallow a word are refused."""

from __future__ import annotations

import pytest

from rootfill.clinic.add_case import check_names
from rootfill.errors import InputRefused
from tests.clinic.callouts import hear


@pytest.mark.parametrize(
    ("line", "asked"),
    [
        ("mb not not patent", "twice"),
        ("not not isolated", "twice"),
        ("ml joins mb at 16", "from the reference"),
        ("ml joins mb 16", "from the reference"),
    ],
)
def test_a_line_with_two_meanings_is_asked_back(line: str, asked: str) -> None:
    heard = hear(line)
    assert heard.doubt is not None
    assert asked in heard.doubt
    assert heard.edits == ()


@pytest.mark.parametrize("name", ["not", "No", "all", "off"])
def test_a_canal_is_not_named_like_a_word_that_turns_a_line_round(name: str) -> None:
    with pytest.raises(InputRefused, match="another name"):
        check_names([{"name": "MB"}, {"name": name}])


def test_ordinary_names_of_canals_pass() -> None:
    check_names([{"name": "MB"}, {"name": "one"}, {"name": "L"}])

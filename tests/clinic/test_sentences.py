"""Text made into sentences."""

from __future__ import annotations

from rootfill.clinic.sentences import sentence, stopped


def test_a_sentence_begins_with_a_capital_and_ends_with_one_stop() -> None:
    assert sentence("pack MB first..") == "Pack MB first."
    assert stopped("its cone ends at 16.0 mm") == "its cone ends at 16.0 mm."
    assert sentence("") == ""

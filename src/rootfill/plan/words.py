"""What free text says, without being fooled by a 'no'."""

from __future__ import annotations

import re

_DENIAL = re.compile(r"\b(no|not|non|without|never|none|closed|free of)\b")


def affirms(text: str | None, *stems: str) -> bool:
    """Whether a clause of the text has a word that begins with one of the stems and no word that denies it.

    >>> affirms("apex resorbed", "resorb"), affirms("closed, no resorption", "resorption", "open")
    (True, False)
    >>> affirms("irreversible pulpitis", "vital", "pulpitis"), affirms("non-vital", "vital"), affirms("avital", "vital")
    (True, False, False)
    """
    clauses = re.split(r"[,;.]", (text or "").lower())
    starts = re.compile(r"\b(" + "|".join(map(re.escape, stems)) + ")")
    return any(starts.search(c) and not _DENIAL.search(c) for c in clauses)

"""Words in and out: what free text says without being fooled by a 'no', and names in a row."""

from __future__ import annotations

import re
from collections.abc import Sequence

_DENIAL = r"(?:no|not|non|without|never|free of)"
_OPEN = r"open\b|resor(?:b|pt)\w*|immature|blunderbuss|not (?:yet )?closed|incomplete"
_CLOSED = r"closed|mature|intact|normal|complete\b|formed"


def affirms(text: str | None, *stems: str) -> bool:
    """Whether the text has a word that begins with one of the stems and is not denied just before it.

    >>> affirms("irreversible pulpitis", "vital", "pulpitis"), affirms("non-vital", "vital"), affirms("avital", "vital")
    (True, False, False)
    """
    return _found("|".join(rf"{re.escape(s)}\w*" for s in stems), text)


def open_end(text: str | None) -> bool | None:
    """Whether what is said of the apex means open or resorbed; None where it is not understood.

    >>> open_end("resorbed but no sinus tract"), open_end("closed, no resorption"), open_end("not yet closed")
    (True, False, True)
    >>> open_end("canal opened at visit 1"), open_end(None)
    (None, None)
    """
    if _found(_OPEN, text):
        return True
    return (
        False
        if _found(_CLOSED, text) or re.search(rf"\b{_DENIAL}\s+(?:\w+\s+)?(?:{_OPEN})", (text or "").lower())
        else None
    )


def listed(names: Sequence[str]) -> str:
    """'a, b and c'.

    >>> listed(["MB"]), listed(["MB", "ML", "DB"])
    ('MB', 'MB, ML and DB')
    """
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last


def _found(words: str, text: str | None) -> bool:
    """A word of the pattern with no denial within the two words before it."""
    said = (text or "").lower().replace("-", " ")
    for match in re.finditer(rf"\b(?:{words})", said):
        before = re.split(r"[,;.]", said[: match.start()])[-1].split()[-2:]
        if not any(re.fullmatch(_DENIAL, word) for word in before):
            return True
    return False

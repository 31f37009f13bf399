"""The words of the grammar, in the ways the trade says them."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping, Sequence

SAID: Mapping[str, str] = {
    # findings
    "locator": "locator, loc, apex locator",
    "point": "paper point, paper, point, pp",
    "film": "film, x-ray, xray, radiograph",
    "cone": "cone, master cone",
    "rubbed": "rubbed, rubs, rub",
    "binds": "binds, bind, bound, binding, catches",
    "file": "file, k file, hand file",
    "gauge": "gauge, gauging, gauged",
    "goes": "goes, go",
    "stops": "stops, stopped, sits, seats",
    "joins": "joins, join, joining, meets",
    "moved": "reference moved, ref moved, moved",
    "shorter": "shorter, lengths shorter, length shorter, lengths are shorter, lengths read shorter",
    "longer": "longer, lengths longer, length longer, lengths are longer, lengths read longer",
    # a canal
    "length": "length, lengths, working length, wl, end",
    "made": "last file, final file, made, last",
    "orifice": "orifice, orif",
    "reference": "reference, ref, measured from, read from",
    "straight": "straight",
    "curve": "curve, curved, curves, bend, bends, arc",
    "wall": "wall, dentine",
    "dry": "dry, dries, dried",
    "damp": "damp, moist, wet",
    "blood": "blood, bloody, bleeding, bleeds",
    "patent": "patent",
    "blocked": "blocked",
    "round": "round",
    "oval": "oval",
    "c shape": "c shape, c shaped",
    "stepwise": "stepwise, step by step",
    "single wave": "single wave",
    "injected only": "injected only, inject only, injection only",
    "post": "post, post planned",
    "pack": "pack, pack to, packed, packed to",
    # the tooth
    "isolated": "isolated, dam, dam on, rubber dam, rubber dam on",
    "consent": "consent, consented",
    "numb": "numb, anaesthetised, anesthetised, anaesthetized, anesthetized",
    "rinsed": "rinsed, final rinse, final rinse done",
    "seen": "seen",
    "identity": "identity, identity checked",
    "minute": "dry a minute, dry for a minute, dry after a minute, still dry",
    "retaken": "length retaken, lengths retaken, length taken again, lengths taken again",
    # what stands beside them
    "at": "at, @",
    "to": "to",
    "from": "from",
    "above": "above the end, from the end, from end",
    "mark": "mark",
    "short": "short, short of length, short of the length",
    "to length": "to length, to wl, to the length, to working length, to end, to the end, at length, full length",
    "fits": "fits, fit",
    "trimmed": "trimmed, trimmed to, trim, trim to, cut to",
    "with": "with",
    "alone": "alone",
    "other": "other cone in, both cones in",
    "r": "r, radius",
    "tip": "tip",
    "whole": "whole, all along",
    "top": "top",
    "plugger": "plugger",
    "heated tip": "heated tip, heated plugger, heat carrier",
    "needle": "needle",
    "all": "all",
    "not": "not, no, off",
}
"""Every word that means something, and how it may be typed."""

FILLERS = frozenset({
    "a", "an", "and", "are", "been", "by", "canal", "degrees", "done", "has", "in", "is", "it", "its", "mm", "now",
    "of", "on", "read", "reads", "the", "was", "&", "+",
})  # fmt: skip
"""Words that may stand anywhere and change nothing."""

PHRASES: Mapping[tuple[str, ...], str] = {
    tuple(phrase.replace("-", " ").split()): word for word, phrases in SAID.items() for phrase in phrases.split(", ")
}
LONGEST = max(map(len, PHRASES))
KNOWN = frozenset(word for phrase in PHRASES for word in phrase) | FILLERS

_INSTEAD = {
    "apex": "say which: 'locator 19.5' or 'film 20'",
    "stop": "type 'binds 16' for where an instrument catches",
    "loose": "type where it ends, such as 'cone at 21'",
    "tight": "type where it ends, such as 'cone fits' or 'cone short 1'",
}


def not_known(word: str, canals: Sequence[str]) -> str:
    """The sentence about a word nobody knows, with what was perhaps meant."""
    if word.casefold() in _INSTEAD:
        return f"'{word}' is not enough here: {_INSTEAD[word.casefold()]}."
    if re.fullmatch(r"[mdblp]{1,2}[0-9]?", word.casefold()):
        return f"There is no canal {word} in this case: {spelled(canals)}."
    meant = _near(word.casefold())
    if meant is not None:
        return f"'{_cut(word)}' is not known here: did you mean {meant}?"
    return f"'{_cut(word)}' is not known here: leave it out, or say it in other words."


def spelled(names: Sequence[str], last: str = "or") -> str:
    """'MB, ML, DB or DL'."""
    return f" {last} ".join(part for part in (", ".join(names[:-1]), *names[-1:]) if part) or "there is none"


def _near(word: str) -> str | None:
    """The phrase that the word is a part of, or that is spelled much alike."""
    phrases = {" ".join(phrase): phrase for phrase in PHRASES}
    part = next((spelled for spelled, phrase in phrases.items() if word in phrase), None)
    close = difflib.get_close_matches(word, phrases, 1, 0.7) if len(word) > 2 else []
    return part or next(iter(close), None)


def _cut(word: str) -> str:
    return word if len(word) <= 24 else f"{word[:23]}…"

"""When the state changes, and how the time between is divided into steps."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from rootfill.heat.model import Content, Effort, Gap, Rod, Source

_LONGER = 4
STOP_MM = 0.25
"""A moving tip goes in stops of at most this length unless told otherwise, each taken when its stretch begins."""


@dataclass(frozen=True)
class Phase:
    """A stretch of time [s] in which what is in the canal reaches down to one station [mm], or nothing is in."""

    start_s: float
    end_s: float
    tip_s_mm: float | None = None
    content: Content | None = None


def phases(contents: Sequence[Content], seconds: float, stop_mm: float = STOP_MM) -> list[Phase]:
    """The run from 0 to ``seconds``. Raises ValueError where two things are in at once or one is in too long."""
    found, now = list[Phase](), 0.0
    for content in sorted(contents, key=lambda x: x.from_s):
        if content.from_s < now or content.until_s > seconds:
            raise ValueError("what is put into the canal follows one another within the run")
        if content.from_s > now:
            found.append(Phase(now, content.from_s))
        found += _phases_of(content, stop_mm)
        now = content.until_s
    return [*found, Phase(now, seconds)] if now < seconds else found


def _phases_of(content: Content, stop_mm: float) -> list[Phase]:
    match content:
        case Source():
            return _stops(content, stop_mm)
        case Rod():
            return [Phase(content.from_s, content.until_s, content.tip_s_mm, content)]
        case Gap():
            return [Phase(content.from_s, content.until_s, content.from_s_mm, content)]


def _stops(source: Source, stop_mm: float) -> list[Phase]:
    """A phase for each stop of the tip; a bend of its path or of its temperature begins another."""
    bends = {source.from_s + since for since, _ in (*source.path, *source.temperature)}
    inside = sorted(x for x in bends if source.from_s < x < source.until_s)
    found = list[Phase]()
    for start, end in pairwise([source.from_s, *inside, source.until_s]):
        a, b = float(source.tip_at(start)), float(source.tip_at(end))
        count = max(math.ceil(abs(b - a) / stop_mm - 1e-9), 1)
        for i in range(count):
            t0, t1 = (start + (end - start) * x / count for x in (i, i + 1))
            found.append(Phase(t0, t1, a + (b - a) * (i + 1) / count, source))
    return found


@dataclass(frozen=True)
class Level:
    """``count`` steps of ``step_s``."""

    step_s: float
    count: int


def ladder(seconds: float, effort: Effort) -> list[Level]:
    """Steps four times longer after every ``per_level`` of them; the last fill the time. Refining divides each."""
    levels, left, step = list[Level](), seconds, effort.first_s
    while left > 1e-9 * seconds:
        missing = math.ceil(left / step - 1e-9)
        count = missing if step >= effort.longest_s else min(effort.per_level, missing)
        length = left / count if count == missing else step
        levels.append(Level(length / effort.refine, count * effort.refine))
        left -= length * count
        step = min(_LONGER * step, effort.longest_s)
    return levels

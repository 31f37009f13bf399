"""What is put into a canal one after another while it is packed: both techniques as contents of a run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rootfill.heat.model import HELD, Content, Gap, Material, Rod, Source

PULL_S = 1.0
"""Time from the end of heat until the next instrument stands in the canal."""


@dataclass(frozen=True)
class Tip:
    """A heated tip as it was measured: rows (seconds since it was switched on, °C), ascending, and its contact.

    Beyond the last row nothing is known of it. Raises ValueError without a row after 0 s.
    """

    measured: tuple[tuple[float, float], ...]
    contact_w_m2k: float = HELD

    def __post_init__(self) -> None:
        if not self.measured or self.last_s <= 0:
            raise ValueError("a tip is measured at one time at least after it is switched on")

    @property
    def last_s(self) -> float:
        """The last second at which it was measured."""
        return self.measured[-1][0]


@dataclass(frozen=True)
class Pace:
    """How long a cold plugger pushes and what time passes before the next heat [s]; its metal and temperature [°C]."""

    push_s: float
    idle_s: float
    plugger: Material
    plugger_c: float


def stepwise(stations_mm: Sequence[float], heat_s: float, tip: Tip, pace: Pace) -> tuple[Content, ...]:
    """The tip goes in to each station hot, comes out with its bite, and a cold plugger pushes where it stood."""
    found, now = list[Content](), 0.0
    for s_mm in stations_mm:
        hot = Source(now, now + heat_s, ((0.0, s_mm),), tip.measured, tip.contact_w_m2k)
        pulled = Gap(hot.until_s, hot.until_s + PULL_S, s_mm)
        push = Rod(pulled.until_s, pulled.until_s + pace.push_s, s_mm, pace.plugger, pace.plugger_c)
        idle = Gap(push.until_s, push.until_s + pace.idle_s, s_mm)
        found += [hot, pulled, push, idle]
        now = idle.until_s
    return tuple(found)


def single_wave(
    from_s_mm: float, to_s_mm: float, heat_s: float, separate_s: float, tip: Tip, pace: Pace
) -> tuple[Content, ...]:
    """One heated plugger is run down, pushes with its heat off, is freed by a last heat; a hand plugger follows.

    The metal of the heated plugger is that of ``pace``.
    """
    down = Source(0.0, heat_s, ((0.0, from_s_mm), (heat_s, to_s_mm)), tip.measured, tip.contact_w_m2k)
    off = Rod(down.until_s, down.until_s + pace.push_s, to_s_mm, pace.plugger)
    free = Source(off.until_s, off.until_s + separate_s, ((0.0, to_s_mm),), tip.measured, tip.contact_w_m2k)
    pulled = Gap(free.until_s, free.until_s + PULL_S, to_s_mm)
    push = Rod(pulled.until_s, pulled.until_s + pace.push_s, to_s_mm, pace.plugger, pace.plugger_c)
    return down, off, free, pulled, push, Gap(push.until_s, push.until_s + pace.idle_s, to_s_mm)

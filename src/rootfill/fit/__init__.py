"""How one sits in the other: where a cone rests, how deep an instrument goes, what it presses with."""

from rootfill.fit.beam import Bent, bend, contacts, reach, wall_force_n
from rootfill.fit.model import Draws, Reach, Spreads, TrimmedCones, Verdict
from rootfill.fit.reach import clearance_mm, rigid_reach_mm, width_reach_mm
from rootfill.fit.seat import VERDICTS, held, open_share, seat_s_mm
from rootfill.fit.trim import trim_mm, trimmed_by_gauge, trimmed_by_ruler

__all__ = [
    "VERDICTS",
    "Bent",
    "Draws",
    "Reach",
    "Spreads",
    "TrimmedCones",
    "Verdict",
    "bend",
    "clearance_mm",
    "contacts",
    "held",
    "open_share",
    "reach",
    "rigid_reach_mm",
    "seat_s_mm",
    "trim_mm",
    "trimmed_by_gauge",
    "trimmed_by_ruler",
    "wall_force_n",
    "width_reach_mm",
]

"""How warm: temperatures in a filling and at its root's surface while heated tips are in the canal."""

from rootfill.heat.dose import cem43_min
from rootfill.heat.limit import Draw, Trials
from rootfill.heat.model import (
    HELD,
    INSULATED,
    Content,
    Effort,
    Gap,
    Material,
    Materials,
    Rod,
    Section,
    Source,
    Surroundings,
    Transition,
)
from rootfill.heat.result import Peak, Warming
from rootfill.heat.schedule import Pace, Tip, single_wave, stepwise
from rootfill.heat.warm import band_size, warm

__all__ = [
    "HELD",
    "INSULATED",
    "Content",
    "Draw",
    "Effort",
    "Gap",
    "Material",
    "Materials",
    "Pace",
    "Peak",
    "Rod",
    "Section",
    "Source",
    "Surroundings",
    "Tip",
    "Transition",
    "Trials",
    "Warming",
    "band_size",
    "cem43_min",
    "single_wave",
    "stepwise",
    "warm",
]

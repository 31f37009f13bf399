"""Where a plugger's stop is set for the work: never past the packed top."""

from __future__ import annotations

from rootfill.plan.model import CanalPlan, InstrumentFit
from rootfill.units import down_to_half


def working_stop_mm(canal: CanalPlan, plugger: InstrumentFit) -> float:
    """Depth to which this plugger's stop is set: what its fit allows, and no deeper than the packed top."""
    top = canal.packed_top_mm
    return plugger.set_stop_mm if top is None else min(plugger.set_stop_mm, down_to_half(top.value))

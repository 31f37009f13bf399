"""What the report says of one canal's heat, as plain values: the same for page and paper."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict

from rootfill import tables
from rootfill.clinic.heat_words import heat_words
from rootfill.drawing.heat_course import heat_moments
from rootfill.papers.figures import Figure, Sources
from rootfill.plan.model import CanalHeat, CanalPlan


def heat(canal: CanalPlan, sources: Sources, prefix: str) -> dict[str, object] | None:
    """Its figures, words and pictures; None where no heat was computed."""
    if canal.heat is None:
        return None
    return {
        "figures": [asdict(figure) for figure in _figures(canal, canal.heat, sources)],
        "words": list(heat_words(canal, canal.heat)),
        "moments": heat_moments(canal, prefix=prefix),
    }


def _figures(canal: CanalPlan, computed: CanalHeat, sources: Sources) -> Iterator[Figure]:
    many = len(canal.downpack) > 1
    for step in canal.downpack:
        which = f"step {step.step}: " if many else ""
        if step.mouldable_ahead_mm is not None:
            yield sources.figure(f"{which}mouldable ahead of the tip", step.mouldable_ahead_mm)
        if step.surface_rise_c is not None:
            yield sources.figure(f"{which}root’s surface warms by", step.surface_rise_c)
    yield sources.figure("sealer at the deepest tip gets to", computed.sealer_peak_c)
    yield sources.figure(f"and stays above {tables.rule('sealer_warm_c').value:g} °C for", computed.sealer_warm_s)
    yield sources.figure("solid under the plugger after", computed.solid_after_s)
    yield sources.figure("filling at its end gets to", computed.end_peak_c)

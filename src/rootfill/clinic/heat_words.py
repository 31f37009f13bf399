"""What is said around the numbers of one canal's heat, on page and paper alike."""

from __future__ import annotations

from collections.abc import Iterator

from rootfill import tables
from rootfill.plan.model import CanalHeat, CanalPlan
from rootfill.plan.words import listed


def heat_words(canal: CanalPlan, computed: CanalHeat) -> Iterator[str]:
    """What the numbers hold, how to read the pictures, and how they stand to what is taught."""
    before = f", and {listed(computed.left_by)} heated just before" if computed.left_by else ""
    yield f"Counted with {computed.wall}, all about the root{before}. The upper end of the rise stays under the limit."
    first, mouldable = tables.rule("softens_c"), tables.rule("mouldable_c")
    yield (
        "Pictures: the way in the middle of those computed. Red: the limit. Dashed: "
        f"{first.value:g} °C, where gutta-percha first changes, and {mouldable.value:g} °C, where it can be moulded."
    )
    taught, measured = tables.rule("taught_softened_mm"), tables.rule("softened_ahead_mm")
    ahead = canal.downpack[-1].softened_ahead_mm
    yield (
        f"Taught: {taught.value:g} mm softened ahead of the tip (common practice). Measured in eight teeth: "
        f"{measured.low:g} to {measured.high:g} mm (Goodman 1981). Computed for this tip: "
        f"{ahead.low:.1f} to {ahead.high:.1f} mm."
    )

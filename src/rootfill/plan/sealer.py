"""The sealer: how much and where, the canal it wants, whether heat is allowed, and whether time suffices."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rootfill import tables
from rootfill.errors import InputRefused
from rootfill.plan.case import Case
from rootfill.plan.model import CanalPlan, SealerPlan
from rootfill.tray.model import Sealer, Tray
from rootfill.units import Estimate


def chosen_sealer(case: Case, tray: Tray) -> Sealer | None:
    """The sealer the case names, else the only one on the tray. Raises InputRefused for one the tray does not hold."""
    if case.materials.sealer is not None:
        named = case.materials.sealer.lower()
        found = next((s for s in tray.sealers if s.name.lower() == named), None)
        if found is None and tray.sealers:
            known = ", ".join(s.name for s in tray.sealers)
            raise InputRefused("materials.sealer", case.materials.sealer, f"name a sealer of the tray: {known}")
        return found or Sealer(name=case.materials.sealer)
    return tray.sealers[0] if len(tray.sealers) == 1 else None


def plan_sealer(sealer: Sealer | None, canals: Sequence[CanalPlan]) -> SealerPlan:
    """What the assistant mixes and what to watch."""
    takes = _steps_take(canals)
    row = _type_row(sealer)
    return SealerPlan(
        name=None if sealer is None else sealer.name,
        amount=_amount(canals),
        canal_state=_canal_state(sealer, row),
        heat=" ".join((_heat(sealer), *_warmed(canals))),
        working_time=_working_time(sealer, takes),
        steps_take_min=takes,
        sentences=tuple(_sentences(row)),
    )


def _amount(canals: Sequence[CanalPlan]) -> str:
    if all(c.technique == "injected_only" for c in canals if c.exit is None):
        return "Thin coat on the wall above the plug (common practice)."
    return "Thin coat on the apical third of each cone, none pooled (common practice)."


def _sentences(row: dict[str, str] | None) -> Iterator[str]:
    if row is not None and row["canal_wanted"] == "slightly moist":
        yield "Do not dry with alcohol before it: it needs moisture."


def sealer_cautions(sealer: Sealer | None, plan: SealerPlan, heated: bool) -> Iterator[str]:
    """What of the sealer must not be overlooked."""
    if sealer is None:
        return
    if sealer.heat_allowed is False and heated:
        yield f"{sealer.name}: its maker does NOT allow heat. Take another sealer or a cold method."
    if sealer.working_min is not None and sealer.working_min < plan.steps_take_min.high:
        yield plan.working_time
    yield from plan.sentences


def _type_row(sealer: Sealer | None) -> dict[str, str] | None:
    if sealer is None or sealer.type is None:
        return None
    return dict(next(r for r in tables.table("sealer_types") if r["type"] == sealer.type))


def _canal_state(sealer: Sealer | None, row: dict[str, str] | None) -> str:
    if sealer is not None and sealer.canal is not None:
        wanted = "bone dry" if sealer.canal == "dry" else "slightly moist"
        return f"Canal {wanted}, as its maker says."
    if row is not None:
        wanted = "bone dry" if row["canal_wanted"] == "dry" else row["canal_wanted"]
        return f"Canal {wanted} (common practice for this type); its maker's instructions decide."
    return "Moist or dry: read the maker's instructions; the sealer's type is not entered."


def _heat(sealer: Sealer | None) -> str:
    if sealer is None or sealer.heat_allowed is None:
        return "Heat: not entered whether its maker allows it; read the instructions before warm compaction."
    if sealer.heat_allowed:
        return "Heat: allowed by its maker, as entered on the tray."
    return "Heat: NOT allowed by its maker, as entered on the tray. Take another sealer or a cold method."


def _warmed(canals: Sequence[CanalPlan]) -> Iterator[str]:
    """How warm it gets, in the canal where it gets warmest."""
    computed = [(c.name, c.heat) for c in canals if c.heat is not None]
    if computed:
        name, hottest = max(computed, key=lambda one: one[1].sealer_peak_c.high)
        peak, warm = hottest.sealer_peak_c, hottest.sealer_warm_s
        yield (
            f"Beside the deepest tip of {name} it gets to {peak.low:.0f} to {peak.high:.0f} °C (computed), "
            f"and is above {tables.rule('sealer_warm_c').value:g} °C for {warm.low:.1f} to {warm.high:.1f} s."
        )


def _working_time(sealer: Sealer | None, takes: Estimate) -> str:
    span = f"the steps take about {takes.value:.0f} min ({takes.low:.0f} to {takes.high:.0f}, our estimate)"
    if sealer is None or sealer.working_min is None:
        return f"Working time: not entered; {span}. Read it from the maker's instructions."
    if sealer.working_min < takes.high:
        return f"Working time {sealer.working_min:g} min may not suffice: {span}. Mix in two portions."
    return f"Working time {sealer.working_min:g} min suffices: {span}."


def _steps_take(canals: Sequence[CanalPlan]) -> Estimate:
    """Minutes from the first coated cone to the last increment; a third either way."""
    packed = [c for c in canals if c.exit is None]
    per_canal = tables.rule("coat_cone_s").value + tables.rule("change_canal_s").value
    seconds = per_canal * len(packed) + tables.rule("film_s").value
    seconds += tables.rule("downpack_cycle_s").value * sum(len(c.downpack) for c in packed)
    seconds += tables.rule("increment_cycle_s").value * sum(len(c.increments) for c in packed)
    minutes = seconds / 60
    return Estimate(
        minutes,
        minutes * 2 / 3,
        minutes * 4 / 3,
        "min",
        "our estimate of each step, a third either way",
        "choice",
    )

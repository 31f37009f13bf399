"""The order of work, and which cone stands in a join while the other canal is packed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rootfill.plan.frame import Frame
from rootfill.plan.model import KEEP_IN_JOIN, CanalPlan, ConeChoice, OrderStep


def order_of_work(frames: Sequence[Frame], plans: Mapping[str, CanalPlan]) -> tuple[OrderStep, ...]:
    """Each canal with its own end, followed by the canals that end in it; those not packed last."""
    done: list[OrderStep] = []
    for frame in frames:
        if frame.entry.joins is None:
            done += _with_joined(frame, frames, plans)
    return tuple(sorted(done, key=lambda step: plans[step.canal].exit is not None))


def joined_to(frame: Frame, frames: Sequence[Frame]) -> list[Frame]:
    """Canals that end in this one, deepest join first."""
    mine = [f for f in frames if f.entry.joins is not None and f.entry.joins.canal == frame.name]
    return sorted(mine, key=lambda f: f.canal.own_from_mm)


def _with_joined(frame: Frame, frames: Sequence[Frame], plans: Mapping[str, CanalPlan]) -> list[OrderStep]:
    others = joined_to(frame, frames)
    steps = [_step(frame, others, plans)]
    for other in others:
        steps += _with_joined(other, frames, plans)
    return steps


def _step(frame: Frame, others: Sequence[Frame], plans: Mapping[str, CanalPlan]) -> OrderStep:
    plan = plans[frame.name]
    if plan.exit is not None:
        return OrderStep(frame.name, f"not packed: {plan.exit.because}")
    parts = [_own_end(frame, plan)]
    if others:
        names = " and ".join(o.name for o in others)
        both = plan.cone is not None and all(plans[o.name].cone is not None for o in others)
        parts += [f"try the cones of {frame.name} and {names} in together first"] if both else []
        parts.append(f"{_verb(plan)} {frame.name} while {_keeper(others, plans)} in the join")
    says = "; ".join(p for p in parts if p) or _alone(plan)
    return OrderStep(frame.name, says, others[0].name if others else None)


def _verb(plan: CanalPlan) -> str:
    return "fill" if plan.technique == "injected_only" else "pack"


def _keeper(others: Sequence[Frame], plans: Mapping[str, CanalPlan]) -> str:
    """What stands in the join meanwhile: the cones of the other canals, or a point where one has no cone."""
    cones = [o.name for o in others if plans[o.name].cone is not None]
    points = [f"a point in {o.name}" for o in others if plans[o.name].cone is None]
    kept = [f"the cone{'s' if len(cones) > 1 else ''} of {' and '.join(cones)}"] if cones else []
    verb = "stand" if len(cones) + len(points) > 1 else "stands"
    return f"{' and '.join([*kept, *points])} {verb}"


def _alone(plan: CanalPlan) -> str:
    if plan.technique == "injected_only":
        return "filled by injection"
    return (
        "packed on its own"
        if plan.downpack and plan.downpack[-1].plugger is not None
        else "cannot be packed warm with this tray"
    )


def _own_end(frame: Frame, plan: CanalPlan) -> str:
    """Where the second cone of a joined pair ends: the headline number."""
    if frame.entry.joins is None or plan.cone is None:
        return ""
    join = frame.depth(frame.canal.own_from_mm)
    # of a canal kept from plan.json six decimals are left: a depth half-way between two tenths must read the same
    to = round(plan.cone.cone_to_mm.value, 6)
    return f"its cone ends at {to:.1f} mm, not past the join with {frame.entry.joins.canal} at {join:.1f} mm"


def join_cautions(frame: Frame, frames: Sequence[Frame], cone: ConeChoice | None) -> list[str]:
    """What joined or dividing canals ask for."""
    said = []
    if frame.entry.joins is not None:
        other, at = frame.entry.joins.canal, frame.depth(frame.canal.own_from_mm)
        said.append(f"Joins {other} at {at:.1f} mm: {KEEP_IN_JOIN} while {other} is packed.")
        if cone is not None:
            said.append(f"Check before packing: with the cone of {other} in, this cone stops at or above {at:.1f} mm.")
    for o in joined_to(frame, frames):
        at = frame.depth(o.canal.own_from_mm)
        where = f"{at:.1f} mm from the reference of {frame.name}"
        said.append(f"{o.name} ends in it, {where}: {KEEP_IN_JOIN} while {frame.name} is packed.")
    if frame.entry.splits is not None:
        at = frame.depth(frame.entry.splits.at_mm)
        into = frame.entry.splits.into
        names = into if isinstance(into, str) else " and ".join(into)
        said.append(
            f"Divides at {at:.1f} mm{f' into {names}' if names else ''}: stiff pluggers end above it; "
            "the other branch is filled by flow only."
        )
    return said

"""Tables on the terminal."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from rich.console import Console
from rich.markup import escape
from rich.table import Table

from rootfill.plan import CanalPlan, Plan
from rootfill.tray.model import Tray
from rootfill.units import entered_mm, shown


class _Screen(Console):
    """A console that leaves a closed pipe to the caller."""

    def on_broken_pipe(self) -> None:
        raise BrokenPipeError


def show_plan(plan: Plan, files: Sequence[Path]) -> None:
    """The tray card as a table, the open questions, the cautions, and where the files are."""
    console = _Screen(emoji=False)
    console.print(
        f"[bold]{plan.tooth.entered}[/]  {escape(plan.tooth.words)} · {escape(plan.id)}"
        + (f" · {escape(plan.note)}" if plan.note else "")
    )
    console.print(_table(plan))
    for line in _lines(plan):
        console.print(line, soft_wrap=False)
    for path in files:
        console.print(f"[dim]written[/] {escape(str(path))}", highlight=False)


def _table(plan: Plan) -> Table:
    table = Table(pad_edge=False, show_edge=False, header_style="bold")
    table.add_column("mm from the reference")
    for canal in plan.canals:
        table.add_column(f"{escape(canal.name)}\n[dim]{escape(canal.reference)}[/]")
    for label, cells in _rows(plan):
        table.add_row(label, *[escape(c) for c in cells], end_section=True)
    return table


def _rows(plan: Plan) -> Iterator[tuple[str, list[str]]]:
    for label, cell in (
        ("working length, set by you", lambda c: entered_mm(c.working_length_mm)),
        ("cone, set to", _cone),
        ("plugger, set stop to", _pluggers),
        ("heated tip, set stop to", _heat),
        (
            "stays a cold cone",
            lambda c: "–" if c.cold_apical_part_mm is None else shown(c.cold_apical_part_mm),
        ),
        ("back-fill", _increments),
        ("fill to", lambda c: "–" if c.fill_level_mm is None else f"{c.fill_level_mm:.1f}"),
    ):
        yield label, [_cell(c, label, cell) for c in plan.canals]


def _cell(canal: CanalPlan, label: str, cell: Callable[[CanalPlan], str]) -> str:
    """A canal with an exit keeps its length; what is done instead stands where the cone would."""
    if canal.exit is None or label.startswith("working length"):
        return cell(canal)
    return f"not for this method: {canal.exit.because}. {canal.exit.instead}" if label == "cone, set to" else "–"


def _cone(c: CanalPlan) -> str:
    if c.cone is None:
        return "–"
    to, held = c.cone.cone_to_mm, c.cone.verdict.replace("_", " ")
    chance = 100 * c.cone.chances["right"]
    right = f"held {held}: {'over 99' if chance > 99 else f'{chance:.0f}'} in 100"
    set_to = f"{c.cone.cone_set_mm:.1f}, rests at {to.value:.1f} ({to.low:.1f} to {to.high:.1f})"
    return f"{set_to}\n{c.cone.name}, trim to {c.cone.trim_to}\n{right}"


def _pluggers(c: CanalPlan) -> str:
    chosen = {p.role: p for p in c.pluggers if p.role}
    lines = [f"{chosen[r].set_stop_mm:.1f}  {chosen[r].name}" for r in ("coronal", "middle", "apical") if r in chosen]
    if c.would_do_mm is not None:
        lines.append(f"none works at the end; {c.would_do_mm:.2f} mm would")
    return "\n".join(lines) or "none works"


def _heat(c: CanalPlan) -> str:
    stops = [f"{s.heat_set_stop_mm:.1f}  {s.heated_tip}" for s in c.downpack if s.heat_set_stop_mm is not None]
    timed = [s for s in c.downpack if s.heat_s is not None]
    seconds = dict.fromkeys(f"{s.heat_s:g} s at {s.heat_setting_c:g} °C, stop by {s.stop_by_s:g} s" for s in timed)
    return "\n".join([*stops, *seconds]) or "–"


def _increments(c: CanalPlan) -> str:
    return (
        "\n".join(
            f"{i.length_mm:.1f} mm, {i.needle or 'no needle'}"
            + (f" at {i.needle_set_stop_mm:.1f}" if i.needle_set_stop_mm is not None else "")
            + (" (not reached)" if i.filled_from_above else "")
            for i in c.increments
        )
        or "none"
    )


def _lines(plan: Plan) -> Iterator[str]:
    for step in plan.order:
        yield f"[bold]{escape(step.canal)}:[/] {escape(step.says)}."
    for answer, head in (("no", "[red]No:[/]"), ("open", "[bold]Open:[/]")):
        waiting = [q.question for q in plan.ready if q.answer == answer]
        if waiting:
            yield f"{head} {escape('; '.join(waiting))}."
    if plan.sealer is not None:
        said = (plan.sealer.canal_state, plan.sealer.heat, plan.sealer.working_time)
        yield f"[bold]Sealer:[/] {escape(' '.join(said))}"
    for caution in plan.cautions:
        yield f"[red]![/] {escape(caution)}"
    for canal in plan.canals:
        for caution in canal.cautions:
            yield f"[red]![/] [bold]{escape(canal.name)}:[/] {escape(caution)}"
        for option in (*canal.cold_advice[:1], *canal.options):
            yield f"  [bold]{escape(canal.name)}:[/] {escape(option)}"
    if plan.unused:
        yield f"[dim]Not read in this version: {escape('; '.join(plan.unused))}.[/]"


def _assumed(tray: Tray) -> str:
    """Which dimensions nobody measured: all, some by name, or none."""
    if not tray.assumed_names:
        return ""
    named = "" if not tray.measured_names else f" of {', '.join(tray.assumed_names)}"
    return f" · dimensions{named} assumed, not measured"


def show_tray(tray: Tray) -> None:
    """What lies on a tray, kind by kind."""
    console = _Screen(emoji=False)
    console.print(f"[bold]{escape(tray.name)}[/]{escape(_assumed(tray))}")
    table = Table(pad_edge=False, show_edge=False)
    for column in ("kind", "name", "tip mm", "taper", "material"):
        table.add_column(column)
    for cone in tray.cones:
        table.add_row("cone", escape(cone.name), f"{cone.tip_mm:.2f}", f"{cone.taper:.3g}", "gutta-percha")
    for plugger in tray.pluggers:
        table.add_row(
            "plugger", escape(plugger.name), f"{plugger.tip_mm:.2f}", f"{plugger.taper:.3g}", plugger.material
        )
    for tip in tray.heated_tips:
        measured = f"measurements on file: {len(tip.measured)}" if tip.measured else "never measured"
        table.add_row(
            "heated tip",
            escape(tip.name),
            f"{tip.tip_mm:.2f}",
            f"{tip.taper:.3g}",
            f"{tip.material}, {measured}",
        )
    for needle in tray.needles:
        table.add_row(f"needle, {needle.use}", escape(needle.name), f"{needle.tip_mm:.2f}", "0", "steel")
    for sealer in tray.sealers:
        table.add_row("sealer", escape(sealer.name), "", "", sealer.type or "type not entered")
    for compound in tray.compounds:
        table.add_row("compound", escape(compound.name), "", "", "gutta-percha")
    console.print(table)

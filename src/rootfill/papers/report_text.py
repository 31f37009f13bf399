"""What the report says, as plain values: the same for page and paper."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from rootfill.clinic.card_rows import NOT_REACHED
from rootfill.papers.figures import CLEARANCE_PLACES, Figure, Sources, share, tight
from rootfill.plan.model import CanalPlan, ConeChoice, DownpackStep, Increment, InstrumentFit
from rootfill.tray.names import called
from rootfill.units import Estimate, out_of_hundred

VERDICT_WORDS = {
    "right": "held in its last 2 mm, the right place",
    "all_along": "touched all along, so its hold cannot tell where",
    "wrong_place": "held only higher up, the wrong place",
    "loose": "too long, past the end",
}
CHANCE_WORDS = {
    "right": "sit right, held in their last 2 mm",
    "all_along": "touch all along: the hold cannot tell where",
    "wrong_place": "are held only higher up, in the wrong place",
    "loose": "go too long, past the end",
}
REACHES = "the needle can reach the top; its stop leaves half a millimetre"


@dataclass(frozen=True)
class Chance:
    """One way the cone may sit: '63 in 100', and what they do; ``of_hundred`` is the length of its bar."""

    count: str
    words: str
    of_hundred: int


def cone_figures(cone: ConeChoice, sources: Sources) -> list[Figure]:
    return [
        sources.figure("cone’s tip comes to rest at", cone.cone_to_mm),
        sources.figure("short of the end or join by", cone.short_of_end_mm),
        sources.figure("seats at station", cone.seat_s_mm),
        sources.figure("cut off", cone.trim_mm),
        sources.figure("cross-section left to sealer", share(cone.open_share)),
    ]


def cone_decision(cone: ConeChoice) -> str:
    """What is decided about the cone, in one sentence."""
    tip = f"trimmed to {cone.trim_to}" if cone.trim_to != cone.size else f"not trimmed, tip {cone.trim_to}"
    by = f" by {cone.trim_by}" if cone.trim_to != cone.size else ""
    verdict = VERDICT_WORDS.get(cone.verdict, cone.verdict)
    return f"{cone.name}, {tip}{by}, set to {cone.cone_set_mm:.1f} mm. Most likely {verdict}."


def chances(cone: ConeChoice) -> list[Chance]:
    """The four ways a cone may sit, the likeliest first; the numbers add up to 100."""
    ordered = sorted(cone.chances.items(), key=lambda item: -item[1])
    whole = _hundred([chance for _, chance in ordered])
    return [
        Chance(f"{out_of_hundred(chance, number)} in 100", CHANCE_WORDS.get(name, name), number)
        for (name, chance), number in zip(ordered, whole, strict=True)
    ]


def _hundred(parts: Sequence[float]) -> list[int]:
    """Whole percents that add up to 100 (largest remainder)."""
    floors = [int(100 * p) for p in parts]
    short = 100 - sum(floors)
    by_rest = sorted(range(len(parts)), key=lambda i: floors[i] - 100 * parts[i])
    return [floor + (i in by_rest[:short]) for i, floor in enumerate(floors)]


@dataclass(frozen=True)
class Reason:
    """A reason that several rows of one table share, under its letter."""

    letter: str
    says: str
    source: int


def instruments(canal: CanalPlan, sources: Sources) -> tuple[list[dict[str, object]], list[Reason]]:
    """The rows of the instrument table, and the reasons their numbers share."""
    reasons: dict[tuple[str, str], Reason] = {}
    kinds = (("plugger", canal.pluggers), ("heated tip", canal.heated_tips), ("needle", canal.needles))
    rows = [_instrument(fit, kind, reasons, sources) for kind, group in kinds for fit in group]
    return rows, list(reasons.values())


def _instrument(
    fit: InstrumentFit, kind: str, reasons: dict[tuple[str, str], Reason], sources: Sources
) -> dict[str, object]:
    parts = [fit.binds_at_mm, fit.reach_s_mm, fit.cover, fit.clearance_mm]
    parts += [fit.wall_force_n] if fit.wall_force_n is not None else []
    letters = dict.fromkeys(_reason(part, reasons, sources).letter for part in parts)
    return {
        "name": called(fit.name, kind),
        "role": f"{fit.role or 'not chosen'}, tip {fit.tip_mm:.2f} mm",
        "chosen": fit.role is not None,
        "stop": f"{fit.set_stop_mm:.1f} mm",
        "touches": "touches" if fit.touches else "free",
        "binds": tight(fit.binds_at_mm),
        "reach": tight(fit.reach_s_mm),
        "cover": tight(share(fit.cover)),
        "clearance": tight(fit.clearance_mm, CLEARANCE_PLACES),
        "force": _force(fit),
        "because": " ".join(letters),
        "says": list(fit.says),
    }


def _force(fit: InstrumentFit) -> tuple[str, str]:
    if fit.wall_force_n is None:
        return "bends", "for good first"
    return ("0 N", "free") if fit.wall_force_n.high == 0 else tight(fit.wall_force_n)


def _reason(part: Estimate, reasons: dict[tuple[str, str], Reason], sources: Sources) -> Reason:
    key = (part.because, part.source)
    if key not in reasons:
        letter = chr(ord("a") + len(reasons)) if len(reasons) < 26 else f"z{len(reasons) - 25}"
        reasons[key] = Reason(letter, part.because, sources.number(part.source))
    return reasons[key]


def step(made: DownpackStep, sources: Sources) -> dict[str, object]:
    return {
        "step": str(made.step),
        "tip": made.heated_tip or "none",
        "heat_stop": _mm(made.heat_set_stop_mm),
        "heat": _heat(made),
        "plugger": called(made.plugger, "plugger") if made.plugger else "none",
        "stop": _mm(made.plugger_set_stop_mm),
        "push": f"{made.push_s:g} s",
        "ahead": asdict(sources.figure("softened ahead", made.softened_ahead_mm)),
    }


def _heat(made: DownpackStep) -> str:
    if made.heat_s is None:
        return "—"
    setting = f" at {made.heat_setting_c:g} °C" if made.heat_setting_c is not None else ""
    limit = f", stop by {made.stop_by_s:g} s" if made.stop_by_s is not None else ""
    wait = f", then wait {made.wait_s:g} s" if made.wait_s is not None else ""
    return f"{made.heat_s:g} s{setting}{limit}{wait}"


def heat_note(canal: CanalPlan) -> str:
    """What is said where no seconds of heat were computed."""
    says = dict.fromkeys(s.heat_says for s in canal.downpack if s.heat_s is None)
    return " ".join(f"Heat, seconds: — {text}." for text in says)


def increment(made: Increment, number: int, sources: Sources) -> dict[str, object]:
    return {
        "number": str(number),
        "length": f"{made.length_mm:.1f} mm",
        "needle": called(made.needle, "needle") if made.needle else "none",
        "stop": _mm(made.needle_set_stop_mm),
        "plugger": called(made.plugger, "plugger") if made.plugger else "none",
        "plugger_stop": _mm(made.plugger_set_stop_mm),
        "push": f"push {made.push_s:g} s",
        "note": NOT_REACHED if made.filled_from_above else "",
        "volume": asdict(sources.figure("volume", made.volume_mm3)),
    }


def adds_up(canal: CanalPlan) -> list[str]:
    """The two sums that must close, written out; nothing where there is nothing to add."""
    says = []
    top, level = canal.packed_top_mm, canal.fill_level_mm
    if canal.increments and top is not None and level is not None:
        lengths = " + ".join(f"{i.length_mm:.1f}" for i in canal.increments)
        total = sum(i.length_mm for i in canal.increments)
        says.append(
            f"Lengths: {lengths} = {total:.1f} mm; packed top {top.value:.1f} − fill level {level:.1f} "
            f"= {top.value - level:.1f} mm."
        )
    packed, empty, holds = canal.packed_volume_mm3, canal.unfilled_volume_mm3, canal.volume_mm3
    if packed is not None and empty is not None and holds is not None:
        filled = sum(i.volume_mm3.value for i in canal.increments)
        total, whole = packed.value + filled + empty.value, holds.value
        says.append(
            f"Volumes: packed {packed.value:.2f} + back-fill {filled:.2f} + left empty {empty.value:.2f} "
            f"= {total:.2f} mm³; the canal holds {whole:.2f} mm³ "
            f"(difference {100 * abs(total - whole) / whole:.1f} %)."
        )
    return says


def canal_figures(canal: CanalPlan, sources: Sources) -> list[Figure]:
    """The canal's own estimates, in the order of the work."""
    gap = canal.blind_gap_mm
    named: tuple[tuple[str, Estimate | None], ...] = (
        ("volume, made end to orifice", canal.volume_mm3),
        ("stays a cold cone", canal.cold_apical_part_mm),
        ("top of plug" if canal.technique == "injected_only" else "packed top", canal.packed_top_mm),
        ("packed volume", canal.packed_volume_mm3),
        ("left empty above the filling", canal.unfilled_volume_mm3),
        (REACHES if gap is not None and round(gap.value, 1) == 0 else "needle to packed top", gap),
        ("left for a post", canal.post_available_mm),
    )
    return [sources.figure(label, estimate) for label, estimate in named if estimate is not None]


def _mm(depth: float | None) -> str:
    return "—" if depth is None else f"{depth:.1f} mm"

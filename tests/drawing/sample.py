"""Invented plans, made by hand: they speak of no real tooth, patient or instrument."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from rootfill.plan.model import (
    CanalHeat,
    CanalPlan,
    ConeChoice,
    DownpackStep,
    Exit,
    HeatCourse,
    Increment,
    InstrumentFit,
    OrderStep,
    Plan,
    Question,
    RiseAlong,
    SealerPlan,
    Section,
    SourceLine,
    ToothLine,
)
from rootfill.units import Estimate


def mm(value: float, half: float, because: str = "length ±0.5 mm", source: str = "geometry") -> Estimate:
    return Estimate(value, value - half, value + half, "mm", because, source)


def section(
    size: float,
    taper: float,
    length: float,
    *,
    oval: float = 1.0,
    arc: tuple[float, float, float] | None = None,
    wall: tuple[float, float] | None = (0.8, 1.4),
    own_from: float = 0.0,
) -> Section:
    """A made canal: ``arc`` is (angle in degrees, radius, apical end of the arc)."""
    s = tuple(round(length * i / 50, 4) for i in range(51))
    narrow = tuple(size + taper * at for at in s)
    wide = tuple(n * (1 + (oval - 1) * at / length) for n, at in zip(narrow, s, strict=True))
    walls = None if wall is None else tuple(wall[0] + (wall[1] - wall[0]) * at / length for at in s)
    return Section(s, narrow, wide, tuple(_offset(at, arc) for at in s), walls, own_from)


def _offset(s: float, arc: tuple[float, float, float] | None) -> float:
    if arc is None:
        return 0.0
    angle, radius, start = math.radians(arc[0]), arc[1], arc[2]
    end = start + radius * angle
    if s >= end:
        return 0.0
    along = (end - max(s, start)) / radius
    return -(radius * (1 - math.cos(along)) + max(start - s, 0.0) * math.sin(angle))


def fit(name: str, role: str | None, tip: float, made_end: float, binds: float, half: float = 0.4) -> InstrumentFit:
    reach = made_end - binds
    return InstrumentFit(
        name,
        role,
        tip,
        mm(reach, half, "passive force 0.2 to 2 N", "fit.reach"),
        mm(binds, half, "passive force 0.2 to 2 N", "fit.reach"),
        math.floor((binds - half - 0.5) * 2) / 2,
        Estimate(0.81, 0.76, 0.85, "", "size of canal and tip", "geometry"),
        Estimate(0.12, 0.09, 0.15, "mm", "size of canal and tip", "geometry"),
        role is None,
        Estimate(0.3, 0.1, 0.7, "N", "stiffness of steel", "fit.elastic"),
        ("stiff in a curve",) if role is None else (),
    )


def cone(name: str, size: int, taper: float, to: float, trim_to: int, short: float) -> ConeChoice:
    return ConeChoice(
        name,
        size,
        taper,
        "gauge",
        mm(max(trim_to - size, 0) / 100 / taper, 0.3, "spread of cone tips", "cunningham2006.spread"),
        trim_to,
        mm(to, 0.45, "spread of cone tips and of the length", "fit.seat"),
        math.floor(to * 2) / 2,
        mm(short, 0.45, "spread of cone tips", "fit.seat"),
        mm(short + 0.1, 0.35, "spread of cone tips", "fit.seat"),
        "right",
        {"loose": 0.04, "all_along": 0.06, "right": 0.88, "wrong_place": 0.02},
        Estimate(0.22, 0.15, 0.3, "", "size of canal and cone", "geometry"),
        ("If it stops early: another cone of this size, then rinse and a small file to the end.",),
    )


def canal(
    name: str,
    reference: str,
    wl: float,
    orifice: float,
    drawn: Section,
    *,
    chosen: ConeChoice,
    stops: tuple[tuple[str, str, float, float], ...],
    packed_top: float,
    fill: float,
    lengths: tuple[float, ...],
    heat: tuple[float, ...],
    ends_in: str | None = None,
) -> CanalPlan:
    pluggers = tuple(fit(n, role, tip, wl, binds) for n, role, tip, binds in stops)
    needle = "23 G needle"
    tops = [packed_top - sum(lengths[:i]) for i in range(len(lengths))]
    return CanalPlan(
        name=name,
        reference=reference,
        working_length_mm=wl,
        made_end_mm=wl,
        orifice_at_mm=orifice,
        ends_in=ends_in,
        splits_at_mm=None,
        technique="stepwise",
        technique_assumed=True,
        section=drawn,
        volume_mm3=Estimate(4.1, 3.6, 4.7, "mm³", "file sizes ±0.02 mm", "geometry"),
        cone=chosen,
        pluggers=(*pluggers, fit("plugger 120", None, 1.2, wl, orifice + 0.9)),
        heated_tips=(fit("heated tip 50", "downpack", 0.5, wl, heat[-1] + 1.1),),
        needles=(
            fit(needle, "deliver", 0.64, wl, packed_top + 0.6),
            fit("30 G needle", "irrigate", 0.31, wl, wl - 1.5),
        ),
        packed_volume_mm3=Estimate(0.9, 0.7, 1.2, "mm³", "packed top ±0.5 mm", "geometry"),
        unfilled_volume_mm3=Estimate(1.0, 0.9, 1.1, "mm³", "orifice ±0.2 mm", "geometry"),
        packed_top_mm=mm(packed_top, 0.5, "how far heat softens ahead of the tip", "goodman1981"),
        fill_level_mm=fill,
        cold_apical_part_mm=mm(2.4, 0.6, "heat reaches 2 to 3 mm ahead", "goodman1981"),
        cold_advice=("One step of 1 mm deeper would shorten it by 1 mm; the tip binds first.",),
        downpack=tuple(
            DownpackStep(
                i + 1, "heated tip 50", at, pluggers[i + 1].name, pluggers[i + 1].set_stop_mm, 5.0,
                mm(2.5, 0.5, "heat reaches 2 to 3 mm ahead", "goodman1981"),
            )
            for i, at in enumerate(heat)
        ),
        increments=tuple(
            Increment(
                length, Estimate(1.1, 0.9, 1.3, "mm³", "file sizes ±0.02 mm", "geometry"), needle,
                math.floor(top * 2) / 2, 5.0, False,
            )
            for length, top in zip(lengths, tops, strict=True)
        ),
        blind_gap_mm=mm(0.2, 0.2, "needle ±0.01 mm", "fit.reach"),
        cautions=("Thin wall towards the furcation, 0.8 mm: short heat, light push.",),
    )  # fmt: skip


def _mesial() -> tuple[CanalPlan, CanalPlan]:
    drawn = section(0.25, 0.06, 12.5, oval=1.25, arc=(25, 8, 3))
    mb = canal(
        "MB", "MB cusp tip, flattened", 19.5, 7.0, drawn, chosen=cone("25/.04", 25, 0.04, 19.0, 25, 0.5),
        stops=(("plugger 90", "coronal", 0.9, 9.0), ("plugger 70", "middle", 0.7, 12.1),
         ("plugger 50", "apical", 0.5, 15.1)), packed_top=14.5, fill=8.5, lengths=(2.0, 4.0), heat=(11.0, 14.0),
    )  # fmt: skip
    other = section(0.25, 0.06, 12.0, oval=1.25, arc=(22, 8, 3), own_from=3.0)
    ml = canal(
        "ML", "ML cusp tip", 19.0, 7.0, other, chosen=cone("25/.06", 25, 0.06, 15.7, 45, 0.3),
        stops=(("plugger 90", "coronal", 0.9, 8.5), ("plugger 70", "middle", 0.7, 11.6),
         ("plugger 50", "apical", 0.5, 14.6)), packed_top=13.5, fill=8.5,
        lengths=(1.5, 3.5), heat=(10.5, 12.5), ends_in="MB",
    )  # fmt: skip
    return mb, ml


def _distal() -> tuple[CanalPlan, CanalPlan]:
    db = canal(
        "DB", "DB cusp tip", 20.5, 7.5, section(0.35, 0.05, 13, oval=1.7, arc=(8, 18, 1), wall=None),
        chosen=cone("35/.04", 35, 0.04, 20.0, 35, 0.5),
        stops=(("plugger 90", "coronal", 0.9, 9.6), ("plugger 70", "middle", 0.7, 13.5),
         ("plugger 50", "apical", 0.5, 17.4)), packed_top=16.0, fill=9.0, lengths=(2.0, 3.5, 1.5), heat=(12.5, 15.5),
    )  # fmt: skip
    dl = canal(
        "DL", "DL cusp tip", 20.0, 7.5, section(0.3, 0.05, 12.5, oval=1.5, arc=(14, 12, 2)),
        chosen=cone("30/.04", 30, 0.04, 19.5, 30, 0.5),
        stops=(("plugger 80", "coronal", 0.8, 10.1), ("plugger 60", "middle", 0.6, 13.9),
         ("plugger 50", "apical", 0.5, 16.1)), packed_top=15.0, fill=9.0, lengths=(2.0, 4.0), heat=(12.5, 15.0),
    )  # fmt: skip
    return db, dl


READY = (
    Question("Name, birth date and tooth agree with the record", "yes"),
    Question("Consent for this step", "open"),
    Question("Isolated", "yes"),
    Question("Dry, and dry for a minute", "open"),
    Question("Cone film seen", "open"),
)

SOURCES = (
    SourceLine("geometry", "Geometry of the entered shape", "derived"),
    SourceLine("fit.reach", "Last position at which a stiff instrument passes", "derived"),
    SourceLine("fit.seat", "Lowest position at which the gap stays open", "derived"),
    SourceLine("fit.elastic", "Wall forces of an elastic tapered rod", "derived"),
    SourceLine("cunningham2006.spread", "Spread within and between five makes", "derived"),
    SourceLine("goodman1981", "Goodman et al. 1981, part IV, eight split teeth", "published"),
    SourceLine("practice", "Common practice, no source", "common practice"),
)


def molar() -> Plan:
    """46, four canals, the two mesial ones joined."""
    return Plan(
        id="K-0107",
        note="Invented for a demonstration.",
        tooth=ToothLine(46, 30, "iso3950", "46", "lower right first molar"),
        program="rootfill 0.1.0",
        tray="generic tray",
        tray_assumed=True,
        ready=READY,
        order=(
            OrderStep("MB", "Pack MB first; the ML cone stands in the join.", "ML"),
            OrderStep("ML", "Then ML, down to the join."),
            OrderStep("DB", "DB."),
            OrderStep("DL", "DL."),
        ),
        sealer=SealerPlan(
            "epoxy sealer", "a thin coat on the cone", "dry, not bone dry",
            "Not stated by its maker whether it may be heated.", "working time 4 h at 23 °C",
            Estimate(14.0, 10.0, 20.0, "min", "our estimate of each step", "practice"),
            ("The steps fit into the working time.",),
        ),
        cautions=(
            "No alcohol in the canal or on the tray while the tip is hot.",
            "Look for a middle mesial canal.",
            "Dimensions of the tray are assumed.",
        ),
        assumed=("Cone ends 0.5 mm short of the chosen end.", "Stops stand 0.5 mm short of binding."),
        canals=(*_mesial(), *_distal()),
        sources=SOURCES,
        unused=("images",),
    )  # fmt: skip


def molar_with_exit() -> Plan:
    """The same tooth, one distal canal with an open end."""
    plan = molar()
    because = "the end is 0.70 mm wide; from 0.60 mm on it counts as open"
    out = replace(_emptied(plan.canals[2]), exit=Exit("open_end", because, "an apical barrier, then back-fill only"))
    return replace(plan, id="K-0108", canals=(*plan.canals[:2], out, plan.canals[3]))


def _emptied(old: CanalPlan) -> CanalPlan:
    return CanalPlan(
        name=old.name, reference=old.reference, working_length_mm=old.working_length_mm,
        made_end_mm=old.made_end_mm, orifice_at_mm=old.orifice_at_mm, ends_in=old.ends_in,
        splits_at_mm=old.splits_at_mm, technique=old.technique, technique_assumed=old.technique_assumed,
        section=old.section,

    )  # fmt: skip


def premolar() -> Plan:
    """14, two canals; the palatal needle does not reach the packed top."""
    plan = molar()
    b = replace(plan.canals[3], name="B", reference="buccal cusp tip", ends_in=None)
    first, *rest = b.increments
    short = replace(first, filled_from_above=True, needle_set_stop_mm=11.5)
    p = replace(
        b, name="P", reference="palatal cusp tip", increments=(short, *rest),
        blind_gap_mm=mm(3.3, 0.3, "needle ±0.01 mm", "fit.reach"),
        options=("A 25 G needle would reach.", "Warm the top longer and pack it again."),
        cautions=("Needle stops 3.3 mm above the packed top.",),
    )  # fmt: skip
    return replace(
        plan, id="K-0109", tooth=ToothLine(14, 5, "iso3950", "14", "upper right first premolar"),
        order=(OrderStep("B", "B."), OrderStep("P", "P.")), canals=(b, p),
    )  # fmt: skip


def incisor() -> Plan:
    """11, one straight canal."""
    plan = molar()
    one = canal(
        "1", "incisal edge", 22.0, 10.5, section(0.45, 0.04, 11.5, wall=(1.2, 1.9)),
        chosen=cone("45/.04", 45, 0.04, 21.5, 45, 0.5),
        stops=(("plugger 90", "coronal", 0.9, 13.0), ("plugger 70", "middle", 0.7, 15.8),
         ("plugger 60", "apical", 0.6, 18.1)), packed_top=17.5, fill=12.0, lengths=(2.0, 3.5), heat=(14.0, 17.0),
    )  # fmt: skip
    return replace(
        plan, id="K-0110", tooth=ToothLine(11, 8, "iso3950", "11", "upper right central incisor"),
        order=(OrderStep("1", "One canal."),), canals=(one,),
    )  # fmt: skip


HOSTILE = '<script>alert("x")</script> & #set text(99pt) *MB*'


def absurd() -> Plan:
    """Six canals, every text far too long, two exits, names that would be markup anywhere."""
    plan = molar()
    long = "the mesiobuccal cusp tip after it was flattened twice and then flattened once again"
    warn = "Caution number {}: the wall towards the furcation is thin here, so heat is short and the push light."
    names = (HOSTILE, "second mesiobuccal canal", "DB", "DL", "middle mesial canal, the third", "P")
    canals = []
    for i, name in enumerate(names):
        old = plan.canals[i % 4]
        canals.append(
            replace(
                old,
                name=name,
                reference=f"{long} {i}",
                ends_in=names[0] if old.ends_in else None,
                cautions=tuple(warn.format(f"{i}.{k}") for k in range(8)),
                increments=old.increments * 2,
                pluggers=tuple(replace(p, name=f"{p.name} with the long bent handle") for p in old.pluggers),
            )
        )
    for i in (2, 4):
        because = "the end is 0.70 mm wide and has been resorbed on two sides, which no cone can close"
        canals[i] = replace(
            _emptied(canals[i]), exit=Exit("open_end", because, "an apical barrier, then back-fill " * 3)
        )
    return replace(
        plan,
        id="K-0111, an identification that was typed by someone with time",
        canals=tuple(canals),
        order=tuple(
            OrderStep(name, f"Pack {name} as number {i + 1}; " + "wait for it. " * 6) for i, name in enumerate(names)
        ),
        cautions=tuple(warn.format(f"T.{k}") for k in range(12)),
        ready=tuple(
            replace(q, question=f"{q.question}, asked at length and once more {i}", answer="open")
            for i, q in enumerate(READY * 3)
        ),
    )


PLANS: tuple[Callable[[], Plan], ...] = (molar, molar_with_exit, premolar, incisor, absurd)
"""Every sample, for tests that must hold for all of them."""


def warmed(plan: Plan) -> Plan:
    """The same with heat in its first canal, made by hand."""
    canal = plan.canals[0]
    steps = tuple(
        replace(s, heat_s=1.5, stop_by_s=2.0, wait_s=5.0, heat_setting_c=200.0, heat_says="",
                mouldable_ahead_mm=mm(0.5, 0.3, "made by hand", "invented"),
                surface_rise_c=Estimate(4.0, 2.0, 8.0, "°C", "made by hand", "invented"))
        for s in canal.downpack
    )  # fmt: skip
    heat = heated(canal.section.s_mm[-1])
    return replace(plan, canals=(replace(canal, downpack=steps, heat=heat), *plan.canals[1:]))


def heated(length_mm: float) -> CanalHeat:
    """A tip at half the length for 1.5 s, then a plugger, then nothing."""
    s = tuple(round(length_mm * i / 8, 3) for i in range(9))
    axis = tuple(tuple(37.0 + step * 20 * at / length_mm for at in s) for step in range(5))
    surface = tuple(tuple(37.0 + rise * at / length_mm for at in s) for rise in (0.0, 2.0, 4.0, 6.0, 1.0))
    warm = Estimate(4.0, 2.0, 8.0, "°C", "made by hand", "invented")
    middle = tuple(6.0 * at / length_mm for at in s)
    return CanalHeat(
        wall="wall as entered, 0.1 mm either way",
        surface_rise_c=warm,
        left_by=("ML",),
        end_peak_c=replace(warm, value=37.5, low=37.1, high=38.2),
        sealer_peak_c=replace(warm, value=70.0, low=60.0, high=90.0),
        sealer_warm_s=replace(warm, value=1.0, low=0.0, high=2.0, unit="s"),
        solid_after_s=replace(warm, value=2.0, low=1.0, high=3.0, unit="s"),
        along=RiseAlong(s, tuple(0.5 * x for x in middle), middle, tuple(1.4 * x for x in middle)),
        course=HeatCourse(
            (0.0, 0.7, 1.5, 4.0, 30.0),
            ("heat", "heat", "heat", "push", "empty"),
            (length_mm / 2,) * 5,
            s,
            axis,
            surface,
        ),
    )

"""The heat of one canal over its schedule: every moment in one picture, or a few beside one another."""

from __future__ import annotations

from collections.abc import Sequence

from rootfill.drawing.heat_panel import BODY_C, IN_CANAL, Panel
from rootfill.drawing.svg import document, tag, words
from rootfill.drawing.tokens import PAPER, Palette
from rootfill.plan.model import CanalHeat, CanalPlan, HeatCourse
from rootfill.units import shown


def heat_course(
    canal: CanalPlan, *, tokens: Palette = PAPER, prefix: str = "heat", size: tuple[float, float] = (620.0, 380.0)
) -> str:
    """Every moment, drawn over one another, as groups ``data-moment``; all but the warmest surface are hidden.

    Raises ValueError for a canal whose heat was not computed.
    """
    heat, (wide, tall) = _heat(canal), size
    panel = Panel(canal, heat, 44.0, 52.0, wide - 64.0, tall - 78.0, 13.0, tokens)
    first = warmest(heat.course)
    moments = [
        tag(
            "g",
            *panel.moment(i),
            data_moment=str(i),
            data_says=said(heat.course, i),
            visibility="visible" if i == first else "hidden",
        )
        for i in range(len(heat.course.times_s))
    ]
    band = tag("g", *panel.band())
    body = [band, *panel.ground(lettered=True), *moments]
    return document(size, f"Heat of {canal.name}", described(canal, heat), body, prefix=prefix)


def heat_moments(
    canal: CanalPlan, *, tokens: Palette = PAPER, prefix: str = "moments", small: float = 9.0, wide: float = 518.0
) -> str:
    """The end of each step's heat and the moment of the warmest surface, side by side.

    Raises ValueError for a canal whose heat was not computed.
    """
    heat = _heat(canal)
    chosen = moments_of(heat.course)
    gutter, tall, head = small * 2.6, small * 15, small * 4.6
    each = (wide - gutter) / len(chosen)
    body = list[str]()
    for place, index in enumerate(chosen):
        left = gutter + place * each
        panel = Panel(canal, heat, left, head, each - small * 2.2, tall, small, tokens)
        body += [*panel.band(), *panel.ground(lettered=False), *panel.moment(index)]
        body.append(words(_brief(heat.course, index), left, small * 1.2, small, tokens.ink, font_weight=600))
        if place == 0:
            body += [
                words("canal, °C", left, small * 3.7, small, tokens.heat),
                words("surface: now,", panel.surface_left, small * 2.5, small, tokens.ink),
                words("highest", panel.surface_left, small * 3.7, small, tokens.accent),
            ]
            body += _depths(panel, small)
    size = (wide, head + tall + small * 2)
    return document(size, f"Heat of {canal.name}, step by step", described(canal, heat), body, prefix=prefix)


def moments_of(course: HeatCourse) -> list[int]:
    """Moments worth a picture of their own: the last of each heating, and the warmest surface; five at most."""
    ends = [i for i, what in enumerate(course.what) if what == "heat" and course.what[i + 1 : i + 2] != ("heat",)]
    return sorted({*ends[-4:], warmest(course)})


def warmest(course: HeatCourse) -> int:
    """The moment at which the surface is warmest."""
    tops = [max(row) for row in course.surface_c]
    return tops.index(max(tops))


def said(course: HeatCourse, index: int) -> str:
    """'3.0 s, heated tip in: surface 2.1 °C warmer'."""
    what = IN_CANAL[course.what[index]] if index else "before the first heat"
    return f"{course.times_s[index]:.1f} s, {what}: surface {max(course.surface_c[index]) - BODY_C:.1f} °C warmer"


def _brief(course: HeatCourse, index: int) -> str:
    return f"{course.times_s[index]:.1f} s, {IN_CANAL[course.what[index]]}"


def described(canal: CanalPlan, heat: CanalHeat) -> str:
    """The picture in words."""
    rise = shown(heat.surface_rise_c)
    return (
        f"Down the canal {canal.name} from orifice to end: temperature on its axis below the instrument, and how much "
        f"the root’s surface is warmed. Highest rise {rise}; shaded: what is not known of wall, compound and contact."
    )


def _depths(panel: Panel, small: float) -> Sequence[str]:
    ends = (panel.canal.orifice_at_mm, panel.canal.made_end_mm)
    return [
        words(f"{depth:.0f}", panel.left - 4, panel.depth(panel.canal.made_end_mm - depth) + small * 0.35, small,
              panel.tokens.ink_2, text_anchor="end")
        for depth in ends
    ]  # fmt: skip


def _heat(canal: CanalPlan) -> CanalHeat:
    if canal.heat is None:
        raise ValueError(f"the heat of {canal.name} was not computed")
    return canal.heat

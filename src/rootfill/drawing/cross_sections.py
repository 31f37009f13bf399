"""The canal cut across at three levels: narrow by wide, wall ring, cone inside. A side view hides the wide way."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from rootfill.drawing.profile import half, station, wall
from rootfill.drawing.svg import document, line, tag, words
from rootfill.drawing.tokens import PAPER, Palette
from rootfill.plan.model import CanalPlan

LEVELS_MM = (2.0, 5.0, 10.0)
"""Usual distances from the end; a shorter canal is cut at its thirds."""


def levels(canal: CanalPlan) -> tuple[float, ...]:
    """Three stations on the canal's own stretch, the highest first."""
    low, high = canal.section.own_from_mm, canal.section.s_mm[-1]
    wanted = LEVELS_MM if high - low >= 10.5 else tuple((high - low) * share for share in (0.2, 0.5, 0.85))
    return tuple(low + above for above in reversed(wanted))


def cross_sections(
    canal: CanalPlan,
    *,
    tokens: Palette = PAPER,
    prefix: str = "cuts",
    px_per_mm: float = 32.0,
    small: float = 13.0,
    column: float = 165.0,
) -> str:
    """SVG text of three cuts on one scale, the most coronal first, each with its depth and its two widths."""
    cuts = levels(canal)
    tallest = max(_outer(canal, s)[0] for s in cuts) * 2 * px_per_mm
    middle = small * 1.6 + tallest / 2
    body: list[str] = []
    for i, s in enumerate(cuts):
        body += _cut(canal, s, (column * (i + 0.5), middle), px_per_mm, tokens)
        body += _says(canal, s, column * (i + 0.5), small * 1.6 + tallest + small * 1.3, small, tokens)
    height = small * 1.6 + tallest + small * 3.4
    said = [f"At {canal.made_end_mm - s:.1f} mm: {_widths(canal, s)}." for s in cuts]
    return document(
        (column * len(cuts), height), f"Cross-sections of {canal.name}", " ".join(said), body, prefix=prefix
    )


def stacked_sections(
    canal: CanalPlan,
    *,
    tokens: Palette = PAPER,
    prefix: str = "cuts",
    px_per_mm: float = 22.0,
    small: float = 13.0,
    width: float = 215.0,
) -> str:
    """The same three cuts one below the other, words beside them, for a narrow column."""
    cuts = levels(canal)
    outer = [_outer(canal, s) for s in cuts]
    tall = max(small * 4.2, 2 * max(narrow for narrow, _ in outer) * px_per_mm + 8)
    room = 2 * max(wide for _, wide in outer) * px_per_mm + 22
    body: list[str] = []
    for i, s in enumerate(cuts):
        body += _cut(canal, s, (room / 2, tall * (i + 0.5)), px_per_mm, tokens)
        body += _beside(canal, s, (room + small * 0.6, tall * (i + 0.5)), small, tokens)
    said = [f"At {canal.made_end_mm - s:.1f} mm: {_widths(canal, s)}." for s in cuts]
    size = (max(width, room + small * 9), tall * len(cuts))
    return document(size, f"Cross-sections of {canal.name}", " ".join(said), body, prefix=prefix)


def _beside(canal: CanalPlan, s: float, at: tuple[float, float], small: float, tokens: Palette) -> Iterator[str]:
    x, y = at
    yield words(f"at {canal.made_end_mm - s:.1f} mm", x, y - small * 0.2, small, tokens.ink, font_weight=700)
    yield words(_widths(canal, s), x, y + small * 1.05, small, tokens.ink_2)


def _cut(canal: CanalPlan, s: float, at: tuple[float, float], px: float, tokens: Palette) -> Iterator[str]:
    """Wide direction across the page, narrow direction up and down."""
    (x, y), known = at, canal.section.wall_mm is not None
    narrow, wide = _inner(canal, s)
    outer_narrow, outer_wide = _outer(canal, s)
    yield tag(
        "ellipse", cx=x, cy=y, rx=outer_wide * px, ry=outer_narrow * px,
        fill=tokens.dentine, stroke=tokens.dentine_line, stroke_width=1.0,
        stroke_dasharray=None if known else "4 2.5",
    )  # fmt: skip
    yield tag(
        "ellipse", cx=x, cy=y, rx=wide * px, ry=narrow * px,
        fill=tokens.void, stroke=tokens.ink, stroke_width=1.2,
    )  # fmt: skip
    radius = _cone(canal, s)
    if radius is not None:
        yield tag(
            "circle", cx=x, cy=y, r=min(radius, narrow) * px,
            fill=tokens.cone, stroke=tokens.compound_line, stroke_width=0.8,
        )  # fmt: skip
    for sign in (-1, 1):
        yield line((x + sign * (outer_wide * px + 4), y), (x + sign * (outer_wide * px + 9), y), tokens.ink_3, 0.8)


def _says(canal: CanalPlan, s: float, x: float, y: float, small: float, tokens: Palette) -> Iterator[str]:
    yield words(
        f"at {canal.made_end_mm - s:.1f} mm",
        x,
        small,
        small,
        tokens.ink,
        text_anchor="middle",
        font_weight=700,
    )
    yield words(_widths(canal, s), x, y, small, tokens.ink, text_anchor="middle")
    above = s - canal.section.own_from_mm
    what = "join" if canal.section.own_from_mm > 0 else "end"
    yield words(f"{above:.1f} mm above {what}", x, y + small * 1.3, small, tokens.ink_2, text_anchor="middle")


def _widths(canal: CanalPlan, s: float) -> str:
    narrow, wide = _inner(canal, s)
    return f"{2 * narrow:.2f} × {2 * wide:.2f} mm"


def _inner(canal: CanalPlan, s: float) -> tuple[float, float]:
    at = np.array([s])
    return float(half(canal.section, at)[0]), float(half(canal.section, at, wide=True)[0])


def _outer(canal: CanalPlan, s: float) -> tuple[float, float]:
    narrow, wide = _inner(canal, s)
    thick = float(wall(canal.section, np.array([s]))[0])
    return narrow + thick, wide + thick


def _cone(canal: CanalPlan, s: float) -> float | None:
    """Radius of the seated cone at this station; None where there is none."""
    if canal.cone is None or canal.exit is not None:
        return None
    above = s - station(canal, canal.cone.cone_to_mm.value)
    return (canal.cone.trim_to / 100 + canal.cone.taper * above) / 2 if above >= 0 else None

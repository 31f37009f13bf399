"""Palette and type scale of the house: one source for drawings, paper and page."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Final

FONT: Final = "Atkinson Hyperlegible Next"
SCALE: Final = (13, 15, 17, 22, 30, 40, 92, 172)
"""Type sizes of the page in px; paper takes the same steps in pt from its own base."""


@dataclass(frozen=True)
class Palette:
    """Colours by role, each '#RRGGBB'. Fills run from light to dark as the material gets denser."""

    paper: str
    ink: str
    ink_2: str
    ink_3: str
    """For what may be missed: rules and minor ticks, never words."""
    line: str
    dentine: str
    dentine_line: str
    enamel: str
    void: str
    backfill: str
    compound: str
    compound_line: str
    cone: str
    heat: str
    accent: str
    warning: str
    warning_ground: str


PAPER: Final = Palette(
    paper="#FBFAF7",
    ink="#1B232E",
    ink_2="#55606E",
    ink_3="#8D97A3",
    line="#DAD8D1",
    dentine="#F1EADB",
    dentine_line="#B7A888",
    enamel="#FAF6EC",
    void="#FFFFFF",
    backfill="#F3CDB9",
    compound="#E7A283",
    compound_line="#B9623D",
    cone="#B9623D",
    heat="#A34F2B",
    accent="#0D6A6B",
    warning="#B3261E",
    warning_ground="#FBE9E6",
)

DARK: Final = Palette(
    paper="#14181D",
    ink="#ECE8E0",
    ink_2="#B4BCC6",
    ink_3="#6C7683",
    line="#303841",
    dentine="#2F2C25",
    dentine_line="#8C8066",
    enamel="#3B3830",
    void="#0B0E11",
    backfill="#8A5138",
    compound="#C4754F",
    compound_line="#F0B190",
    cone="#F3BFA2",
    heat="#F2A27E",
    accent="#63C7C3",
    warning="#FF9086",
    warning_ground="#3B1E1C",
)

READING: Final = Palette(
    paper="#111214",
    ink="#E4E2DD",
    ink_2="#A6A9AE",
    ink_3="#6A6E74",
    line="#2A2C30",
    dentine="#2F2C25",
    dentine_line="#8C8066",
    enamel="#3B3830",
    void="#000000",
    backfill="#8A5138",
    compound="#C4754F",
    compound_line="#F0B190",
    cone="#F3BFA2",
    heat="#F2A27E",
    accent="#63C7C3",
    warning="#FF9086",
    warning_ground="#3B1E1C",
)
"""Around films and scans, by day as by night: greys without a hue, so that none is seen in the picture."""

PAGE: Final = Palette(**{part.name: f"var(--{part.name.replace('_', '-')})" for part in fields(Palette)})
"""The palette of whatever page a drawing stands in: its custom properties, light or dark."""

TEXT_ROLES: Final = ("ink", "ink_2", "heat", "accent", "warning")
FILL_ORDER: Final = ("void", "dentine", "backfill", "compound", "cone")
"""Fills that may touch, in the order of their lightness on paper."""

_ISO_SIZE_COLOURS: Final = {
    "#FFFFFF": (15, 45, 90),
    "#F2C61F": (20, 50, 100),
    "#C8322B": (25, 55, 110),
    "#2456A6": (30, 60, 120),
    "#2E8B3D": (35, 70, 130),
    "#1A1A1A": (40, 80, 140),
    "#F2A0B8": (6,),
    "#9A9A9A": (8,),
    "#7A4A9E": (10,),
}


def size_colour(size: int) -> str | None:
    """Colour the ISO standard gives this size, for a small dot beside it; None where it gives none."""
    return next((colour for colour, sizes in _ISO_SIZE_COLOURS.items() if size in sizes), None)


def luminance(colour: str) -> float:
    """Relative luminance 0 (black) to 1 (white) of '#RRGGBB'; what is left of a colour in greyscale."""
    channels = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, 1 to 21."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def css_variables(palette: Palette) -> str:
    """The palette as CSS custom properties: '--ink-2: #55606E; ...'."""
    return " ".join(f"--{part.name.replace('_', '-')}: {getattr(palette, part.name)};" for part in fields(palette))


def as_mapping(palette: Palette) -> dict[str, str]:
    """The palette as a plain mapping, for typst."""
    return {part.name: getattr(palette, part.name) for part in fields(palette)}

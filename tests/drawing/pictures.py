"""Reading a drawing back: its words and where they stand."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import dataclass

from rootfill.drawing.measure import width

SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Box:
    text: str
    left: float
    right: float
    top: float
    bottom: float

    def overlaps(self, other: Box) -> bool:
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return across > 0.5 and down > 0.5


def words_of(svg: str) -> list[str]:
    return [element.text or "" for element in ET.fromstring(svg).iter(f"{SVG}text")]


def boxes_of(svg: str) -> list[Box]:
    return [_box(element) for element in ET.fromstring(svg).iter(f"{SVG}text")]


def size_of(svg: str) -> tuple[float, float]:
    _, _, wide, tall = ET.fromstring(svg).attrib["viewBox"].split()
    return float(wide), float(tall)


def _box(element: ET.Element) -> Box:
    text, size = element.text or "", float(element.attrib["font-size"])
    wide = width(text, size, bold=element.get("font-weight") == "700")
    x, y = float(element.attrib["x"]), float(element.attrib["y"])
    left = x - {"end": wide, "middle": wide / 2}.get(element.get("text-anchor", ""), 0.0)
    return Box(text, left, left + wide, y - 0.68 * size, y + 0.02 * size)

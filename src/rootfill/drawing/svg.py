"""Small parts of SVG text: elements, escaped words, paths. Nothing here knows of teeth."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import chain
from xml.sax.saxutils import escape, quoteattr

from rootfill.drawing.tokens import FONT

Point = tuple[float, float]

_NOT_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

_ZEROS = re.compile(r"(?:\.00|(?<=\.[0-9])0)(?=[ L]|$)")
_MINUS_NOTHING = re.compile(r"-0(?=[ L]|$)")


def clean(text: str) -> str:
    """``text`` as it may stand in XML: escaped, without the control characters XML forbids."""
    return escape(_NOT_XML.sub("", text))


def number(value: float) -> str:
    """A coordinate, to a hundredth."""
    return "0" if abs(value) < 0.005 else f"{value:.2f}".rstrip("0").rstrip(".")


def tag(name: str, *inside: str, **attributes: object) -> str:
    """One element; ``stroke_width`` becomes ``stroke-width``, a None attribute is left out."""
    words = "".join(
        f" {_name(key)}={_quoted(number(value) if isinstance(value, float) else str(value))}"
        for key, value in attributes.items()
        if value is not None
    )
    return f"<{name}{words}>{''.join(inside)}</{name}>" if inside else f"<{name}{words}/>"


def words(text: str, x: float, y: float, size: float, fill: str, **attributes: object) -> str:
    """A line of text with its baseline at ``y``."""
    return tag("text", clean(text), x=x, y=y, font_size=size, fill=fill, **attributes)


def line(a: Point, b: Point, stroke: str, width: float, **attributes: object) -> str:
    """A straight stroke from ``a`` to ``b``."""
    return tag("line", x1=a[0], y1=a[1], x2=b[0], y2=b[1], stroke=stroke, stroke_width=width, **attributes)


def closed(points: Iterable[Point], **attributes: object) -> str:
    """A filled outline through ``points``."""
    return tag("path", d=f"{run(list(points))}Z", **attributes)


def opened(points: Iterable[Point], stroke: str, width: float, **attributes: object) -> str:
    """An open stroke through ``points``."""
    return tag("path", d=run(list(points)), fill="none", stroke=stroke, stroke_width=width, **attributes)


def run(points: Sequence[Point]) -> str:
    """Path data through ``points``: 'M1 2L3 4'."""
    text = "L%.2f %.2f" * len(points) % tuple(chain.from_iterable(points))
    return f"M{_MINUS_NOTHING.sub('0', _ZEROS.sub('', text))[1:]}"


def document(size: Point, title: str, description: str, body: Iterable[str], *, prefix: str, defs: str = "") -> str:
    """A whole SVG that scales by its viewBox and says in words what it shows."""
    head = tag("title", clean(title) or " ", id=f"{prefix}-title")
    told = tag("desc", clean(description) or " ", id=f"{prefix}-desc")
    return tag(
        "svg",
        head,
        told,
        tag("defs", defs) if defs else "",
        *body,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(size[0])} {number(size[1])}",
        role="img",
        aria_labelledby=f"{prefix}-title {prefix}-desc",
        font_family=f"{FONT}, sans-serif",
    )


def height(svg: str) -> float:
    """Height of a drawing made here, in px of its viewBox."""
    return _sides(svg)[1]


def width(svg: str) -> float:
    """Width of a drawing made here, in px of its viewBox."""
    return _sides(svg)[0]


def _sides(svg: str) -> tuple[float, float]:
    found = re.search(r'viewBox="0 0 (\S+) ([^" ]+)"', svg)
    if found is None:
        raise ValueError("not a drawing of this house: no viewBox")
    return float(found[1]), float(found[2])


@lru_cache(256)
def _name(keyword: str) -> str:
    return keyword.rstrip("_").replace("_", "-")


@lru_cache(512)
def _quoted(value: str) -> str:
    """Drawings say the same few colours and widths again and again."""
    return quoteattr(_NOT_XML.sub("", value))

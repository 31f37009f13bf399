"""typst, with the project's own fonts and data passed as JSON: no word of a case ever becomes markup."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from importlib.resources import as_file, files
from typing import Any, Literal, cast

import typst

from rootfill.drawing.tokens import FONT, PAPER, as_mapping


def pdf(template: str, data: Mapping[str, Any], printed: datetime) -> bytes:
    """The PDF of ``papers/<template>.typ`` filled with ``data``; embedded fonts, none of the machine's."""
    return _typeset(template, data, printed, "pdf")


PRINT_PPI = 220.0
"""Fine enough to be printed from."""


def png(template: str, data: Mapping[str, Any], printed: datetime) -> bytes:
    """The same, of one page, as a picture; an SVG would lose the letters of the drawing in it."""
    return _typeset(template, data, printed, "png")


def _typeset(template: str, data: Mapping[str, Any], printed: datetime, kind: Literal["pdf", "png"]) -> bytes:
    whole = {"font": FONT, "colours": as_mapping(PAPER), "printed": clock(printed), **data}
    source = (files("rootfill.papers") / f"{template}.typ").read_bytes()
    with as_file(files("rootfill") / "data" / "fonts") as fonts:
        return typst.compile(
            source,
            font_paths=cast("list[bytes]", [str(fonts)]),
            ignore_system_fonts=True,
            sys_inputs={"data": json.dumps(whole, ensure_ascii=False)},
            format=kind,
            ppi=PRINT_PPI,
            timestamp=int(printed.timestamp()),
        )


def clock(printed: datetime) -> str:
    """'24 November 2026, 10:42'."""
    return f"{printed.day} {printed:%B %Y, %H:%M}"

"""``python -m prove.studies_page``: the tables and the drawing of docs/heat-studies.md, from the evidence."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Sequence
from itertools import groupby
from pathlib import Path
from typing import Any

from prove.heat_setups import BANDS
from rootfill.drawing.measure import width
from rootfill.drawing.svg import document, line, tag, words
from rootfill.drawing.tokens import PAPER

DOCS = Path(__file__).parent.parent / "docs"
PAGE, PICTURE, EVIDENCE = DOCS / "heat-studies.md", DOCS / "heat-studies.svg", DOCS / "evidence" / "studies.json"
BEGIN, END = "<!-- from the evidence: begin -->\n", "<!-- from the evidence: end -->\n"
_LEFT, _WIDE, _ROW, _TOP = 440.0, 460.0, 26.0, 46.0
_LEAST, _MOST = 0.01, 30.0
Row = dict[str, Any]


def evidence() -> dict[str, Any]:
    """Results of the evidence, by seed."""
    results: dict[str, Any] = json.loads(EVIDENCE.read_text(encoding="utf-8"))["results"]
    return results


def tables(results: dict[str, Any]) -> str:
    """The part of the page that holds numbers."""
    first = next(iter(results.values()))
    counts = sorted({one["inside"] for one in results.values()})
    said = f"{counts[0]}" if len(counts) == 1 else f"{counts[0]} to {counts[-1]}"
    lines = [
        f"**{said} of {first['values']} values lie in the model's band** (90 % of {first['draws']} draws; "
        f"{len(results)} seeds, the numbers are those of the first).\n",
        "\n| not said by the studies | band |\n|---|---|\n",
        *(f"| {what} | {band} |\n" for what, band in BANDS),
        "\n| study | value | measured | model, middle (90 %) | in the band |\n|---|---|---|---|---|\n",
        *(_line(row) for row in first["rows"]),
        "\nWhat was done:\n\n",
        *_acts(first["rows"]),
    ]
    return "".join(lines)


def _line(row: Row) -> str:
    places = 0 if row["high"] - row["low"] >= 10 else 1
    low, middle, high = (f"{row[key]:.{places}f}" for key in ("low", "middle", "high"))
    model = f"{middle} ({low} to {high}) {row['unit']}"
    measured = f"{row['reported']} {row['unit']}"
    return f"| {row['study']} | {row['what']} | {measured} | {model} | {'yes' if row['inside'] else '**no**'} |\n"


def _acts(rows: Sequence[Row]) -> Iterator[str]:
    for (study, act, source), _ in groupby(rows, key=lambda row: (row["study"], row["act"], row["source"])):
        yield f"- {study}: {act} ({source}).\n"


def drawing(results: dict[str, Any]) -> str:
    """Each value as a multiple of what was measured, on a scale of ratios: band, middle, and a line at 1."""
    rows = next(iter(results.values()))["rows"]
    tall = _TOP + _ROW * len(rows) + 30
    body = [tag("rect", width=_LEFT + _WIDE + 30, height=tall, fill=PAPER.paper)]
    for ratio, name in ((0.01, "× 0.01"), (0.1, "× 0.1"), (1.0, "as measured"), (10.0, "× 10")):
        ink, thick = (PAPER.ink, 1.4) if ratio == 1.0 else (PAPER.line, 1.0)
        body.append(line((_x(ratio), _TOP - 8), (_x(ratio), tall - 26), ink, thick))
        body.append(words(name, _x(ratio), _TOP - 16, 13.0, PAPER.ink_2, text_anchor="middle"))
    for number, row in enumerate(rows):
        body += _bar(row, _TOP + _ROW * number + _ROW / 2)
    size = (_LEFT + _WIDE + 30, tall)
    told = "Each published value: the rise in the model as a multiple of the measured one."
    return document(size, "Published values and the model", told, body, prefix="studies") + "\n"


def _bar(row: Row, y: float) -> Iterator[str]:
    base = row["base"]
    low, middle, high = ((row[key] - base) / (row["value"] - base) for key in ("low", "middle", "high"))
    ink = PAPER.accent if row["inside"] else PAPER.warning
    label = f"{row['study'].split(' (')[0]}: {row['what']}"
    size = min(13.0, 13.0 * (_LEFT - 20) / width(label, 13.0))
    yield words(label, 8.0, y + 4.5, size, PAPER.ink)
    yield tag("rect", x=_x(low), y=y - 6, width=max(_x(high) - _x(low), 1.5), height=12.0, fill=ink, fill_opacity=0.25)
    yield line((_x(middle), y - 8), (_x(middle), y + 8), ink, 2.0)


def _x(ratio: float) -> float:
    share = math.log(min(max(ratio, _LEAST), _MOST) / _LEAST) / math.log(_MOST / _LEAST)
    return _LEFT + share * _WIDE


def with_tables(page: str, results: dict[str, Any]) -> str:
    """The page with its numbers made anew."""
    before, _, rest = page.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}{tables(results)}{END}{after}"


if __name__ == "__main__":
    PAGE.write_text(with_tables(PAGE.read_text(encoding="utf-8"), evidence()), encoding="utf-8")
    PICTURE.write_text(drawing(evidence()), encoding="utf-8")

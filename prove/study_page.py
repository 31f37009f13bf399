"""The tables and the drawing of docs/heat-studies.md, from the evidence and the bands.

``python -m prove.study_page`` writes them anew; the words about them are written by hand.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from prove import study_bands as bands
from rootfill.drawing.svg import document, line, tag, words
from rootfill.drawing.tokens import PAPER

DOCS = Path(__file__).parent.parent / "docs"
SEED = "1"
"""Whose draws the page shows."""
MODELLED = "cen_"
LABELS = {
    "venturi_small_low": ("Venturi, apex 0.20 to 0.25 mm", "surface, 1.5 mm from the apex", "K"),
    "venturi_small_high": ("Venturi, apex 0.20 to 0.25 mm", "surface, 2 mm below the crown", "K"),
    "venturi_wide_low": ("Venturi, apex 0.30 to 0.35 mm", "surface, 1.5 mm from the apex", "K"),
    "venturi_wide_high": ("Venturi, apex 0.30 to 0.35 mm", "surface, 2 mm below the crown", "K"),
    "floren_5": ("Floren", "surface, 5 mm from the apex", "K"),
    "sweatman_6": ("Sweatman, heated", "canal wall at 6 mm, highest mean", "K"),
    "sweatman_0": ("Sweatman, heated", "canal wall at 0 mm, lowest mean", "K"),
    "sweatman_injected_0": ("Sweatman, injected", "canal wall at 0 mm", "K"),
    "sweatman_injected_6": ("Sweatman, injected", "canal wall at 6 mm", "K"),
    "blum_8": ("Blum", "filling at 8 mm", "°C"),
    "blum_4": ("Blum", "filling at 4 mm", "°C"),
    "blum_2": ("Blum", "filling at 2 mm", "°C"),
    "blum_0": ("Blum", "filling at 0 mm", "°C"),
    "blum_0_above": ("Blum", "time above 42.9 °C at 0 mm", "s"),
    "goodman_body": ("Goodman", "filling, body of the canal", "°C"),
    "goodman_apex": ("Goodman", "filling, apical (40 to 42)", "°C"),
    "goodman_ahead": ("Goodman", "heat ahead of the tip (2 to 3)", "mm"),
    "cen_plunge_distal": ("Cen, plunge, distal", "bone side of the ligament", "°C"),
    "cen_plunge_mesial": ("Cen, plunge, mesiolingual", "bone side of the ligament", "°C"),
    "cen_packed_distal": ("Cen, packed and filled, distal", "bone side of the ligament", "°C"),
    "cen_packed_mesial": ("Cen, packed and filled, mesiolingual", "bone side of the ligament", "°C"),
}
Results = Mapping[str, Any]
LEFT, WIDE, ROW, TOP = 430.0, 420.0, 26.0, 70.0
FEWEST, MOST = 0.01, 20.0
"""Ends of the drawing's axis; what lies beyond is drawn at its end."""


def summary(results: Results) -> str:
    """How many values lie in the model's band, with each seed."""
    ours = _count(results[SEED], modelled=False)
    theirs = _count(results[SEED], modelled=True)
    seeds = ", ".join(str(_count(results[seed], modelled=False)[0]) for seed in results)
    return (
        f"**{ours[0]} of {ours[1]} measured values lie in the model's band**, and {theirs[0]} of {theirs[1]} values of "
        f"another model ({len(results)} sets of draws: {seeds})."
    )


def value_rows(results: Results) -> list[str]:
    """One row per published value."""
    head = ["| study | where | published (SD) | model 5 / 50 / 95 % | in the band |", "|---|---|---|---|---|"]
    return head + [_value_row(id, one) for id, one in results[SEED]["values"].items()]


def _value_row(id: str, one: Mapping[str, Any]) -> str:
    study, where, unit = LABELS[id]
    spread = "" if one["sd"] is None else f" ({one['sd']:g})"
    band = " / ".join(_shown(one[p]) for p in ("p5", "p50", "p95"))
    return f"| {study} | {where} | {one['value']:g}{spread} {unit} | {band} | {'yes' if one['in_band'] else '**no**'} |"


def shape_rows(results: Results) -> list[str]:
    """What the studies say besides single values."""
    found = results[SEED]["shapes"]
    rises = [v["p95"] / v["p5"] for id, v in results[SEED]["values"].items() if LABELS[id][2] == "K"]
    p = {key: " / ".join(_shown(x) for x in value) for key, value in found.items() if isinstance(value, list)}
    return [
        "| study | published | model |",
        "|---|---|---|",
        f"| Floren: hottest of ten sites, tip at 3 mm | 5 mm | {p['floren_hottest_mm']} mm |",
        f"| Floren: highest over lowest rise, dial 250 to 600 °C | 12.06 / 8.85 = {12.06 / 8.85:.2f} | "
        f"{found['floren_dial_factor']:g}, if the tip followed the dial |",
        f"| Sweatman: largest rise outside | below 10 K everywhere | {p['sweatman_outside_k']} K; "
        f"below 10 K in {found['sweatman_outside_cool_percent']} % of the draws |",
        f"| Viapiana: time of the peak on the surface | about 90 s | {p['viapiana_peak_s']} s |",
        f"| Viapiana: rise left at 6 min, in air | none | {p['viapiana_left_percent']} % of the peak |",
        f"| Floren at 5 mm: largest change on a mesh twice as fine | | {found['floren_finer_mesh_percent']:g} % |",
        f"| all rises in K: upper over lower end of the band | | {min(rises):.1f} to {max(rises):.1f} |",
    ]


def band_rows() -> list[str]:
    """The bands as they stand in the code."""
    density = f"{_band(bands.COMPOUND_KG_M3)} kg/m³, {bands.COMPOUND_CP:g} J/kg/K"
    dentine = f"{_band(bands.DENTINE_K)} W/m/K; {bands.DENTINE_KG_M3:g} kg/m³, {bands.DENTINE_CP:g} J/kg/K"
    return [
        "| unknown | band | from |",
        "|---|---|---|",
        f"| tip, constant while heated | {_band(bands.TIP_C)} °C | tips measured at one setting |",
        f"| resistance between tip and filling | {_band(bands.RESISTANCE_M2K_W)} m²K/W | a guess |",
        f"| conductivity of the compound | {_band(bands.COMPOUND_K)} W/m/K, log-uniform | four cones, Fan 2017 |",
        f"| density, heat capacity of the compound | {density} | derived from filler; Miner 2006 |",
        f"| dentine | {dentine} | Lin 2010; the rest from memory |",
        f"| thickness of the wall | {_band(bands.WALL_MM)} mm | a guess |",
        f"| seconds of heat, at each step | {_band(bands.HEAT_S)} s | common practice |",
        f"| depth of the tip where not given | {_band(bands.DEPTH_MM)} mm from the end | common practice |",
        f"| film of air; temperature | {_band(bands.AIR_W_M2K)} W/m²/K; {_band(bands.AIR_C)} °C | from memory |",
        f"| film of water at {bands.BODY_C:g} °C | {_band(bands.WATER_W_M2K)} W/m²/K | from memory |",
        f"| injected compound | {_band(bands.INJECTED_C)} °C | lowest mean in a canal, Weller & Koch 1994; hottest "
        "extruded, Lottanti 2014 |",
    ]


def drawing(results: Results) -> str:
    """Each band as a bar over the published value, which is 1; temperatures as rises above 37 °C."""
    values = results[SEED]["values"]
    size = (LEFT + WIDE + 30.0, TOP + ROW * len(values) + 40.0)
    body = [tag("rect", width=size[0], height=size[1], fill=PAPER.paper), *_axis(TOP + ROW * len(values))]
    for number, (id, one) in enumerate(values.items()):
        body += _bar(TOP + ROW * (number + 0.5), id, one)
    says = "; ".join(
        f"{LABELS[id][0]}, {LABELS[id][1]}: {'in' if v['in_band'] else 'not in'}" for id, v in values.items()
    )
    return document(
        size, "Published values and the model's bands", f"In the band or not: {says}", body, prefix="studies"
    )


def _axis(low: float) -> Iterator[str]:
    yield words("The model's band (5 to 95 %) over the published value", 20.0, 28.0, 15.0, PAPER.ink, font_weight=600)
    yield words(
        "dot: published, with its SD; red: outside the band. Temperatures count as rises above 37 °C",
        20.0,
        48.0,
        13.0,
        PAPER.ink_2,
    )
    for share in (0.01, 0.1, 1.0, 10.0):
        yield line((_x(share), TOP), (_x(share), low), PAPER.ink_3, 1.0)
        yield words(f"{share:g}×", _x(share), low + 20, 13.0, PAPER.ink_2, text_anchor="middle")


def _bar(y: float, id: str, one: Mapping[str, Any]) -> Iterator[str]:
    study, where, unit = LABELS[id]
    start = bands.BODY_C if unit == "°C" else 0.0
    low, high, value = (one[key] - start for key in ("p5", "p95", "value"))
    colour = PAPER.accent if one["in_band"] else PAPER.warning
    yield words(f"{study}: {where}", 20.0, y + 4, 12.0, PAPER.ink)
    left, right = _x(low / value), _x(high / value)
    yield tag("rect", x=left, y=y - 5, width=max(right - left, 3.0), height=10.0, fill=colour, fill_opacity=0.45)
    if one["sd"] is not None:
        yield line((_x(1 - one["sd"] / value), y), (_x(1 + one["sd"] / value), y), PAPER.ink, 1.5)
    yield tag("circle", cx=_x(1.0), cy=y, r=4.0, fill=PAPER.ink)


def _x(share: float) -> float:
    inside = min(max(share, FEWEST), MOST)
    return LEFT + WIDE * math.log(inside / FEWEST) / math.log(MOST / FEWEST)


def _count(result: Results, *, modelled: bool) -> tuple[int, int]:
    inside = [one["in_band"] for id, one in result["values"].items() if id.startswith(MODELLED) == modelled]
    return sum(inside), len(inside)


def _shown(value: float) -> str:
    return f"{value:.0f}" if value >= 100 else f"{value:.1f}"


def _band(ends: tuple[float, float]) -> str:
    return f"{ends[0]:g} to {ends[1]:g}"


def parts(results: Results) -> dict[str, str]:
    """What stands on the page between marks of these names."""
    tables = {"values": value_rows(results), "shapes": shape_rows(results), "bands": band_rows()}
    return {"summary": summary(results), **{name: "\n".join(rows) for name, rows in tables.items()}}


def results() -> dict[str, Any]:
    """The evidence as it stands."""
    kept = json.loads((DOCS / "evidence" / "studies.json").read_text(encoding="utf-8"))
    return dict(kept["results"])


def part(name: str) -> re.Pattern[str]:
    """Finds what stands on the page between the marks of a name."""
    return re.compile(rf"(?<=<!-- {name} -->\n\n).*?(?=\n\n<!-- /{name} -->)", re.DOTALL)


def main() -> None:
    """Write tables and drawing anew."""
    page, found = DOCS / "heat-studies.md", results()
    text = page.read_text(encoding="utf-8")
    for name, inside in parts(found).items():
        text = part(name).sub(inside.replace("\\", r"\\"), text)
    page.write_text(text, encoding="utf-8")
    (DOCS / "heat-studies.svg").write_text(drawing(found) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()

"""A section file as it is entered, checked, and handed to the heat computations, or one sentence why not."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from itertools import pairwise
from typing import Annotated

import numpy as np
from pydantic import Field, TypeAdapter
from pydantic.dataclasses import dataclass

from rootfill import tables
from rootfill.errors import InputRefused, Said
from rootfill.heat import HELD, Material, Materials, Section, Source, Transition
from rootfill.units import ENTERED, FloatArray, Within

LEAST_WALL_MM = 0.01
LEAST_APART_MM = 0.05

Length = Annotated[float, Within(gt=0, le=100)]
Rows = Annotated[
    tuple[tuple[Annotated[float, Within(ge=0, le=100)], Annotated[float, Within(gt=0, le=100)]], ...],
    Field(min_length=1, max_length=200),
]
Celsius = Annotated[float, Within(ge=-50, le=1000)]
Time = Annotated[float, Within(ge=0, le=3600)]


@dataclass(frozen=True, config=ENTERED)
class SectionEntry:
    """The root about its canal: rows of station and diameter; the block about it."""

    length_mm: Length
    canal: Rows
    root: Rows
    block_radius_mm: Length
    block_below_mm: Length
    ligament_mm: Annotated[float, Within(ge=0, le=5)] | None = None


@dataclass(frozen=True, config=ENTERED)
class MaterialEntry:
    """Properties of one material; latent heat and melting point go together."""

    k_w_mk: Annotated[float, Within(gt=0, le=1000)]
    density_kg_m3: Annotated[float, Within(gt=0, le=25000)]
    cp_j_kgk: Annotated[float, Within(gt=0, le=20000)]
    latent_j_kg: Annotated[float, Within(ge=0, le=1000000)] | None = None
    melts_c: Celsius | None = None


@dataclass(frozen=True, config=ENTERED)
class MaterialsEntry:
    """What fills canal, root and block; without its own entry the ligament is taken as soft tissue."""

    compound: MaterialEntry
    dentine: MaterialEntry
    block: MaterialEntry
    ligament: MaterialEntry | None = None


@dataclass(frozen=True, config=ENTERED)
class SourceEntry:
    """A heated tip: where its end stands, from when to when, how warm it really is."""

    tip_s_mm: Annotated[float, Within(ge=0, le=100)]
    from_s: Time
    until_s: Time
    temperature_c: Celsius
    contact_w_m2k: Annotated[float, Within(gt=0, le=1000000000)] | None = None


@dataclass(frozen=True, config=ENTERED)
class SurroundingsEntry:
    temperature_c: Annotated[float, Within(ge=-50, le=200)]


@dataclass(frozen=True, config=ENTERED)
class RunEntry:
    seconds: Annotated[float, Within(gt=0, le=3600)]


@dataclass(frozen=True, config=ENTERED)
class HeatFile:
    """A whole section file."""

    section: SectionEntry
    surroundings: SurroundingsEntry
    materials: MaterialsEntry
    source: Annotated[tuple[SourceEntry, ...], Field(min_length=1, max_length=100)]
    run: RunEntry


@cache
def heat_adapter() -> TypeAdapter[HeatFile]:
    """Validator and JSON Schema of a section file."""
    return TypeAdapter(HeatFile)


def section_of(entered: HeatFile) -> Section:
    given = entered.section
    canal, root = _rows("section.canal", given.canal, given), _rows("section.root", given.root, given)
    ligament = _ligament(entered)
    thick = (given.ligament_mm or 0.0) if ligament else 0.0
    _thick_enough(canal, root, given)
    least = float(root[:, 1].max()) / 2 + thick + LEAST_APART_MM
    if given.block_radius_mm < least:
        raise InputRefused(
            "section.block_radius_mm", Said(f"{given.block_radius_mm:g}"), f"at least {least:g} mm, outside the root"
        )
    if given.block_below_mm < thick + LEAST_APART_MM:
        below = f"at least {thick + LEAST_APART_MM:g} mm, below the ligament"
        raise InputRefused("section.block_below_mm", Said(f"{given.block_below_mm:g}"), below)
    kinds = ("compound", "dentine", "block")
    compound, dentine, block = (_material(f"materials.{kind}", getattr(entered.materials, kind)) for kind in kinds)
    materials = Materials(compound, dentine, block, ligament)
    return Section(given.length_mm, canal, root, given.block_radius_mm, given.block_below_mm, materials, thick)


def _rows(field: str, rows: Rows, given: SectionEntry) -> FloatArray:
    """Rows as an array. Raises InputRefused where stations do not ascend, or lie outside the root."""
    for (a, _), (b, _) in pairwise(rows):
        if b - a < LEAST_APART_MM - 1e-9:
            raise InputRefused(
                field, Said(f"{b:g} after {a:g}"), f"stations ascend, {LEAST_APART_MM:g} mm at least apart"
            )
    if rows[-1][0] > given.length_mm + 1e-9:
        raise InputRefused(field, Said(f"{rows[-1][0]:g} mm up"), f"stations from 0 to {given.length_mm:g} mm")
    return np.array(rows, dtype=float)


def _thick_enough(canal: FloatArray, root: FloatArray, given: SectionEntry) -> None:
    for s in sorted({0.0, given.length_mm, *canal[:, 0], *root[:, 0]}):
        inner, outer = (float(np.interp(s, *rows.T)) for rows in (canal, root))
        if outer - inner < 2 * LEAST_WALL_MM:
            least = f"at least {inner + 2 * LEAST_WALL_MM:g} mm: thicker than the canal"
            raise InputRefused("section.root", Said(f"{outer:g} mm thick at {s:g} mm"), least)


def _material(field: str, given: MaterialEntry) -> Material:
    if given.latent_j_kg and given.melts_c is None:
        raise InputRefused(f"{field}.melts_c", None, "give the temperature at which latent_j_kg is taken up")
    if given.melts_c is not None and given.latent_j_kg is None:
        raise InputRefused(f"{field}.latent_j_kg", None, "give the heat taken up at melts_c")
    melts = given.latent_j_kg and given.melts_c is not None
    transition = Transition.sharp(given.latent_j_kg or 0.0, given.melts_c or 0.0) if melts else None
    return Material(given.k_w_mk, given.density_kg_m3, given.cp_j_kgk, transition)


def _ligament(entered: HeatFile) -> Material | None:
    given = entered.materials.ligament
    if not entered.section.ligament_mm:
        if given is not None:
            raise InputRefused("section.ligament_mm", None, "give the thickness of the ligament, in mm")
        return None
    if given is not None:
        return _material("materials.ligament", given)
    row = layer("ligament")
    return Material(float(row["k_w_mk"]), float(row["density_kg_m3"]), float(row["cp_j_kgk"]))


def layer(name: str) -> Mapping[str, str]:
    return next(row for row in tables.table("heat_layers") if row["layer"] == name)


def sources_of(entered: HeatFile) -> list[Source]:
    """In the order of time. Raises InputRefused for one outside the canal or the run, or in with another."""
    highest = entered.section.length_mm - LEAST_APART_MM
    for i, given in enumerate(entered.source):
        field = f"source[{i}]"
        if given.tip_s_mm > highest:
            raise InputRefused(
                f"{field}.tip_s_mm", Said(f"{given.tip_s_mm:g}"), f"0 to {highest:g} mm, inside the canal"
            )
        if not given.from_s < given.until_s <= entered.run.seconds:
            allowed = f"after from_s, {given.from_s:g}, and at most run.seconds, {entered.run.seconds:g}"
            raise InputRefused(f"{field}.until_s", Said(f"{given.until_s:g}"), allowed)
    order = sorted(range(len(entered.source)), key=lambda i: entered.source[i].from_s)
    for a, b in pairwise(order):
        ends, begins = entered.source[a].until_s, entered.source[b].from_s
        if begins < ends:
            raise InputRefused(f"source[{b}].from_s", Said(f"{begins:g}"), f"{ends:g} or later: one tip at a time")
    return [_source(entered.source[i]) for i in order]


def _source(given: SourceEntry) -> Source:
    contact = HELD if given.contact_w_m2k is None else given.contact_w_m2k
    return Source.still(given.tip_s_mm, given.from_s, given.until_s, given.temperature_c, contact)

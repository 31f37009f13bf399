"""The fields of a canal as they are typed in one line each, and read back.

A cell shows what is kept in the words in which it may be typed: '30/.04', 'straight', 'MB at 3.5'.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from rootfill.clinic import cell_text as words
from rootfill.clinic.check_row import check_row
from rootfill.clinic.kept import Fields
from rootfill.errors import InputRefused, Said

Keys = tuple[str, ...]


@dataclass(frozen=True)
class Cell:
    """One field of the page: its words, the keys of the case file it stands for, an example, and its choices."""

    field: str
    label: str
    keys: Keys
    example: str
    unit: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    """(what is kept as text, what is shown); empty for a field that is typed."""


NOT_KNOWN = ("", "not known")
YES_NO = (NOT_KNOWN, ("yes", "yes"), ("no", "no"))
DRYING = (NOT_KNOWN, ("dry", "dry"), ("damp", "damp"), ("blood", "bleeding"))
TECHNIQUES = (
    ("", "stepwise, assumed"),
    ("stepwise", "stepwise"),
    ("single_wave", "single wave"),
    ("injected_only", "injected only"),
)
SECTIONS = (NOT_KNOWN, ("round", "round"), ("oval", "oval"), ("c_shape", "C-shaped"))
CANAL = (
    Cell("name", "canal", ("name",), "MB"),
    Cell("reference", "measured from", ("reference",), "MB cusp tip"),
    Cell("length", "length to the end", ("working_length_mm",), "20.5", "mm"),
    Cell("shape", "last file", ("made", "files", "profile"), "30/.04"),
    Cell("orifice", "orifice depth", ("orifice_at_mm",), "8.0", "mm"),
    Cell("curve", "curve", ("curvature",), "straight, or 28 r 11 from 1.5"),
    Cell("drying", "dry", ("drying",), "", choices=DRYING),
    Cell("patent", "patent", ("patent",), "", choices=YES_NO),
    Cell("joins", "joins", ("joins",), "MB at 3.5 above the end"),
    Cell("wall", "thinnest wall", ("wall_mm",), "0.9, or 0 1.0; 8 0.85", "mm"),
    Cell("technique", "technique", ("technique",), "", choices=TECHNIQUES),
    Cell("section", "cross-section", ("shape",), "", choices=SECTIONS),
    Cell("flare", "wider at the top by", ("flare_mm",), "0.1", "mm"),
    Cell("post", "post planned", ("post_planned",), "", choices=(("", "no"), ("yes", "yes"))),
    Cell("pack_to", "packed top wanted at", ("pack_to_mm",), "15", "mm"),
    Cell("features", "in the way", ("features",), "ledge 2 to 3; fragment 5 to 7"),
    Cell("splits", "divides", ("splits",), "4 above the end"),
)
VISIT = (
    Cell("identity", "identity and tooth checked", ("identity",), "", choices=YES_NO),
    Cell("consent", "consent for this step", ("consent",), "", choices=YES_NO),
    Cell("anaesthetised", "anaesthetised", ("anaesthetised",), "", choices=YES_NO),
    Cell("isolated", "isolated", ("isolated",), "", choices=YES_NO),
    Cell("rinsed", "final rinse done", ("rinsed",), "", choices=YES_NO),
    Cell("dry_for_a_minute", "still dry after a minute", ("dry_for_a_minute",), "", choices=YES_NO),
    Cell("length_retaken", "length taken again after shaping", ("length_retaken",), "", choices=YES_NO),
    Cell("cone_film_seen", "cone film seen", ("cone_film_seen",), "", choices=YES_NO),
)
PATIENT = (
    Cell("allergies", "allergies", ("allergies",), "none, or latex, iodine"),
    Cell("pacemaker", "pacemaker", ("pacemaker",), "", choices=YES_NO),
)
BASELINE = (
    Cell("pulp", "pulp before", ("pulp",), "vital, necrotic, treated"),
    Cell("apex", "apex", ("apex",), "closed, open, resorbed"),
    Cell("fracture_suspected", "fracture suspected", ("fracture_suspected",), "", choices=YES_NO),
)
MATERIALS = (Cell("sealer", "sealer", ("sealer",), "its name on the tray"),)
CASE = (
    Cell("id", "case", ("id",), "C-0001"),
    Cell("diagnosis", "diagnosis", ("diagnosis",), "necrotic pulp"),
    Cell("note", "note", ("note",), "a line for yourself"),
)
CELLS: Mapping[str, tuple[Cell, ...]] = {
    "canal": CANAL,
    "visit": VISIT,
    "patient": PATIENT,
    "baseline": BASELINE,
    "materials": MATERIALS,
    "case": CASE,
}
"""The fields of each part of a case, in the order in which they stand on the page."""


def cell(part: str, field: str) -> Cell:
    """One field. Raises InputRefused for one that the page does not have."""
    known = CELLS.get(part, ())
    for one in known:
        if one.field == field:
            return one
    raise InputRefused("field", f"{part}.{field}", f"fields here: {', '.join(c.field for c in known) or 'none'}")


def cell_text(cell: Cell, entered: Fields) -> str:
    """What stands in a cell; '' for what is not known."""
    for key in cell.keys:
        if entered.get(key) is not None:
            return words.TO_TEXT.get(key, words.plain)(entered[key])
    return ""


def with_cell(part: str, cell: Cell, entered: Fields, text: str) -> dict[str, Any]:
    """The fields of the row after ``text`` was typed into a cell.

    Raises InputRefused, in the words of the page, for what cannot be read or cannot be right.
    """
    rest = {key: value for key, value in entered.items() if key not in cell.keys}
    typed = " ".join(text.split())
    if not typed:
        return rest
    try:
        read = _read(cell, typed)
    except (ValueError, KeyError, IndexError):
        raise InputRefused(cell.label, text, _how(cell)) from None
    try:
        check_row(part, read)
    except InputRefused as refused:
        raise InputRefused(cell.label, Said(typed), refused.allowed) from None
    return {**rest, **read}


def _read(cell: Cell, typed: str) -> Mapping[str, Any]:
    if cell.choices is YES_NO:
        return {cell.keys[0]: {"yes": True, "no": False}[typed]}
    if cell.choices and typed not in dict(cell.choices):
        raise ValueError(typed)
    read = words.FROM_TEXT.get(cell.field)
    return {cell.keys[0]: typed} if read is None else read(typed)


def _how(cell: Cell) -> str:
    if cell.choices:
        return f"allowed: {', '.join(kept or 'nothing' for kept, _ in cell.choices)}"
    return f"type it like this: {cell.example}"

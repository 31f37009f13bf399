"""A film in, its check out: lengths with their calibration, the class with its doubt, and what has to be done."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from rootfill import tables
from rootfill.clinic.urgent import urgent_path
from rootfill.errors import InputRefused
from rootfill.images import Film
from rootfill.images.film import (
    Calibration,
    Compared,
    FilmCheck,
    Marks,
    bounds,
    check_film,
    compare,
    from_file,
    from_ruler,
    from_scale,
    grade,
    may_be,
    pixel_mm,
    ranged,
)
from rootfill.images.read import read_film
from rootfill.tooth import ToothNumber, tooth_number
from rootfill.units import Estimate, FloatArray

NO_MM = "The film has no scale: every length is in pixels. Mark a file of known length with --file-line, or --ruler."
TILT = (
    "A tooth tilted to the film is shown shorter or longer than it is: no scale can take that out, "
    "the interval allows for {deg:g} degrees."
)
APEX_ONLY = "Lengths end at the radiographic apex, which is not the foramen."


@dataclass(frozen=True, eq=False)
class Pointed:
    """What was typed about a film: points in pixels [x, y], lines as (n, 2), lengths in mm, the tooth's number."""

    marks: Marks
    ruler: tuple[FloatArray, float] | None = None
    file_line: tuple[FloatArray, float] | None = None
    spacing_mm: Sequence[float] | None = None
    tooth: str | None = None
    before: Path | None = None


@dataclass(frozen=True, eq=False)
class FilmResult:
    """A checked film: the check, its calibration, lengths as estimates (None without scale), and what to say."""

    check: FilmCheck
    calibration: Calibration
    end_to_apex: Estimate | None
    end_to_foramen: Estimate | None
    length: Estimate | None
    urgent: tuple[str, ...]
    warnings: tuple[str, ...]
    before: Compared | None = None

    @property
    def kind(self) -> str | None:
        """Class by value; None without a scale, except beyond the apex, which needs none."""
        if self.end_to_apex is not None:
            return grade(self.end_to_apex.value)
        return "over" if self.check.gap_px < 0 else None

    @property
    def may_be(self) -> tuple[str, ...]:
        """Every class the interval touches."""
        if self.end_to_apex is None:
            return ()
        return may_be(self.end_to_apex.low, self.end_to_apex.high)


def check_film_file(path: Path, pointed: Pointed) -> FilmResult:
    """Read a film and check it. Raises InputRefused."""
    film = read_film(path, pointed.spacing_mm)
    before = None if pointed.before is None else read_film(pointed.before)
    return check_read(film, pointed, before)


def check_read(film: Film, pointed: Pointed, before: Film | None = None) -> FilmResult:
    """Check a film that was read."""
    tooth = None if pointed.tooth is None else tooth_number(pointed.tooth, "iso3950")
    calibration = calibration_of(film, pointed)
    check = check_film(film, pointed.marks, calibration)
    gap = length_of(check.gap_px, check.doubt_px, calibration, check.apex - check.end)
    foramen = None if gap is None else to_foramen(gap, tooth)
    urgent = _urgent(tooth, check.beyond.core, gap)
    length = None
    if check.lines.length_px is not None:
        way = np.asarray(pointed.marks.reference) - check.apex
        doubt = float(np.hypot(tables.rule("film_pointed_px").value, check.doubt_px))
        length = length_of(check.lines.length_px, doubt, calibration, way)
    compared = None
    if before is not None and check.band is not None:
        compared = compare(ranged(film.values), ranged(before.values), check.band, check.guide_mm)
    said = [*_warnings(calibration, check, gap), *_of_before(compared)]
    warnings = (*_of_film(film, pointed), *check.cautions, *said)
    return FilmResult(check, calibration, gap, foramen, length, urgent, warnings, compared)


def calibration_of(film: Film, pointed: Pointed) -> Calibration:
    """The best there is: a file in the canal, else two points, else the scale of the film."""
    if pointed.file_line is not None:
        return from_file(*pointed.file_line)
    if pointed.ruler is not None:
        return from_ruler(*pointed.ruler)
    return from_scale(film.scale)


def length_of(px: float, doubt_px: float, calibration: Calibration, way: FloatArray) -> Estimate | None:
    """A length on the film in mm with its 90 % interval: places pointed at or found, scale, and tilt."""
    if not calibration.known:
        return None
    mm = pixel_mm(calibration, way if np.any(way) else np.array([0.0, 1.0]))
    low, high = bounds(calibration)
    ends = sorted((px * mm * low, px * mm * high))
    because = f"scale: {calibration.says}; where end and apex lie, to {doubt_px * mm:.1f} mm; tilt of the tooth"
    return Estimate(px * mm, ends[0] - doubt_px * mm, ends[1] + doubt_px * mm, "mm", because, "film.check")


def to_foramen(gap: Estimate, tooth: ToothNumber | None) -> Estimate:
    """From the end to where the foramen may be: positive short of it. The film does not show the foramen."""
    rule = tables.rule("film_foramen_apex_mm")
    mean, source = rule.value, rule.source
    if tooth is not None:
        rows = [r for r in tables.table("foramina") if (r["arch"], r["kind"]) == (tooth.arch, tooth.kind)]
        if rows:
            mean = sum(float(r["to_apex_mm"]) for r in rows) / len(rows)
            source = rows[0]["source"]
    low, high = rule.low or 0.0, rule.high or 0.0
    because = (
        f"the foramen lies {mean:.1f} mm from the apex on average, {low:g} to {high:g} mm; the film does not show it"
    )
    return Estimate(gap.value - mean, gap.low - high, gap.high - low, "mm", because, source)


def _urgent(tooth: ToothNumber | None, core_px: float, gap: Estimate | None) -> tuple[str, ...]:
    """What is urgent when core lies beyond the apex near the nerve; in pixels where there is no scale."""
    number = None if tooth is None else tooth.iso3950
    if gap is not None:
        return urgent_path(number, max(0.0, -gap.value))
    rest = urgent_path(number, core_px)[1:]
    return (
        (f"URGENT near the nerve of the lower jaw: core lies {core_px:.0f} pixels beyond the apex.", *rest)
        if rest
        else ()
    )


def _of_film(film: Film, pointed: Pointed) -> list[str]:
    """What reading the film gave cause to say; of its own scale only where that is used."""
    other = any(x is not None for x in (pointed.ruler, pointed.file_line, pointed.spacing_mm))
    own = film.scale.known and not other
    return [x for x in film.cautions if own or not any(word in x for word in ("spacing", "scale"))]


def _of_before(compared: Compared | None) -> list[str]:
    if compared is None:
        return []
    fits = f"The film before lies on this one with {100 * compared.residual:.0f} % of the greys left over beside it"
    if compared.new_share is None:
        return [f"{fits}: too much to say what is new."]
    return [f"{fits}; {100 * compared.new_share:.0f} % of the filling's length is brighter since."]


def _warnings(calibration: Calibration, check: FilmCheck, gap: Estimate | None) -> list[str]:
    said = [APEX_ONLY]
    if not calibration.known:
        said.append(NO_MM)
    elif not calibration.along:
        said.append(TILT.format(deg=tables.rule("film_tilt_deg").value))
    if gap is not None and len(may_be(gap.low, gap.high)) > 1:
        said.append(f"The class is not sure: {' or '.join(may_be(gap.low, gap.high))}.")
    if check.beyond.sealer and not check.beyond.core:
        said.append("Sealer stands beyond the apex without core: it is recorded apart and is no overfilling.")
    if check.taper_ok is False:
        said.append("The filling gets narrower towards the crown somewhere: look at its taper.")
    return said


def marks_of(
    apex: Sequence[float] | None,
    end: Sequence[float] | None,
    canal: Sequence[Sequence[float]],
    reference: Sequence[float] | None,
) -> Marks:
    """Typed points as marks; a canal pointed at from the crown down is turned round when the apex shows that."""
    line = np.array(canal, dtype=float) if canal else None
    if line is not None and len(line) < 2:
        raise InputRefused("canal", None, "two points or more, from the apical end towards the crown")
    near = _point(apex if apex is not None else end)
    if line is not None and near is not None and _nearer_last(line, near):
        line = line[::-1]
    return Marks(_point(apex), _point(end), line, _point(reference))


def _point(typed: Sequence[float] | None) -> FloatArray | None:
    return None if typed is None else np.array(typed, dtype=float)


def _nearer_last(line: FloatArray, near: FloatArray) -> bool:
    return bool(np.linalg.norm(line[-1] - near) < np.linalg.norm(line[0] - near))

"""A film checked: where the filling ends against the radiographic apex, what lies in it and beyond it."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from rootfill import tables
from rootfill.errors import InputRefused, Said
from rootfill.images.film import density
from rootfill.images.film.beyond import sealer_px
from rootfill.images.film.follow import End, end_of
from rootfill.images.film.lines import lines_of
from rootfill.images.film.model import Band, Beyond, Calibration, FilmCheck, Marks
from rootfill.images.film.place import bands, chosen, gap_px, plausible, tip_place, trimmed
from rootfill.images.model import Film, Grey
from rootfill.units import FloatArray

POINT_FILLING = (
    "point at its end with --end x,y and at the apex with --apex x,y; a film shown inverted is exported again, "
    "bright where it is dense"
)
POINT_APEX = "point at it with --apex x,y"
FADES = "The end of the filling does not stand out: it was taken where the filling is lost from sight."
HIDDEN = (
    "Something bright about the end of the filling, such as sealer, hides how far its core goes: the end was taken "
    "where that begins; point at it with --end x,y where you see it."
)
PARTS = (1.0, 0.6, 0.35)
"""Parts of a film that a picture without scale may show, as shares of the film's short side."""
EDGE_MM = 0.4
DENSITY_MM = 0.5


def check_film(film: Film, marks: Marks, calibration: Calibration) -> FilmCheck:
    """Check the filling on a film. What is marked is taken as it is; the rest is found, or asked for.

    Raises InputRefused where no filling or no apex is seen and none is pointed at.
    """
    grey = ranged(film.values)
    _inside(marks, grey.shape)
    step, found, band = _looked_for(grey, marks, calibration)
    if band is None and marks.end is None:
        raise InputRefused("filling", Said("not seen on this film"), POINT_FILLING)
    cautions = list(_of_bands(found, band, marks, step))
    last, said = _end(grey, band, marks, step)
    end = last.place
    if band is not None:
        band = trimmed(band, end)
    apex = _apex(grey, found, band, last, marks, step)
    axis = marks.canal if marks.canal is not None and len(marks.canal) > 1 else None if band is None else band.axis
    cautions += [] if said is None else [said]
    if axis is None:
        cautions.append("Neither canal nor filling was traced: the distance is straight, and never beyond.")
    gap = gap_px(end, apex, axis)
    inner = None if band is None else density.laid(grey, band, step)
    sealer = None if band is None else sealer_px(grey, band, end, apex, step)
    return FilmCheck(
        end,
        apex,
        marks.end is None,
        marks.apex is None,
        band,
        gap,
        doubt_px(gap, marks, step),
        Beyond(max(0.0, -gap), sealer),
        lines_of(marks, axis, apex, tables.rule("film_pointed_px").value),
        None if inner is None else tuple(density.voids(inner)),
        None if inner is None else density.smallest_px(inner),
        _profile(inner),
        None if band is None else density.taper_ok(band, step),
        step,
        tuple(cautions),
    )


def ranged(values: Grey) -> FloatArray:
    """Greys from 0 to 1. Raises InputRefused for a picture of one grey, or with values that are no numbers."""
    grey = np.asarray(values, dtype=float)
    if not np.isfinite(grey).all():
        raise InputRefused("film", Said("with greys that are no numbers"), "export it again")
    low, high = np.percentile(grey, (0.05, 99.95))
    if high <= low:
        raise InputRefused("film", Said("of one grey all over"), "choose the film of a tooth")
    return np.asarray(np.clip((grey - low) / (high - low), 0.0, 1.0))


def guides_mm(calibration: Calibration, shape: Sequence[int]) -> tuple[float, ...]:
    """Size of a pixel, to know how wide a filling may be; without a scale guesses, from a whole film to a part of one.

    No length is given by a guess.
    """
    if calibration.spacing_mm is not None:
        return (float(np.mean(calibration.spacing_mm)),)
    whole = tables.rule("film_short_side_mm").value / min(shape)
    return tuple(whole * part for part in PARTS)


def _looked_for(grey: FloatArray, marks: Marks, calibration: Calibration) -> tuple[float, list[Band], Band | None]:
    """The size of a pixel by which a filling is found, the bands seen, and the filling."""
    guides = guides_mm(calibration, grey.shape)
    for step in guides:
        found = bands(grey, step)
        band = chosen(found, marks, step)
        if band is not None:
            return step, found, band
    return guides[0], [], None


def doubt_px(gap: float, marks: Marks, step_mm: float) -> float:
    """Half the 90 % interval of the gap by where end, apex and axis were placed; the scale's error is not in it."""
    pointed = tables.rule("film_pointed_px").value
    end = tables.rule("film_end_found_px").value if marks.end is None else pointed
    apex = tables.rule("film_apex_found_mm").value / step_mm if marks.apex is None else pointed
    axis = tables.rule("film_axis_share").value * abs(gap) if marks.canal is None else 0.0
    return math.sqrt(end**2 + apex**2 + axis**2)


def _end(grey: FloatArray, band: Band | None, marks: Marks, step: float) -> tuple[End, str | None]:
    """The end of the filling, and what is to be said about it."""
    if marks.end is not None or band is None:
        assert marks.end is not None
        return End(marks.end, False), None
    found = end_of(grey, band, step)
    end = End(band.axis[0], False) if found is None else found
    margin = EDGE_MM / step
    size = np.array(grey.shape[::-1]) - 1
    if (end.place < margin).any() or (end.place > size - margin).any():
        raise InputRefused(
            "filling", Said("cut by the edge of the picture"), "take a film that shows the tip, or point with --end x,y"
        )
    return end, FADES if found is None else HIDDEN if found.hidden else None


def _apex(grey: FloatArray, found: list[Band], band: Band | None, end: End, marks: Marks, step: float) -> FloatArray:
    if marks.apex is not None:
        return marks.apex
    tip = None if band is None else tip_place(grey, found, band, end, step)
    if tip is None or not tip.shown:
        raise InputRefused("apex", Said("not shown clearly on this film"), POINT_APEX)
    return tip.apex


def _of_bands(found: list[Band], band: Band | None, marks: Marks, step: float) -> list[str]:
    said = []
    if band is None:
        said.append("No filling was found where you pointed: its density, voids and taper are not given.")
    elif sum(plausible(b, step) for b in found) > 1 and marks.end is None and marks.canal is None:
        at = ", ".join(f"{x:.0f}" for x in band.axis[0])
        said.append(
            f"Several fillings may be seen: the one that ends near {at} was measured; point at another with --end x,y."
        )
    return said


def _inside(marks: Marks, shape: Sequence[int]) -> None:
    rows = {"apex": marks.apex, "end": marks.end, "canal": marks.canal, "reference": marks.reference}
    for name, points in rows.items():
        if points is None:
            continue
        x, y = np.atleast_2d(points).T
        if (x < -0.5).any() or (y < -0.5).any() or (x > shape[1] - 0.5).any() or (y > shape[0] - 0.5).any():
            raise InputRefused(
                name, Said("outside the picture"), f"x from 0 to {shape[1] - 1}, y from 0 to {shape[0] - 1}"
            )


def _profile(inner: density.Laid | None) -> tuple[tuple[float, float], ...]:
    if inner is None:
        return ()
    each = max(1, round(DENSITY_MM / density.STEP_MM))
    rows = range(0, len(inner.s) - each + 1, each)
    return tuple((float(inner.s[k : k + each].mean()), float(inner.profile[k : k + each].mean())) for k in rows)

"""What a film says: lengths with their calibration, angles, and how a filling became."""

from __future__ import annotations

from rootfill.images.film.before import Compared, compare
from rootfill.images.film.calibrate import bounds, from_file, from_ruler, from_scale, pixel_mm
from rootfill.images.film.check import check_film, ranged
from rootfill.images.film.grade import grade, may_be
from rootfill.images.film.model import Band, Beyond, Calibration, FilmCheck, FilmVoid, Lines, Marks

__all__ = [
    "Band",
    "Beyond",
    "Calibration",
    "Compared",
    "FilmCheck",
    "FilmVoid",
    "Lines",
    "Marks",
    "bounds",
    "check_film",
    "compare",
    "from_file",
    "from_ruler",
    "from_scale",
    "grade",
    "may_be",
    "pixel_mm",
    "ranged",
]

"""What is filled: the tooth's number and anatomy, the canal's shape, bends and wall."""

from rootfill.tooth.canal import Canal
from rootfill.tooth.centreline import Centreline, of_curve
from rootfill.tooth.curve import Arc, Curve, arc_from_schneider
from rootfill.tooth.notation import ToothNumber, tooth_number
from rootfill.tooth.profile import FilePass, Profile, from_rows, shaped, tapered
from rootfill.tooth.trace import curve_from, from_two_films, in_its_plane
from rootfill.tooth.wall import Wall, remaining_wall_mm

__all__ = [
    "Arc",
    "Canal",
    "Centreline",
    "Curve",
    "FilePass",
    "Profile",
    "ToothNumber",
    "Wall",
    "arc_from_schneider",
    "curve_from",
    "from_rows",
    "from_two_films",
    "in_its_plane",
    "of_curve",
    "remaining_wall_mm",
    "shaped",
    "tapered",
    "tooth_number",
]

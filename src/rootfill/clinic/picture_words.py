"""A picture in words: what it is, how long a millimetre of it is and who says so."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from rootfill.clinic.kept_picture import FILM, KINDS, KeptPicture
from rootfill.images import Scale


@dataclass(frozen=True)
class Line:
    """A picture in a list."""

    title: str
    kind: str
    size: str
    spacing: str
    when: str


@dataclass(frozen=True)
class ScaleWords:
    """Unit of lengths, where the scale comes from, and how far a length may be off."""

    unit: str
    source: str
    error: str


def line(one: KeptPicture) -> Line:
    """The picture as its list says it."""
    kind = KINDS[one.read.kind]
    unit = "pixels" if one.read.kind == FILM else "voxels"
    size = " × ".join(str(n) for n in reversed(one.read.shape))
    when = dt.datetime.fromisoformat(one.made_at).astimezone().strftime("%d %b %Y, %H:%M")
    return Line(one.words or kind.capitalize(), kind, f"{size} {unit}", spacing_words(one.read.scale), when)


def spacing_words(scale: Scale) -> str:
    """'0.2 mm', '0.2 × 0.2 × 0.5 mm', 'no scale'."""
    if scale.spacing_mm is None:
        return "no scale"
    shown = [f"{x:.4g}" for x in scale.spacing_mm]
    return (shown[0] if len(set(shown)) == 1 else " × ".join(shown)) + " mm"


def scale_words(one: KeptPicture) -> ScaleWords:
    """What stands beside the bar of a picture."""
    scale = one.read.scale
    if not scale.known:
        unit = "pixels" if one.read.kind == FILM else "voxels"
        return ScaleWords(unit, f"no scale: lengths in {unit}, never in mm", "")
    low, high = (round(100 * (factor - 1), 1) for factor in (scale.low, scale.high))
    error = "" if low == high == 0 else f"90 % of true lengths are {_off(low, high)} of what is measured"
    return ScaleWords("mm", scale.trust.value, error)


def _off(low: float, high: float) -> str:
    return f"{100 + low:g} to {100 + high:g} %"

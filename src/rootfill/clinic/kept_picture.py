"""A picture kept with a case: what its row says of it. The grey values lie in a file of their own.

Grey values are kept as whole numbers of 8 or 16 bits: true value = ``grey_zero`` + ``grey_step`` × kept value.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from rootfill.clinic.kept import Fields, Row
from rootfill.images import NO_SCALE, Scale, Trust

VOLUME, FILM = "volume", "film"
KINDS = {VOLUME: "scan", FILM: "film"}
"""What a picture may be, and how it is called."""
PART = "picture"
"""The part of a case that a picture is: added, turned and removed by marks, and taken back by undo."""


@dataclass(frozen=True)
class PictureRead:
    """What reading a picture told of it, once its grey values lie in their file.

    ``shape`` is (z, y, x), of a film (rows, columns); ``black`` and ``white`` are kept values between which most of
    the picture lies, ``least`` and ``most`` all of it; ``to_patient`` as in ``rootfill.images.Volume``, row by row.
    """

    kind: str
    shape: tuple[int, ...]
    bits: int
    grey_zero: float
    grey_step: float
    least: int
    most: int
    black: int
    white: int
    scale: Scale
    to_patient: tuple[tuple[float, ...], ...] | None
    cautions: tuple[str, ...]
    digest: str
    """SHA-256 of the grey values as they are kept."""


@dataclass(frozen=True)
class KeptPicture:
    """A picture of a case: its number, its words, what it was read from, when and by whom, and what reading told.

    ``turned`` counts quarter turns of a film; a volume stands upside down at 2.
    """

    key: int
    words: str
    read_from: str
    file: str
    made_at: str
    by: str
    read: PictureRead
    turned: int = 0
    canals: Fields | None = None
    """What was found in it, as ``found_canals`` holds it; None where nobody looked."""

    @property
    def says(self) -> str:
        """'scan, 512 × 512 × 400 voxels', or its own words in front."""
        sizes = " × ".join(str(n) for n in reversed(self.read.shape))
        kind = KINDS[self.read.kind]
        named = f"{self.words} ({kind})" if self.words else kind
        return f"{named}, {sizes} {'voxels' if self.read.kind == VOLUME else 'pixels'}"


def fields_of(picture: KeptPicture) -> dict[str, Any]:
    """The row of a picture, as JSON can hold it."""
    fields = asdict(picture)
    del fields["key"]
    scale = picture.read.scale
    fields["read"]["scale"] = {
        "spacing_mm": scale.spacing_mm, "trust": scale.trust.name, "low": scale.low, "high": scale.high,
    }  # fmt: skip
    return fields


def picture_of(row: Row) -> KeptPicture:
    """The picture of a row."""
    fields, read = row.entered, row.entered["read"]
    matrix = read.get("to_patient")
    told = {
        **read,
        "shape": tuple(read["shape"]),
        "scale": _scale(read["scale"]),
        "to_patient": None if matrix is None else tuple(tuple(line) for line in matrix),
        "cautions": tuple(read["cautions"]),
    }
    kept = {name: value for name, value in fields.items() if name != "read"}
    return KeptPicture(key=row.key, read=PictureRead(**told), **kept)


def _scale(kept: Fields) -> Scale:
    spacing = kept.get("spacing_mm")
    if spacing is None:
        return NO_SCALE
    return Scale(tuple(spacing), Trust[kept["trust"]], kept["low"], kept["high"])

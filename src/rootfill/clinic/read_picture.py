"""A picture that came, read in a process of its own: its grey values written slice by slice, and what was told."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from rootfill.clinic.kept_picture import FILM, VOLUME, PictureRead
from rootfill.clinic.ports import Unread
from rootfill.errors import InputRefused, NotKept, Said
from rootfill.images import Film, Volume

SHADES = 2**16 - 1
MOST_LOOKED_AT = 2_000_000
"""Grey values from which black and white of the first look are taken."""
DARK_SHARE, BRIGHT_SHARE = 0.5, 99.7
"""Percentiles that are black and white at first."""


@dataclass(frozen=True)
class Grey:
    """How grey values become whole numbers of 8 or 16 bits: true = zero + step × kept."""

    bits: int
    zero: float
    step: float
    least: float
    most: float

    def kept(self, values: NDArray[Any]) -> NDArray[Any]:
        """The values as they are kept; those that are no number become the least."""
        whole = np.dtype("<u2" if self.bits == 16 else "u1")
        if values.dtype == whole and self.zero == 0 and self.step == 1:
            return values
        if self.step == 1 and values.dtype.kind in "iu":
            return (values.astype(np.int64) - int(self.zero)).astype(whole)
        number = np.nan_to_num(values.astype(np.float64), nan=self.least, posinf=self.most, neginf=self.least)
        return np.rint((number - self.zero) / self.step).clip(0, 2**self.bits - 1).astype(whole)


def read_picture(unread: Unread) -> PictureRead:
    """Read it and write its grey values to their file. Raises InputRefused, NotKept."""
    try:
        read = import_module("rootfill.images.read")
    except ImportError:
        raise InputRefused("the picture", Said("not readable here"), "install rootfill[pictures]") from None
    if unread.kind == VOLUME:
        return keep_grey(read.read_volume(unread.source, unread.spacing_mm), unread.target)
    return keep_grey(read.read_film(unread.source, unread.spacing_mm), unread.target)


def keep_grey(picture: Volume | Film, target: Path) -> PictureRead:
    """Write the grey values as an array file. Raises InputRefused for a picture of one grey, NotKept."""
    grey = grey_of(picture.values)
    digest = _kept(target, picture.values, grey)
    least, most = grey.kept(np.array([grey.least, grey.most])).tolist()
    black, white = _first_look(picture.values, grey)
    affine = picture.to_patient if isinstance(picture, Volume) else None
    return PictureRead(
        kind=VOLUME if isinstance(picture, Volume) else FILM,
        shape=tuple(int(n) for n in picture.values.shape),
        bits=grey.bits,
        grey_zero=grey.zero,
        grey_step=grey.step,
        least=least,
        most=most,
        black=black if black < white else least,
        white=white if black < white else most,
        scale=picture.scale,
        to_patient=None if affine is None else tuple(tuple(float(x) for x in line) for line in affine),
        cautions=tuple(picture.cautions),
        digest=digest,
    )


def grey_of(values: NDArray[Any]) -> Grey:
    """How to keep these values: as they are where 8 or 16 bits hold them, else stretched over 16 bits.

    Raises InputRefused where there is nothing to be seen.
    """
    finite = [(float(part.min()), float(part.max())) for part in _finite(values)]
    least, most = (min(low for low, _ in finite), max(high for _, high in finite)) if finite else (0.0, 0.0)
    if not least < most:
        raise InputRefused("the picture", Said("of one single grey"), "choose a file in which something is seen")
    if values.dtype == np.uint8:
        return Grey(8, 0.0, 1.0, least, most)
    whole = values.dtype.kind in "iub" and most - least <= SHADES
    if whole:
        return Grey(16, 0.0 if least >= 0 and most <= SHADES else least, 1.0, least, most)
    return Grey(16, least, (most - least) / SHADES, least, most)


def _finite(values: NDArray[Any]) -> Iterator[NDArray[Any]]:
    """Part by part, so that no second volume stands in memory."""
    for part in values:
        known = part if part.dtype.kind in "iub" else part[np.isfinite(part)]
        if known.size:
            yield known


def _first_look(values: NDArray[Any], grey: Grey) -> tuple[int, int]:
    """Kept values between which most of the picture lies."""
    seen = values.reshape(-1)[:: max(values.size // MOST_LOOKED_AT, 1)]
    black, white = np.percentile(grey.kept(seen), (DARK_SHARE, BRIGHT_SHARE)).round().astype(int).tolist()
    return black, white


def _kept(target: Path, values: NDArray[Any], grey: Grey) -> str:
    """The values on the disk, and their digest. Raises NotKept."""
    try:
        with target.open("xb") as file:
            digest = _write(file, values, grey)
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        why = (error.strerror or "the disk failed").lower()
        raise NotKept(f"Nothing was saved, because {why}: free some space, then keep the picture again.") from None
    return digest


def _write(file: BinaryIO, values: NDArray[Any], grey: Grey) -> str:
    digest = hashlib.sha256()
    whole = np.dtype("<u2" if grey.bits == 16 else "u1")
    header = {"descr": np.lib.format.dtype_to_descr(whole), "fortran_order": False, "shape": values.shape}
    np.lib.format.write_array_header_1_0(file, header)
    for part in values:
        kept = np.ascontiguousarray(grey.kept(part)).tobytes()
        digest.update(kept)
        file.write(kept)
    return digest.hexdigest()

"""What a file is, by its first bytes, whatever it is called."""

from __future__ import annotations

import gzip
import zlib
from enum import Enum
from pathlib import Path

from rootfill.errors import InputRefused, Said

FIRST = 4096


class Kind(Enum):
    """A kind of file this program can say something about."""

    DICOM = "DICOM"
    NRRD = "NRRD"
    NIFTI = "NIfTI"
    META = "MetaImage"
    TIFF = "TIFF"
    PNG = "PNG"
    JPEG = "JPEG"
    ZIP = "zip"
    PDF = "PDF"
    OTHER = "of a kind that is not read here"


def first_bytes(path: Path) -> bytes:
    """The beginning of a file. Raises InputRefused where it cannot be read."""
    try:
        with path.open("rb") as file:
            return file.read(FIRST)
    except (OSError, ValueError) as error:
        why = (getattr(error, "strerror", None) or "not a name of a file").lower()
        raise InputRefused(path.name, Said(f"not usable ({why})"), "name a file that can be read") from None


def unpacked_begin(path: Path) -> bytes:
    """The beginning of a file, or of what is packed in it with gzip. Raises InputRefused."""
    begin = first_bytes(path)
    return _unpacked(begin) if begin[:2] == b"\x1f\x8b" else begin


def kind_of(path: Path) -> Kind:
    """The kind of a file. Raises InputRefused where it cannot be read or is empty."""
    begin = unpacked_begin(path)
    if not begin:
        raise InputRefused(path.name, Said("empty"), "copy or export it again")
    return _kind(begin, path.name.lower())


def _kind(begin: bytes, name: str) -> Kind:
    magic = {
        b"NRRD000": Kind.NRRD,
        b"II*\0": Kind.TIFF,
        b"MM\0*": Kind.TIFF,
        b"II+\0": Kind.TIFF,
        b"MM\0+": Kind.TIFF,
        b"\x89PNG": Kind.PNG,
        b"\xff\xd8\xff": Kind.JPEG,
        b"PK\x03\x04": Kind.ZIP,
        b"PK\x05\x06": Kind.ZIP,
        b"%PDF": Kind.PDF,
    }
    for start, kind in magic.items():
        if begin.startswith(start):
            return kind
    if begin[128:132] == b"DICM":
        return Kind.DICOM
    if begin[344:347] in (b"n+1", b"ni1"):
        return Kind.NIFTI
    if b"ObjectType" in begin[:200] or (b"NDims" in begin[:400] and b"ElementType" in begin):
        return Kind.META
    if _headless_dicom(begin) or name.endswith(".dcm"):
        return Kind.DICOM
    return Kind.OTHER


def _headless_dicom(begin: bytes) -> bool:
    """DICOM written without its preamble: it starts with a low group in little endian."""
    return len(begin) > 8 and begin[:2] in (b"\x02\x00", b"\x08\x00") and begin[2:4] < b"\x20\x00" and b"1.2." in begin


def _unpacked(begin: bytes) -> bytes:
    try:
        return zlib.decompressobj(wbits=31).decompress(begin, FIRST)
    except (zlib.error, gzip.BadGzipFile):
        return begin

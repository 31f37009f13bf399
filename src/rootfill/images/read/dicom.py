"""DICOM files opened with care: headers first, sizes checked, frames decoded one at a time."""

from __future__ import annotations

import math
import warnings
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from rootfill.errors import InputRefused, Said
from rootfill.images.model import Grey
from rootfill.images.read.limits import MOST_VOXELS, check_held, check_size

NATIVE = frozenset({"1.2.840.10008.1.2", "1.2.840.10008.1.2.1", "1.2.840.10008.1.2.1.99", "1.2.840.10008.1.2.2"})
"""Transfer syntaxes whose pixels lie there as they are, the third deflated as a whole."""


DEFLATED = "1.2.840.10008.1.2.1.99"
PREAMBLE, GROUP_LENGTH = 132, 12
"""Bytes before the meta information of a file, and of the element that says how long it is."""
PIECE = 1 << 20

NOT_PICTURES = {"RTDOSE": "a map of radiation dose", "SEG": "a segmentation", "PR": "a way of showing another picture"}
"""Modalities whose values are no greys of a patient."""


@dataclass(frozen=True, eq=False)
class Header:
    """One DICOM file without its pixels."""

    path: Path
    data: Any

    def get(self, keyword: str, default: Any = None) -> Any:
        """Value of an element, ``default`` where it is absent, empty or unreadable."""
        try:
            value = getattr(self.data, keyword, None)
        except Exception:  # pydicom raises whatever a broken element makes it
            return default
        return default if value is None or value == "" else value

    def numbers(self, keyword: str, count: int) -> list[float] | None:
        """``count`` finite numbers of an element, or None."""
        return as_numbers(self.get(keyword), count)

    @property
    def frames(self) -> int:
        return whole(self.get("NumberOfFrames", 1), 1)

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return whole(self.get("Rows", 0), 0), whole(self.get("Columns", 0), 0)


def as_numbers(value: Any, count: int) -> list[float] | None:
    """``count`` finite numbers, or None."""
    try:
        found = [float(x) for x in value]
    except (TypeError, ValueError, OverflowError):
        return None
    return found if len(found) == count and all(math.isfinite(x) for x in found) else None


def whole(value: Any, default: int) -> int:
    """A whole number, or the default."""
    try:
        return int(value)
    except (TypeError, ValueError, OverflowError):
        return default


def header_of(path: Path) -> Header | None:
    """The header of a file; None where it is not DICOM, or DICOM without an image."""
    data = _read(path, stop_before_pixels=True)
    if data is None:
        return None
    header = Header(path, data)
    return header if all(header.shape) else None


def named_object(path: Path) -> str:
    """What a DICOM file without an image is, in words."""
    data = _read(path, stop_before_pixels=True)
    if data is None:
        return "damaged"
    try:
        name = str(getattr(data, "SOPClassUID", data.file_meta.get("MediaStorageSOPClassUID", "")).name)
    except (AttributeError, ValueError):
        name = ""
    return (
        f"a DICOM object without a picture ({name})" if name and not name[:1].isdigit() else "DICOM without a picture"
    )


def frames_of(header: Header) -> Iterator[Grey]:
    """The frames of a file, decoded one at a time, bright = dense. Raises InputRefused."""
    check_size(header.path.name, (*header.shape[::-1], header.frames))
    if (made := str(header.get("Modality", ""))) in NOT_PICTURES:
        raise InputRefused(header.path.name, Said(NOT_PICTURES[made]), "choose the scan or film itself")
    palette = "PALETTE" in str(header.get("PhotometricInterpretation", ""))
    if palette or whole(header.get("SamplesPerPixel", 1), 1) != 1:
        raise InputRefused(header.path.name, Said("in colour"), "choose a radiograph or a scan, not a photograph")
    data = _read(header.path, stop_before_pixels=False)
    if data is None or "PixelData" not in data:
        raise InputRefused(header.path.name, Said("without pixels"), "copy or export it again")
    _check_native(header, data)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            yield from _decoded(data, header)
    except InputRefused:
        raise
    except Exception as error:  # decoders raise whatever their library has
        raise InputRefused(
            header.path.name, Said(_why_not(data, error)), "copy or export it again, uncompressed"
        ) from None


def _decoded(data: Any, header: Header) -> Iterator[Grey]:
    from pydicom.pixels.utils import pixel_array

    inverted = str(header.get("PhotometricInterpretation", "")) == "MONOCHROME1"
    for i in range(header.frames):
        frame = pixel_array(data, index=i)
        if frame.shape != header.shape:
            raise InputRefused(
                header.path.name, Said("of another size than its header says"), "copy or export it again"
            )
        yield _inverted(frame, header) if inverted else frame


def _inverted(frame: Grey, header: Header) -> Grey:
    """A frame whose white stands for thin, turned so that bright is dense."""
    if frame.dtype.kind == "u":
        return np.asarray((1 << whole(header.get("BitsStored", 16), 16)) - 1 - frame.astype(np.int64)).astype(
            frame.dtype
        )
    return np.asarray(-frame.astype(np.int32)).astype(np.int32)


def _check_native(header: Header, data: Any) -> None:
    """Refuse uncompressed pixels that are fewer than rows, columns and frames make."""
    syntax = str(getattr(getattr(data, "file_meta", None), "TransferSyntaxUID", "1.2.840.10008.1.2"))
    if syntax in NATIVE:
        bits = max(1, whole(header.get("BitsAllocated", 16), 16))
        check_held(header.path.name, math.prod(header.shape) * header.frames * bits // 8, len(data.PixelData))


def _why_not(data: Any, error: Exception) -> str:
    try:
        syntax = str(data.file_meta.TransferSyntaxUID.name)
    except (AttributeError, ValueError):
        syntax = "an unknown way of packing"
    what = f"{syntax}; {type(error).__name__}"
    return f"not readable: its pixels are damaged, or packed in a way that is not read here ({what})"


def _read(path: Path, stop_before_pixels: bool) -> Any:
    import pydicom

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            _check_deflated(path)
            data = pydicom.dcmread(path, stop_before_pixels=stop_before_pixels, force=True)
            len(data)
    except InputRefused:
        raise
    except Exception:  # a hostile file makes pydicom raise anything
        return None
    return data


def _check_deflated(path: Path) -> None:
    """Refuse a file deflated as a whole that unpacks to more than is ever read; pydicom unpacks all of it at once."""
    from pydicom.filereader import read_partial

    with path.open("rb") as file:
        meta = read_partial(file, stop_when=lambda tag, _vr, _length: tag.group > 2, force=True).file_meta
        if str(getattr(meta, "TransferSyntaxUID", "")) != DEFLATED:
            return
        file.seek(PREAMBLE + meta.FileMetaInformationGroupLength + GROUP_LENGTH)
        unpacking, size = zlib.decompressobj(-zlib.MAX_WBITS), 0
        while piece := unpacking.unconsumed_tail or file.read(PIECE):
            size += len(unpacking.decompress(piece, PIECE))
            if size > 2 * MOST_VOXELS:
                raise InputRefused(path.name, Said("larger than what is read, once unpacked"), "export it uncompressed")
            if unpacking.eof:
                return

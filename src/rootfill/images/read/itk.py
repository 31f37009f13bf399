"""NRRD, NIfTI and MetaImage, through SimpleITK."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from rootfill.errors import InputRefused, Said
from rootfill.images.model import Volume
from rootfill.images.read.limits import check_held, check_size
from rootfill.images.read.scales import volume_scale
from rootfill.images.read.what import Kind, first_bytes, unpacked_begin

READERS = {Kind.NRRD: "NrrdImageIO", Kind.NIFTI: "NiftiImageIO", Kind.META: "MetaImageIO"}
SHEARED = 1e-2
"""Largest cosine between two axes of a volume that counts as a right angle."""

LONGEST_HEADER = 1 << 18
"""Bytes; an honest header has a few thousand."""

BYTES = {"8": 1, "16": 2, "32": 4, "64": 8}


def read_itk(path: Path, kind: Kind, spacing_mm: Sequence[float] | None) -> Volume:
    """A volume of one of these formats; its header is checked before its values are held. Raises InputRefused."""
    import SimpleITK

    SimpleITK.ProcessObject.SetGlobalWarningDisplay(False)
    data = _data_file(path, kind)
    reader = SimpleITK.ImageFileReader()
    reader.SetImageIO(READERS[kind])
    reader.SetFileName(str(path))
    with _in_a_sentence(path):
        reader.ReadImageInformation()
    _check(path, data, reader, SimpleITK.GetPixelIDValueAsString(reader.GetPixelID()))
    with _in_a_sentence(path):
        image = reader.Execute()
    image = image[:, :, :, 0] if image.GetDimension() == 4 else image
    values = SimpleITK.GetArrayFromImage(image)
    stored = [x * _unit(path, kind) for x in image.GetSpacing()]
    affine = np.eye(4)
    affine[:3, :3] = np.reshape(image.GetDirection(), (3, 3)) * np.array(stored)
    affine[:3, 3] = np.array(image.GetOrigin()) * _unit(path, kind)
    direction = np.reshape(image.GetDirection(), (3, 3))
    if np.abs(direction.T @ direction - np.eye(3)).max() > SHEARED:
        raise InputRefused(path.name, Said("sheared: its axes are not at right angles"), "export it straight")
    stated = None if re.search(r"(?im)^spacings:.*nan", first_bytes(path).decode("latin-1")) else stored
    scale, cautions = volume_scale(stated, spacing_mm)
    lies = np.isfinite(affine).all() and _says_how_it_lies(path, kind)
    return Volume(values, scale, affine if lies else None, cautions)


def _says_how_it_lies(path: Path, kind: Kind) -> bool:
    """Whether the file says how the scan lies in the patient: NRRD by its space, NIfTI by a code of its form."""
    if kind is Kind.NRRD:
        return re.search(r"(?im)^space:", first_bytes(path).decode("latin-1")) is not None
    if kind is Kind.NIFTI:
        header = unpacked_begin(path)
        return header[252:254] != b"\0\0" or header[254:256] != b"\0\0"
    return True


def _check(path: Path, data: Path, reader: Any, pixel: str) -> None:
    """Refuse what is no scan of greys, is too large, or is shorter than its header claims."""
    size = list(reader.GetSize())
    if len(size) == 4 and size[3] == 1:
        size = size[:3]
    if reader.GetNumberOfComponents() > 1:
        raise InputRefused(path.name, Said("in colour, or several values to a voxel"), "export it as a scan of greys")
    if len(size) != 3 or min(size) < 2:
        raise InputRefused(
            path.name, Said(f"of size {' × '.join(map(str, size))}"), "a volume has three sides of two or more"
        )
    check_size(path.name, size)
    bits = next((BYTES[b] for b in ("64", "32", "16", "8") if b in pixel), 4)
    begin = first_bytes(path)
    signs = (b"encoding: gz", b"encoding: bz", b"CompressedData = True")
    packed = begin[:2] == b"\x1f\x8b" or any(sign in begin for sign in signs)
    check_held(path.name, int(np.prod(size, dtype=float)) * bits, data.stat().st_size, packed)


def _data_file(path: Path, kind: Kind) -> Path:
    """Where the values lie: in the file itself, or in one beside it that the header names, nowhere else."""
    pattern = (
        r"(?im)^\s*data ?file:[ =]*(.*?)\s*$" if kind is Kind.NRRD else r"(?im)^\s*ElementDataFile\s*=\s*(.*?)\s*$"
    )
    named = re.findall(pattern, _header(path, kind)) if kind is not Kind.NIFTI else []
    if len(named) > 1:
        raise InputRefused(path.name, Said("split over several files"), "keep one data file beside its header")
    if not named or named[0].upper() == "LOCAL":
        return path
    name = str(named[0])
    if not re.fullmatch(r"[\w][\w .-]*", name) or name.upper().startswith("LIST"):
        raise InputRefused(path.name, Said(f"split: its values lie in {name}"), "keep one data file beside its header")
    data = path.parent / name
    if data.is_symlink() or not data.is_file():
        alone = Said(f"a header alone: {name} is not beside it")
        raise InputRefused(path.name, alone, "choose a folder or zip that holds both")
    return data


def _header(path: Path, kind: Kind) -> str:
    """The whole header of an NRRD or a MetaImage. Raises InputRefused where it has no end within reason."""
    with path.open("rb") as file:
        begin = file.read(LONGEST_HEADER + 1)
    if kind is Kind.NRRD:
        ends = [at for at in (begin.find(b"\n\n"), begin.find(b"\r\n\r\n")) if at >= 0]
        end = min(ends) if ends else len(begin)
    else:
        found = re.search(rb"(?im)^\s*ElementDataFile\s*=.*$", begin)
        end = found.end() if found else len(begin)
    if end > LONGEST_HEADER:
        raise InputRefused(path.name, Said("with a header that does not end"), "export it again")
    return begin[:end].decode("latin-1")


def _unit(path: Path, kind: Kind) -> float:
    """Millimetres in the unit of an NRRD's spacing; the other formats are read in mm."""
    if kind is not Kind.NRRD:
        return 1.0
    units = re.search(r"(?im)^(space )?units:\s*(.+?)\s*$", first_bytes(path).decode("latin-1"))
    said = set(re.findall(r'"([^"]*)"', units[2])) - {""} if units else set()
    factors = {"mm": 1.0, "um": 1e-3, "µm": 1e-3, "micron": 1e-3, "microns": 1e-3, "cm": 10.0, "m": 1e3}
    return factors.get(next(iter(said)).lower(), 1.0) if len(said) == 1 else 1.0


@contextlib.contextmanager
def _in_a_sentence(path: Path) -> Any:
    try:
        yield
    except (RuntimeError, MemoryError):
        raise InputRefused(path.name, Said("damaged or cut short"), "copy or export it again") from None

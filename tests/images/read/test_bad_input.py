"""What cannot be read is refused in a sentence, before memory is spent on it."""

from __future__ import annotations

import gzip
import resource
import zipfile
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pydicom
import pytest
import SimpleITK
import skimage
import tifffile
from PIL import Image
from pydicom.uid import DeflatedExplicitVRLittleEndian

from rootfill.errors import InputRefused
from rootfill.images import Film, Volume
from rootfill.images.read import dicom, read_film, read_volume
from rootfill.images.read.dicom import header_of
from tests.images.read.written import (
    WITH_SPACING,
    WITHOUT_SPACING,
    dicom_folder,
    multi_frame,
    nrrd,
    slice_of,
)


def saved(folder: Path, **tags: object) -> Path:
    """A slice with some of its elements changed."""
    data = slice_of(0)
    for keyword, value in tags.items():
        setattr(data, keyword, value)
    data.save_as(folder / "a.dcm", enforce_file_format=True)
    return folder / "a.dcm"


def nrrd_with(folder: Path, old: bytes, new: bytes) -> Path:
    path = nrrd("little", "raw")(folder)
    path.write_bytes(path.read_bytes().replace(old, new))
    return path


def without(number: int, folder: Path) -> Path:
    (dicom_folder()(folder) / f"{number * 5 % 8}.dcm").unlink()
    return folder


def doubled(folder: Path) -> Path:
    data = slice_of(3)
    data.save_as(dicom_folder()(folder) / "again.dcm", enforce_file_format=True)
    return folder


def two_series(folder: Path) -> Path:
    data = slice_of(0)
    data.SeriesInstanceUID = "1.2.4"
    data.save_as(dicom_folder()(folder) / "other.dcm", enforce_file_format=True)
    return folder


def written(name: str, content: bytes) -> Callable[[Path], Path]:
    def write(folder: Path) -> Path:
        (folder / name).write_bytes(content)
        return folder / name

    return write


def photograph(folder: Path) -> Path:
    colour = np.random.default_rng(0).integers(0, 255, (64, 64, 3), dtype=np.uint8)
    Image.fromarray(colour).save(folder / "photo.jpg")
    return folder / "photo.jpg"


def empty_zip(folder: Path) -> Path:
    with zipfile.ZipFile(folder / "scan.zip", "w"):
        pass
    return folder / "scan.zip"


def bomb(folder: Path) -> Path:
    header = b"NRRD0004\ntype: short\ndimension: 3\nsizes: 1100 1100 1100\nencoding: gzip\nendian: little\n\n"
    (folder / "bomb.nrrd").write_bytes(header + gzip.compress(bytes(1000)))
    return folder / "bomb.nrrd"


def colour_volume(folder: Path) -> Path:
    image = SimpleITK.GetImageFromArray(np.zeros((4, 5, 6, 3), dtype=np.uint8), isVector=True)
    SimpleITK.WriteImage(image, str(folder / "a.nrrd"))
    return folder / "a.nrrd"


def not_numbers(folder: Path) -> Path:
    values = np.ones((4, 5, 6), dtype=np.float32)
    values[1, 2, 3] = np.nan
    SimpleITK.WriteImage(SimpleITK.GetImageFromArray(values), str(folder / "a.mha"))
    return folder / "a.mha"


def behind_a_comment(folder: Path) -> Path:
    """A header that names a file elsewhere only after more than is looked at first."""
    header = "NRRD0004\n" + "# so long\n" * 1000
    header += "type: short\ndimension: 3\nsizes: 4 4 4\nencoding: raw\nendian: little\ndata file: ../x\n"
    return written("a.nhdr", header.encode())(folder)


def behind_a_blank(folder: Path) -> Path:
    header = "ObjectType = Image\nNDims = 3\nDimSize = 4 4 4\nElementType = MET_SHORT\n\nElementDataFile = ../x\n"
    return written("a.mhd", header.encode())(folder)


def moved_aside(folder: Path) -> Path:
    data = pydicom.dcmread(dicom_folder()(folder) / "0.dcm")
    data.ImagePositionPatient = [8.0, -3.0, 7.0]
    data.save_as(folder / "0.dcm")
    return folder


def other_spacing(folder: Path) -> Path:
    data = pydicom.dcmread(dicom_folder()(folder) / "0.dcm")
    data.PixelSpacing = [0.4, 0.4]
    data.save_as(folder / "0.dcm")
    return folder


def far_data(folder: Path) -> Path:
    header = "NRRD0004\ntype: short\ndimension: 3\nsizes: 4 4 4\nencoding: raw\nendian: little\ndata file: ../../x\n"
    return written("a.nhdr", header.encode())(folder)


def huge_dicom(folder: Path) -> Path:
    return saved(folder, Rows=60000, Columns=60000, NumberOfFrames=9)


def huge_nrrd(folder: Path) -> Path:
    return nrrd_with(folder, b"sizes: 10 12 8", b"sizes: 60000 60000 60000")


def flat_nrrd(folder: Path) -> Path:
    path = nrrd_with(folder, b"dimension: 3\nsizes: 10 12 8", b"dimension: 2\nsizes: 10 96")
    path.write_bytes(path.read_bytes().replace(b"spacings: 0.2 0.25 0.3", b"spacings: 0.2 0.25"))
    return path


def header_alone(folder: Path) -> Path:
    path = nrrd("little", "raw", detached=True)(folder)
    (folder / "values.raw").unlink()
    return path


BAD: dict[str, tuple[Callable[[Path], Path], str]] = {
    "a slice short of pixels": (lambda f: saved(f, NumberOfFrames=3), "cut short|single picture"),
    "a header of 60,000 × 60,000": (huge_dicom, "at most|cut short"),
    "a slice alone": (saved, "a volume has two slices or more"),
    "a dose": (lambda f: saved(multi_frame(f).parent, Modality="RTDOSE").parent, "dose|two slices|series"),
    "slices missing": (lambda f: without(4, f), "without slices between"),
    "a slice twice": (doubled, "at the same place"),
    "two series": (two_series, "of 2 series"),
    "an empty file": (written("a.dcm", b""), "is empty"),
    "a text file": (written("a.txt", b"this is no scan"), "not read here"),
    "a PDF": (written("a.pdf", b"%PDF-1.7 ..."), "is PDF"),
    "named DICOM but none": (written("a.dcm", b"\x00" * 400), "without a picture|damaged"),
    "a photograph": (photograph, "single picture|colour"),
    "an empty zip": (empty_zip, "an empty zip"),
    "a damaged zip": (written("a.zip", b"PK\x03\x04" + bytes(50)), "damaged or locked zip"),
    "a bomb": (bomb, "cut short"),
    "an NRRD of a huge size": (huge_nrrd, "at most|damaged"),
    "an NRRD cut short": (lambda f: nrrd_with(f, b"sizes: 10 12 8", b"sizes: 10 12 80"), "cut short"),
    "an NRRD of two sides": (flat_nrrd, "three sides"),
    "an NRRD in colour": (colour_volume, "in colour"),
    "no numbers": (not_numbers, "no numbers"),
    "data elsewhere behind a comment": (behind_a_comment, "keep one data file beside"),
    "data elsewhere behind a blank line": (behind_a_blank, "keep one data file beside"),
    "a slice moved aside": (moved_aside, "moved against each other"),
    "a slice of another spacing": (other_spacing, "differ in size"),
    "data somewhere else": (far_data, "keep one data file beside"),
    "a header alone": (header_alone, "not beside it"),
    "nothing there": (lambda f: f / "missing.nrrd", "not usable"),
    "an empty folder": (lambda f: f, "without a scan"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_it_is_refused_in_a_sentence(name: str, tmp_path: Path) -> None:
    make, said = BAD[name]
    with pytest.raises(InputRefused, match=said) as refused:
        read_volume(make(tmp_path))
    assert refused.value.sentence.endswith(".")
    assert len(refused.value.sentence) < 500


def test_a_huge_header_costs_no_memory(tmp_path: Path) -> None:
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    for make in (bomb, huge_nrrd, huge_dicom):
        with pytest.raises(InputRefused):
            read_volume(make(tmp_path))
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 100_000


def test_no_link_is_followed(tmp_path: Path) -> None:
    (tmp_path / "loop").symlink_to(tmp_path)
    with pytest.raises(InputRefused, match="without a scan"):
        read_volume(tmp_path)


@pytest.mark.parametrize("name", [*WITH_SPACING, *WITHOUT_SPACING])
def test_bytes_lost_or_flipped_give_a_volume_or_a_sentence(name: str, tmp_path: Path) -> None:
    made = (WITH_SPACING | WITHOUT_SPACING)[name](tmp_path)
    path = sorted(p for p in tmp_path.iterdir() if p.is_file())[0]
    whole, rng = path.read_bytes(), np.random.default_rng(7)
    for _ in range(12):
        torn = bytearray(whole[: rng.integers(0, len(whole))] if rng.random() < 0.5 else whole)
        for at in rng.integers(0, max(1, len(torn)), 4) if torn else ():
            torn[at] = int(rng.integers(0, 256))
        path.write_bytes(bytes(torn))
        assert isinstance(read_or_refused(read_volume, made), Volume | str)


def read_or_refused(read: Callable[[Path], Film | Volume], path: Path) -> Film | Volume | str:
    """The picture, or the sentence of its refusal."""
    try:
        return read(path)
    except InputRefused as refused:
        return refused.sentence


def shipped() -> list[Path]:
    """Pictures that come with packages of the registry."""
    found = [
        path
        for package in (pydicom, skimage, tifffile, SimpleITK)
        for path in sorted((Path(str(package.__file__)).parent).rglob("*"))
        if path.suffix.lower() in (".dcm", ".tif", ".tiff", ".png", ".jpg", ".nii", ".nrrd", ".mha") and path.is_file()
    ]
    assert len(found) > 60
    return found


def test_every_picture_that_ships_with_a_package_opens_or_is_refused(tmp_path: Path) -> None:
    opened = 0
    for path in shipped():
        for read in (read_film, read_volume):
            picture = read_or_refused(read, path)
            opened += not isinstance(picture, str)
            assert not isinstance(picture, str) or picture.endswith((".", "?")), path
    assert opened > 20


def test_a_deflated_file_that_unpacks_to_too_much_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    data = slice_of(0, DeflatedExplicitVRLittleEndian)
    data.save_as(tmp_path / "a.dcm", enforce_file_format=True)
    assert header_of(tmp_path / "a.dcm") is not None
    monkeypatch.setattr(dicom, "MOST_VOXELS", 100)
    with pytest.raises(InputRefused, match="once unpacked"):
        header_of(tmp_path / "a.dcm")

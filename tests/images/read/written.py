"""One small volume written in many ways."""

from __future__ import annotations

import gzip
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pydicom
import SimpleITK
import tifffile
from PIL import Image
from pydicom.dataset import Dataset, FileMetaDataset
from pydicom.uid import ExplicitVRBigEndian, ExplicitVRLittleEndian, ImplicitVRLittleEndian, RLELossless

SPACING = (0.2, 0.25, 0.3)
SHAPE = (8, 12, 10)
"""z, y, x."""


def values() -> np.ndarray[Any, np.dtype[np.int16]]:
    """Grey values in which every voxel differs."""
    return np.arange(np.prod(SHAPE), dtype=np.int16).reshape(SHAPE) - 100


def by_sitk(name: str, compressed: bool = False) -> Callable[[Path], Path]:
    """Writer of a format that SimpleITK knows by its name."""

    def write(folder: Path) -> Path:
        image = SimpleITK.GetImageFromArray(values())
        image.SetSpacing(SPACING)
        image.SetOrigin((5.0, -3.0, 7.0))
        SimpleITK.WriteImage(image, str(folder / name), compressed)
        return folder / name

    return write


def nrrd(endian: str, encoding: str, detached: bool = False) -> Callable[[Path], Path]:
    """Writer of NRRD by hand."""

    def write(folder: Path) -> Path:
        data = values().astype(">i2" if endian == "big" else "<i2").tobytes()
        data = gzip.compress(data) if encoding == "gzip" else data
        header = (
            f"NRRD0004\ntype: short\ndimension: 3\nsizes: {SHAPE[2]} {SHAPE[1]} {SHAPE[0]}\nspacings: "
            f"{SPACING[0]} {SPACING[1]} {SPACING[2]}\nendian: {endian}\nencoding: {encoding}\n"
        )
        if detached:
            (folder / "values.raw").write_bytes(data)
            (folder / "scan.nhdr").write_text(header + "data file: values.raw\n")
            return folder / "scan.nhdr"
        (folder / "scan.nrrd").write_bytes(header.encode() + b"\n" + data)
        return folder / "scan.nrrd"

    return write


def slice_of(k: int, syntax: Any = ExplicitVRLittleEndian) -> Dataset:
    """One CT slice of the volume."""
    data = Dataset()
    data.file_meta = FileMetaDataset()
    data.file_meta.TransferSyntaxUID = syntax
    data.file_meta.MediaStorageSOPClassUID = data.SOPClassUID = pydicom.uid.CTImageStorage
    data.file_meta.MediaStorageSOPInstanceUID = data.SOPInstanceUID = pydicom.uid.UID(f"1.2.3.{k + 1}")
    data.SeriesInstanceUID, data.Modality, data.InstanceNumber = "1.2.3", "CT", 50 - k
    data.Rows, data.Columns = SHAPE[1:]
    data.PixelSpacing = [SPACING[1], SPACING[0]]
    data.SliceThickness = 9.0
    data.ImageOrientationPatient = [1, 0, 0, 0, 1, 0]
    data.ImagePositionPatient = [5.0, -3.0, 7.0 + k * SPACING[2]]
    data.SamplesPerPixel, data.PhotometricInterpretation = 1, "MONOCHROME2"
    data.BitsAllocated, data.BitsStored, data.HighBit, data.PixelRepresentation = 16, 16, 15, 1
    data.RescaleSlope, data.RescaleIntercept = 1, 0
    data.PixelData = values()[k].astype(">i2" if syntax == ExplicitVRBigEndian else "<i2").tobytes()
    return data


def dicom_folder(syntax: Any = ExplicitVRLittleEndian) -> Callable[[Path], Path]:
    """Writer of a series, one file a slice, names in no order of theirs."""

    def write(folder: Path) -> Path:
        for k in range(SHAPE[0]):
            data = slice_of(k, ExplicitVRLittleEndian if syntax == RLELossless else syntax)
            if syntax == RLELossless:
                data.compress(RLELossless, generate_instance_uid=False)
            data.save_as(folder / f"{(k * 5) % 8}.dcm", enforce_file_format=True)
        return folder

    return write


def multi_frame(folder: Path) -> Path:
    """The volume as one enhanced file."""
    data = slice_of(0)
    data.SOPClassUID = data.file_meta.MediaStorageSOPClassUID = pydicom.uid.EnhancedCTImageStorage
    data.NumberOfFrames = SHAPE[0]
    data.PixelData = values()[::-1].astype("<i2").tobytes()
    shared, measures, lies = Dataset(), Dataset(), Dataset()
    measures.PixelSpacing, measures.SliceThickness = data.PixelSpacing, 9.0
    lies.ImageOrientationPatient = data.ImageOrientationPatient
    shared.PixelMeasuresSequence, shared.PlaneOrientationSequence = [measures], [lies]
    data.SharedFunctionalGroupsSequence = [shared]
    frames = []
    for k in reversed(range(SHAPE[0])):
        frame, place = Dataset(), Dataset()
        place.ImagePositionPatient = [5.0, -3.0, 7.0 + k * SPACING[2]]
        frame.PlanePositionSequence = [place]
        frames.append(frame)
    data.PerFrameFunctionalGroupsSequence = frames
    del data.PixelSpacing, data.ImageOrientationPatient, data.ImagePositionPatient
    data.save_as(folder / "scan.dcm", enforce_file_format=True)
    return folder / "scan.dcm"


def tiff_stack(folder: Path) -> Path:
    tifffile.imwrite(folder / "scan.tif", values())
    return folder / "scan.tif"


def png_folder(folder: Path) -> Path:
    for k, level in enumerate(values()):
        Image.fromarray((level + 100).astype(np.uint16)).save(folder / f"{k:03d}.png")
    return folder


WITH_SPACING: dict[str, Callable[[Path], Path]] = {
    "NRRD, little endian, raw": nrrd("little", "raw"),
    "NRRD, big endian, raw": nrrd("big", "raw"),
    "NRRD, big endian, gzip": nrrd("big", "gzip"),
    "NRRD, detached header": nrrd("little", "raw", detached=True),
    "NRRD, detached and gzip": nrrd("little", "gzip", detached=True),
    "NRRD of SimpleITK, compressed": by_sitk("scan.nrrd", compressed=True),
    "NIfTI": by_sitk("scan.nii"),
    "NIfTI, compressed": by_sitk("scan.nii.gz"),
    "MetaImage": by_sitk("scan.mha", compressed=True),
    "MetaImage, detached": by_sitk("scan.mhd"),
    "DICOM folder": dicom_folder(),
    "DICOM folder, implicit": dicom_folder(ImplicitVRLittleEndian),
    "DICOM folder, big endian": dicom_folder(ExplicitVRBigEndian),
    "DICOM folder, compressed": dicom_folder(RLELossless),
    "DICOM, many frames": multi_frame,
}
WITHOUT_SPACING: dict[str, Callable[[Path], Path]] = {"TIFF stack": tiff_stack, "PNG folder": png_folder}

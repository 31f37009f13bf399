"""Volumes and films as DICOM: a CT series, one multi-frame craniofacial volume, an intra-oral film; all invented."""

from __future__ import annotations

import hashlib
import io
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pydicom.dataset import Dataset, FileDataset, FileMetaDataset
from pydicom.uid import (
    UID,
    CTImageStorage,
    DigitalIntraOralXRayImageStorageForPresentation,
    ExplicitVRLittleEndian,
    XRay3DCraniofacialImageStorage,
)

PATIENT = "Invented^Phantom"
DAY = "20000101"
STRAIGHT = [1, 0, 0, 0, 1, 0]

Spacing = tuple[float, float, float]


def uid(*words: object) -> UID:
    """An identifier made of a digest of words, under the root for such: 2.25 and a whole number."""
    digest = hashlib.sha256("|".join(map(str, words)).encode()).digest()
    return UID(f"2.25.{int.from_bytes(digest[:15], 'big')}")


def ct_series(values: NDArray[Any], spacing_mm: Spacing, name: str) -> dict[str, bytes]:
    """A volume (z, y, x) with voxel sizes x, y, z [mm] as a CT series: file name → bytes, a slice each."""
    files = {}
    for k, piece in enumerate(values):
        data = _start(CTImageStorage, "CT", name, k)
        data.ImageType = ["DERIVED", "SECONDARY", "AXIAL"]
        data.FrameOfReferenceUID, data.PositionReferenceIndicator = uid(name, "frame"), ""
        data.InstanceNumber = k + 1
        data.PixelSpacing = [_ds(spacing_mm[1]), _ds(spacing_mm[0])]
        data.SliceThickness = _ds(spacing_mm[2])
        data.ImageOrientationPatient = STRAIGHT
        data.ImagePositionPatient = ["0", "0", _ds(k * spacing_mm[2])]
        data.RescaleSlope, data.RescaleIntercept, data.RescaleType = "1", "0", "US"
        data.KVP, data.AcquisitionNumber = None, None
        _pixels(data, piece)
        files[f"{k + 1:04d}.dcm"] = _bytes(data)
    return files


def craniofacial(values: NDArray[Any], spacing_mm: Spacing, name: str) -> bytes:
    """A volume (z, y, x) with voxel sizes x, y, z [mm] as one multi-frame file."""
    data = _start(XRay3DCraniofacialImageStorage, "DX", name, "all")
    data.ImageType = ["DERIVED", "PRIMARY", "VOLUME", "NONE"]
    data.FrameOfReferenceUID, data.PositionReferenceIndicator = uid(name, "frame"), ""
    data.InstanceNumber, data.NumberOfFrames = 1, len(values)
    shared, measures, orientation, transform = Dataset(), Dataset(), Dataset(), Dataset()
    measures.PixelSpacing = [_ds(spacing_mm[1]), _ds(spacing_mm[0])]
    measures.SliceThickness = _ds(spacing_mm[2])
    orientation.ImageOrientationPatient = STRAIGHT
    transform.RescaleSlope, transform.RescaleIntercept, transform.RescaleType = "1", "0", "US"
    shared.PixelMeasuresSequence, shared.PlaneOrientationSequence = [measures], [orientation]
    shared.PixelValueTransformationSequence = [transform]
    data.SharedFunctionalGroupsSequence = [shared]
    data.PerFrameFunctionalGroupsSequence = [_frame(k, spacing_mm[2]) for k in range(len(values))]
    _pixels(data, values)
    return _bytes(data)


def intraoral(values: NDArray[Any], pixel_mm: tuple[float, float], sid_sod_mm: tuple[float, float], name: str) -> bytes:
    """A film (rows, columns), bright = dense: pixel sizes at the detector, and source to detector and object [mm]."""
    data = _start(DigitalIntraOralXRayImageStorageForPresentation, "IO", name, "film")
    data.ImageType = ["DERIVED", "PRIMARY", ""]
    data.InstanceNumber = 1
    data.ImagerPixelSpacing = [_ds(pixel_mm[1]), _ds(pixel_mm[0])]
    data.DistanceSourceToDetector, data.DistanceSourceToPatient = _ds(sid_sod_mm[0]), _ds(sid_sod_mm[1])
    data.EstimatedRadiographicMagnificationFactor = _ds(sid_sod_mm[0] / sid_sod_mm[1])
    data.PixelIntensityRelationship, data.PixelIntensityRelationshipSign = "LOG", -1
    data.PresentationIntentType, data.PresentationLUTShape = "FOR PRESENTATION", "IDENTITY"
    data.RescaleSlope, data.RescaleIntercept, data.RescaleType = "1", "0", "US"
    data.BurnedInAnnotation, data.LossyImageCompression = "NO", "00"
    _pixels(data, values)
    return _bytes(data)


def _start(storage: UID, modality: str, name: str, which: object) -> FileDataset:
    """A file of our own with patient, study and series."""
    meta = FileMetaDataset()
    meta.MediaStorageSOPClassUID, meta.MediaStorageSOPInstanceUID = storage, uid(name, which)
    meta.TransferSyntaxUID, meta.ImplementationClassUID = ExplicitVRLittleEndian, uid("rootfill")
    data = FileDataset("", {}, file_meta=meta, preamble=bytes(128))
    data.SOPClassUID, data.SOPInstanceUID = storage, uid(name, which)
    data.StudyInstanceUID, data.SeriesInstanceUID = uid(name, "study"), uid(name, modality, "series")
    data.Modality, data.PatientName, data.PatientID = modality, PATIENT, "INVENTED"
    data.PatientBirthDate, data.PatientSex, data.StudyID, data.SeriesNumber = "", "", "1", 1
    data.StudyDate, data.StudyTime, data.ContentDate, data.ContentTime = DAY, "000000", DAY, "000000"
    data.AccessionNumber, data.ReferringPhysicianName, data.Manufacturer = "", "", "rootfill"
    data.StudyDescription = "Invented tooth"
    data.SeriesDescription = f"Invented: {name}"[:64]
    data.ImageComments = "Invented by formulas: no patient."
    return data


def _frame(k: int, step_mm: float) -> Dataset:
    frame, position, content = Dataset(), Dataset(), Dataset()
    position.ImagePositionPatient = ["0", "0", _ds(k * step_mm)]
    content.StackID, content.InStackPositionNumber, content.DimensionIndexValues = "1", k + 1, [k + 1]
    frame.PlanePositionSequence, frame.FrameContentSequence = [position], [content]
    return frame


def _pixels(data: Dataset, values: NDArray[Any]) -> None:
    """16-bit grey values, little endian."""
    data.SamplesPerPixel, data.PhotometricInterpretation = 1, "MONOCHROME2"
    data.Rows, data.Columns = values.shape[-2:]
    data.BitsAllocated, data.BitsStored, data.HighBit = 16, 16, 15
    data.PixelRepresentation = int(values.dtype.kind == "i")
    data.PixelData = np.ascontiguousarray(values, dtype=f"<{values.dtype.kind}2").tobytes()


def _ds(value: float) -> str:
    return f"{value:.10g}"


def _bytes(data: Dataset) -> bytes:
    buffer = io.BytesIO()
    data.save_as(buffer, enforce_file_format=True)
    return buffer.getvalue()

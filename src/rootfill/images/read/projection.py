"""DICOM films: one picture, and how far its spacing is to be believed for a tooth."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rootfill import tables
from rootfill.errors import InputRefused, Said
from rootfill.images.model import NO_SCALE, Film, Scale, Trust
from rootfill.images.read.dicom import Header, as_numbers, frames_of, header_of, named_object

AT_DETECTOR = "The spacing holds at the detector: a tooth is shown larger than it is by {low} to {high} %."


def read_dicom_film(path: Path) -> Film:
    """A film from one DICOM file. Raises InputRefused."""
    header = header_of(path)
    if header is None:
        raise InputRefused(path.name, Said(named_object(path)), "choose the film itself")
    if header.frames > 1:
        raise InputRefused(
            path.name, Said(f"of {header.frames} pictures"), "a film is one picture; a scan is read as a scan"
        )
    scale, cautions = film_scale(header)
    (values,) = frames_of(header)
    return Film(values, scale, cautions)


def film_scale(header: Header) -> tuple[Scale, tuple[str, ...]]:
    """Scale of a projection by the trust order: fiducial, geometry, detector with magnification, with distances, alone.

    Order: docs/pictures.md. Spacings are stored row first; ours are x first.
    """
    calibrated = _spacing(header.numbers("PixelSpacing", 2))
    detector = _spacing(header.numbers("ImagerPixelSpacing", 2))
    kind = str(header.get("PixelSpacingCalibrationType", "")).upper()
    if calibrated and kind in ("FIDUCIAL", "GEOMETRY"):
        return _scale(calibrated, Trust.FIDUCIAL if kind == "FIDUCIAL" else Trust.GEOMETRY), ()
    if detector:
        return _from_detector(header, detector)
    nominal = _spacing(header.numbers("NominalScannedPixelSpacing", 2)) or calibrated
    if nominal:
        return _scale(nominal, Trust.NOMINAL), ("The file does not say what its spacing was measured on.",)
    return NO_SCALE, ("The film states no spacing: lengths are in pixels until a known length is marked.",)


def _from_detector(header: Header, detector: Sequence[float]) -> tuple[Scale, tuple[str, ...]]:
    factor = as_numbers([header.get("EstimatedRadiographicMagnificationFactor")], 1)
    cautions: tuple[str, ...] = ()
    if factor and factor[0] >= 1:
        return _scale([x / factor[0] for x in detector], Trust.MAGNIFICATION), ()
    if factor:
        cautions = (f"The file states a magnification of {factor[0]:g}, below 1: it is not used.",)
    far = as_numbers([header.get("DistanceSourceToDetector"), header.get("DistanceSourceToPatient")], 2)
    if far and far[0] > far[1] > 0:
        return _scale([x * far[1] / far[0] for x in detector], Trust.DISTANCES), cautions
    said = AT_DETECTOR.format(low="3", high="5")
    return _scale(detector, Trust.DETECTOR), (*cautions, said)


def _scale(spacing: Sequence[float], trust: Trust) -> Scale:
    true = tables.rule(f"film_{trust.name.lower()}_true")
    return Scale((spacing[0], spacing[1]), trust, true.low or true.value, true.high or true.value)


def _spacing(stored: Sequence[float] | None) -> list[float] | None:
    """Column spacing first; None for what cannot be a film's pixel."""
    rule = tables.rule("pixel_range_mm")
    low, high = rule.low or 0.0, rule.high or 1.0
    if stored is None or not all(low <= x <= high for x in stored):
        return None
    return [stored[1], stored[0]]

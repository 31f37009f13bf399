"""DICOM slices as a volume: one series, in order along its normal, every slice there."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from rootfill.errors import InputRefused, Said
from rootfill.images.model import Grey, Volume
from rootfill.images.read.dicom import Header, as_numbers, frames_of, header_of, named_object, whole
from rootfill.images.read.limits import check_size
from rootfill.images.read.scales import volume_scale
from rootfill.units import FloatArray

UNEVEN = 0.02
"""Distances of neighbouring slices may differ by this share of their median."""

Progress = Callable[[float], None]


@dataclass(frozen=True, eq=False)
class Placed:
    """One slice: its file and frame, where its first pixel lies and how it lies [mm], None where that is not said."""

    header: Header
    frame: int
    position: FloatArray | None
    orientation: FloatArray | None
    spacing: tuple[float, float] | None
    rescale: tuple[float, float] = (1.0, 0.0)


def read_series(
    paths: Sequence[Path], spacing_mm: Sequence[float] | None, series: str | None, progress: Progress
) -> Volume:
    """The volume in these DICOM files. Raises InputRefused."""
    headers = [header for path in paths if (header := header_of(path)) is not None]
    if not headers:
        raise InputRefused(paths[0].name, Said(named_object(paths[0])), "choose the scan itself")
    slices = [placed for header in _one_series(headers, series) for placed in _read_places(header)]
    if len(slices) < 2:
        raise InputRefused(
            slices[0].header.path.name, Said("a single picture"), "a volume has two slices or more: choose its folder"
        )
    ordered, step, cautions = _in_order(slices)
    values = _filled(ordered, progress)
    first = ordered[0]
    stored = None if first.spacing is None or step is None else (first.spacing[1], first.spacing[0], step)
    scale, about_scale = volume_scale(stored, spacing_mm)
    return Volume(values, scale, _affine(first, stored), (*cautions, *about_scale))


def _one_series(headers: Sequence[Header], wanted: str | None) -> list[Header]:
    groups: dict[str, list[Header]] = defaultdict(list)
    for header in headers:
        groups[str(header.get("SeriesInstanceUID", ""))].append(header)
    if wanted is not None:
        named = {_name(group): group for group in groups.values()} | groups
        if wanted not in named:
            raise InputRefused("series", wanted, f"one of: {', '.join(_name(g) for g in groups.values())}")
        return named[wanted]
    if len(groups) > 1:
        names = "; ".join(f"{_name(group)} with {len(group)} files" for group in groups.values())
        raise InputRefused("the folder", Said(f"of {len(groups)} series"), f"choose one of them: {names[:300]}")
    return next(iter(groups.values()))


def _name(group: Sequence[Header]) -> str:
    return str(group[0].get("SeriesNumber", "")) or str(group[0].get("SeriesInstanceUID", "unnamed"))


def _read_places(header: Header) -> list[Placed]:
    """The slices of one file. Raises InputRefused where its header breaks off or lies."""
    try:
        return _placed(header)
    except Exception:  # a broken sequence makes pydicom raise anything
        raise InputRefused(header.path.name, Said("damaged in its header"), "copy or export it again") from None


def _placed(header: Header) -> list[Placed]:
    """The slices of one file."""
    per_frame = header.get("PerFrameFunctionalGroupsSequence")
    if header.frames > 1 and per_frame is not None and len(per_frame) == header.frames:
        shared = (header.get("SharedFunctionalGroupsSequence") or [None])[0]
        return [_of_frame(header, i, group, shared) for i, group in enumerate(per_frame)]
    position, orientation = header.numbers("ImagePositionPatient", 3), header.numbers("ImageOrientationPatient", 6)
    spacing = header.numbers("PixelSpacing", 2)
    if header.frames == 1:
        return [_slice(header, 0, position, orientation, spacing)]
    between = as_numbers([header.get("SpacingBetweenSlices")], 1)
    along = None
    if between and orientation:
        along = np.cross(orientation[:3], orientation[3:]) * between[0]
    places = [None if position is None or along is None else list(position + i * along) for i in range(header.frames)]
    return [_slice(header, i, place, orientation, spacing) for i, place in enumerate(places)]


def _of_frame(header: Header, number: int, own: Any, shared: Any) -> Placed:
    def item(sequence: str, keyword: str, count: int) -> list[float] | None:
        for group in (own, shared):
            inner = getattr(group, sequence, None)
            if inner:
                value = getattr(inner[0], keyword, None)
                return as_numbers([value] if count == 1 else value, count)
        return None

    return _slice(
        header,
        number,
        item("PlanePositionSequence", "ImagePositionPatient", 3),
        item("PlaneOrientationSequence", "ImageOrientationPatient", 6),
        item("PixelMeasuresSequence", "PixelSpacing", 2),
        (
            item("PixelValueTransformationSequence", "RescaleSlope", 1),
            item("PixelValueTransformationSequence", "RescaleIntercept", 1),
        ),
    )


def _slice(
    header: Header,
    frame: int,
    position: list[float] | None,
    orientation: list[float] | None,
    spacing: list[float] | None,
    rescale: tuple[list[float] | None, list[float] | None] = (None, None),
) -> Placed:
    slope = rescale[0] or as_numbers([header.get("RescaleSlope", 1)], 1) or [1.0]
    intercept = rescale[1] or as_numbers([header.get("RescaleIntercept", 0)], 1) or [0.0]
    return Placed(
        header,
        frame,
        None if position is None else np.array(position),
        None if orientation is None else np.array(orientation),
        None if spacing is None else (spacing[0], spacing[1]),
        (slope[0] or 1.0, intercept[0]),
    )


def _in_order(slices: Sequence[Placed]) -> tuple[list[Placed], float | None, tuple[str, ...]]:
    """Slices along their normal, the distance between them where it is said, and cautions. Raises InputRefused."""
    first = slices[0]
    if any(s.header.shape != first.header.shape or not _alike(s.spacing, first.spacing) for s in slices):
        raise InputRefused("the series", Said("of slices that differ in size"), "choose the slices of one scan")
    if any(s.position is None or s.orientation is None for s in slices):
        numbered = sorted(slices, key=lambda s: (whole(s.header.get("InstanceNumber"), 0), s.header.path.name, s.frame))
        return numbered, None, ("The slices do not say where they lie: they are taken in the order of their numbers.",)
    orientation = np.array(first.orientation)
    if any(np.abs(np.array(s.orientation) - orientation).max() > 1e-3 for s in slices):
        raise InputRefused("the series", Said("of slices that lie differently"), "choose the slices of one scan")
    normal = np.cross(orientation[:3], orientation[3:])
    along = np.array([float(np.array(s.position) @ normal) for s in slices])
    order = np.argsort(along, kind="stable")
    ordered = [slices[i] for i in order]
    return ordered, _step(ordered, along[order], normal), ()


def _alike(a: tuple[float, float] | None, b: tuple[float, float] | None) -> bool:
    return a == b if a is None or b is None else bool(np.allclose(a, b, rtol=1e-3))


def _step(ordered: Sequence[Placed], along: FloatArray, normal: FloatArray) -> float:
    """The one distance between neighbouring slices. Raises InputRefused where some are missing, doubled or sheared."""
    gaps = np.diff(along)
    step = float(np.median(gaps))
    if step <= 0 or (gaps < step * 0.5).any():
        raise InputRefused(
            "the series", Said("with slices at the same place"), "choose a folder that holds each slice once"
        )
    if (np.abs(gaps - step) > UNEVEN * step).any():
        at = int(np.argmax(gaps))
        raise InputRefused(
            "the series",
            Said(f"without slices between {along[at]:.2f} and {along[at + 1]:.2f} mm"),
            "copy or export all its slices",
        )
    places = np.array([s.position for s in ordered]) - np.array(ordered[0].position)
    aside = np.linalg.norm(places - np.outer(places @ normal, normal), axis=1)
    if aside.max() > UNEVEN * (along[-1] - along[0]):
        raise InputRefused("the series", Said("with slices moved against each other"), "export it straight")
    return step


def _filled(ordered: Sequence[Placed], progress: Progress) -> Grey:
    """Values of all slices in one array, read file by file."""
    rows, columns = ordered[0].header.shape
    check_size("the series", (columns, rows, len(ordered)))
    places: dict[Path, dict[int, int]] = defaultdict(dict)
    headers = {}
    for k, placed in enumerate(ordered):
        places[placed.header.path][placed.frame] = k
        headers[placed.header.path] = placed.header
    scales = {placed.rescale for placed in ordered}
    values: Grey | None = None
    done = 0
    for path, frames in places.items():
        for i, frame in enumerate(frames_of(headers[path])):
            if i not in frames:
                continue
            kept = _rescaled(frame, ordered[frames[i]], alike=len(scales) == 1)
            if values is None:
                values = np.empty((len(ordered), rows, columns), dtype=kept.dtype)
            values[frames[i]] = kept
            done += 1
            progress(done / len(ordered))
    if values is None or done != len(ordered):
        raise InputRefused("the series", Said("with slices that hold no pixels"), "copy or export it again")
    return values


def _rescaled(frame: Grey, placed: Placed, alike: bool) -> Grey:
    """Values in the scanner's units, in 16 bits where all slices share one scale and 16 hold them, else as floats.

    Slices that share another scale are left as they are stored.
    """
    slope, intercept = placed.rescale
    if alike and slope == 1 and intercept == int(intercept):
        most = (1 << whole(placed.header.get("BitsStored", 16), 16)) - 1 + intercept
        if frame.dtype.kind == "u" and frame.dtype.itemsize <= 2 and intercept >= -32768 and most <= 32767:
            return (frame.astype(np.int32) + int(intercept)).astype(np.int16)
    if alike and slope > 0:
        return frame
    return (frame * np.float32(slope) + np.float32(intercept)).astype(np.float32)


def _affine(first: Placed, spacing: tuple[float, float, float] | None) -> FloatArray | None:
    """From voxel indices (x, y, z, 1) to patient mm."""
    if first.position is None or first.orientation is None or spacing is None:
        return None
    x, y = first.orientation[:3], first.orientation[3:]
    affine = np.eye(4)
    affine[:3, 0], affine[:3, 1], affine[:3, 2] = x * spacing[0], y * spacing[1], np.cross(x, y) * spacing[2]
    affine[:3, 3] = first.position
    return affine

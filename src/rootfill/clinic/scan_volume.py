"""A scan in, its roots and canals out; and how they drop into a case."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from rootfill.images import Volume
from rootfill.images.read import read_volume
from rootfill.images.scan import Scanned, scan_volume

READING = 0.4
"""Share of the time that goes into reading."""


@dataclass(frozen=True, eq=False)
class ScanResult:
    """What was found, and the volume it was found in."""

    scanned: Scanned
    volume: Volume


def scan_file(
    path: Path,
    seeds: Sequence[Sequence[float]] = (),
    spacing_mm: Sequence[float] | None = None,
    threshold: float | None = None,
    keep_going: Callable[[float], None] = lambda _: None,
) -> ScanResult:
    """Read a scan and find the tooth at the seeds, voxel indices (x, y, z), and its canals. Raises InputRefused.

    ``keep_going`` is told the share done and may raise to stop.
    """
    volume = read_volume(path, spacing_mm, progress=lambda share: keep_going(READING * share))
    scanned = scan_volume(volume, seeds, threshold, lambda share: keep_going(READING + (1 - READING) * share))
    return ScanResult(scanned, volume)

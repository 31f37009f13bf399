"""A tooth out of a scan: hard tissue, roots, canals from end to orifice, measured with their doubt."""

from __future__ import annotations

from rootfill.images.scan.model import Isthmus, Scanned, ScannedCanal, ScannedJoin, ScannedRoot, Stations
from rootfill.images.scan.scan import scan_volume

__all__ = ["Isthmus", "Scanned", "ScannedCanal", "ScannedJoin", "ScannedRoot", "Stations", "scan_volume"]

"""What leaves for other programs: pictures in the formats they read."""

from __future__ import annotations

from rootfill.gateway.dicom import craniofacial, ct_series, intraoral
from rootfill.gateway.nrrd import nrrd
from rootfill.gateway.png import png

__all__ = ["craniofacial", "ct_series", "intraoral", "nrrd", "png"]

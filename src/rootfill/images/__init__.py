"""What pictures say: films and scans read, canals found, fillings measured."""

from __future__ import annotations

from rootfill.images.model import NO_SCALE, Film, Scale, Trust, Volume

__all__ = ["NO_SCALE", "Film", "Scale", "Trust", "Volume"]

"""The one door through which pictures come in; what cannot be one is refused in a sentence before it is held."""

from __future__ import annotations

from rootfill.images.read.open import read_film, read_volume

__all__ = ["read_film", "read_volume"]

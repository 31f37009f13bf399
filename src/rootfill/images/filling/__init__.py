"""Prepared and filled scans compared: voids of a filling, what was not filled, what lies beyond the end."""

from __future__ import annotations

from rootfill.images.filling.check import check_filling
from rootfill.images.filling.model import Beyond, Checked, Figure, Laid, Percents, Stretch

__all__ = ["Beyond", "Checked", "Figure", "Laid", "Percents", "Stretch", "check_filling"]

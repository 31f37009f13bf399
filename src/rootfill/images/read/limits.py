"""What is refused before anything is held: pictures larger than a clinic has, headers that claim what is not there."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rootfill.errors import InputRefused, Said

MOST_VOXELS = 1_500_000_000
"""Voxels of a volume, pixels of a film: three gigabytes at 16 bit."""

MOST_FILES = 5_000
"""Files looked at in a folder or a zip."""

DEFLATE_MOST = 1_100
"""No honest deflated data unpacks to more than about a thousand times its size."""


def check_size(what: str, shape: Sequence[int]) -> None:
    """Refuse a picture that claims to be too large or empty."""
    said = " × ".join(str(n) for n in shape)
    if any(n < 1 for n in shape):
        raise InputRefused(what, Said(f"of size {said}"), "choose a picture with at least one voxel each way")
    if math.prod(shape) > MOST_VOXELS:
        raise InputRefused(
            what, Said(f"of size {said}"), f"at most {MOST_VOXELS:,} voxels are read: crop or export it coarser"
        )


def check_held(what: str, claimed: int, held: int, deflated: bool = False) -> None:
    """Refuse a file that is shorter than its header claims, both in bytes."""
    if held * (DEFLATE_MOST if deflated else 1) < claimed:
        raise InputRefused(
            what, Said(f"cut short: {held} bytes where the header speaks of {claimed}"), "copy or export it again"
        )

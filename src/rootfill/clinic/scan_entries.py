"""What a canal of a case takes from a scan, and what of it the case says already."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

SHAPES, LENGTHS = ("natural", "profile"), ("canal_length_mm", "orifice_at_mm")
SAME = {"natural": (*SHAPES, "made", *LENGTHS), "canal_length_mm": (*LENGTHS, *SHAPES)}
"""Keys of a canal that say the same: a shape in any form counts as a shape, an orifice as a length.

A shape with stations ends at its canal's length: beside one that was entered, the other would contradict it.
"""


def says_already(entered: Mapping[str, Any], key: str) -> bool:
    """Whether a canal as entered says so already."""
    return any(entered.get(name) is not None for name in SAME.get(key, (key,)))

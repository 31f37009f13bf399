"""Labels that would overlap are moved apart, as little as possible."""

from __future__ import annotations

from collections.abc import Sequence


def spread(wanted: Sequence[float], heights: Sequence[float], low: float, high: float) -> list[float]:
    """Centres nearest to ``wanted`` (least squares) at which labels of these heights do not overlap.

    ``wanted`` is ascending. Everything stays between ``low`` and ``high``; if the labels together are
    taller than that, they start at ``low`` and run past ``high``, still apart. Blocks of touching labels
    are merged until none overlap (pool adjacent violators).
    """
    offsets = _stacked(heights)
    targets = [w - offset for w, offset in zip(wanted, offsets, strict=True)]
    tops = _ascending(targets)
    last = max(low, high - sum(heights))
    return [min(max(top, low), last) + offset for top, offset in zip(tops, offsets, strict=True)]


def _stacked(heights: Sequence[float]) -> list[float]:
    """Centre of each label when all are stacked from 0."""
    centres, top = [], 0.0
    for height in heights:
        centres.append(top + height / 2)
        top += height
    return centres


def _ascending(values: Sequence[float]) -> list[float]:
    """The non-decreasing sequence nearest to ``values``."""
    blocks: list[tuple[float, int]] = []
    for value in values:
        block = (value, 1)
        while blocks and blocks[-1][0] > block[0]:
            mean, count = blocks.pop()
            total = count + block[1]
            block = ((mean * count + block[0] * block[1]) / total, total)
        blocks.append(block)
    return [mean for mean, count in blocks for _ in range(count)]

"""Where a canal opens into the chamber: where its narrow width jumps."""

from __future__ import annotations

import numpy as np

from rootfill.units import FloatArray

WIDENS = 0.8
"""Growth of the narrow width per length beyond which it is the floor of a chamber: no canal and no file widens so."""


def opens_at(s: FloatArray, narrow: FloatArray, window: float) -> float | None:
    """Distance from the end at which a canal opens into a chamber, or None where it never does.

    ``narrow`` are widths at the distances ``s``, both in one unit; the growth is taken over ``window``. The
    opening lies where the width passes the middle between that before and that after its jump.
    """
    after = np.interp(s + window, s, narrow)
    grows = (after - narrow) / window
    steep = np.flatnonzero((grows > WIDENS) & (s + window <= s[-1]))
    if not steep.size:
        return None
    start = int(steep[0])
    stop = int(np.clip(np.searchsorted(s, s[start] + window), start, len(s) - 1))
    half = (narrow[start] + narrow[stop]) / 2
    crossing = start + int(np.argmax(narrow[start : stop + 1] >= half))
    if crossing == 0:
        return float(s[0])
    low, high = narrow[crossing - 1], narrow[crossing]
    share = (half - low) / (high - low) if high > low else 1.0
    return float(s[crossing - 1] + share * (s[crossing] - s[crossing - 1]))

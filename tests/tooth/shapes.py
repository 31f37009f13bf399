"""Invented canal shapes for properties."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st

from rootfill.tooth import Arc, Curve, Profile


@st.composite
def profiles(draw: st.DrawFn, monotone: bool = False, round_only: bool = False) -> Profile:
    """2 to 7 stations over 4 to 18 mm, widths 0.15 to 1.2 mm, with waists unless ``monotone``."""
    steps = draw(st.lists(st.floats(0.5, 3.0), min_size=2, max_size=6))
    s = np.concatenate(([0.0], np.cumsum(steps)))
    s = s * max(1.0, 4.0 / s[-1])
    narrow = np.array(draw(st.lists(st.floats(0.15, 1.2), min_size=s.size, max_size=s.size)))
    extra = np.array(draw(st.lists(st.floats(0, 0.8), min_size=s.size, max_size=s.size)))
    narrow = np.sort(narrow) if monotone else narrow
    return Profile(s, narrow, narrow if round_only else narrow + extra)


@st.composite
def curves(draw: st.DrawFn, length_mm: float) -> Curve:
    """One arc inside the canal, to either side, radius 5 to 20 mm."""
    radius = draw(st.floats(5, 20))
    start = draw(st.floats(0, length_mm * 0.4))
    most = np.degrees((length_mm - start) / radius)
    angle = draw(st.floats(5, min(60.0, float(most) - 0.01)))
    return Curve((Arc(angle * draw(st.sampled_from([-1, 1])), radius, start),))

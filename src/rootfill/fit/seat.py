"""Where a flexible cone comes to rest, and where it is held there."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from rootfill.fit.model import TrimmedCones, Verdict
from rootfill.tooth.profile import Profile
from rootfill.units import FloatArray

VERDICTS = tuple(Verdict)
DUST_MM = 1e-9
"""Ties in floating point: a contact that only just reaches 4 mm does not lie above it."""


def seat_s_mm(profile: Profile, cones: TrimmedCones, widen_mm: FloatArray) -> FloatArray:
    """Station of the tip, shape (m,), at the lowest position with D(s) ≥ d(s − seat) everywhere above it.

    A canal is the profile with every diameter ``widen_mm`` (m,) wider. Linear pieces touch only at
    breakpoints or at the tip, so the answer is exact:
    seat = max( highest s with D(s) < tip, max over breakpoints s_j − (D_j − tip)/taper ).
    Below s = 0 there is free space, so a thin cone gives a negative seat; a cone that does not enter
    stands at the orifice.
    """
    slack = profile.narrow_mm + widen_mm[:, None] - cones.tip_mm[:, None]
    body = np.where(slack >= 0, profile.s_mm - slack / cones.taper, -np.inf).max(axis=1)
    return np.asarray(np.maximum(body, _tip_blocked_at(profile.s_mm, slack)))


def _tip_blocked_at(s_mm: FloatArray, slack: FloatArray) -> FloatArray:
    """Highest station where the canal is narrower than the tip, −inf where it never is; shape (m,)."""
    left, right = slack[:, :-1], slack[:, 1:]
    with np.errstate(divide="ignore", invalid="ignore"):
        crossing = s_mm[:-1] + np.diff(s_mm) * np.clip(-left / (right - left), 0.0, 1.0)
    blocked = np.where(left < 0, np.where(right >= 0, crossing, s_mm[1:]), -np.inf).max(axis=1)
    return np.asarray(np.where(slack[:, -1] < 0, s_mm[-1], blocked))


def held(
    profile: Profile,
    cones: TrimmedCones,
    widen_mm: FloatArray,
    seat: FloatArray,
    own_from_mm: float = 0.0,
    contact_mm: float = 0.02,
    loose_below_mm: float = 0.2,
) -> NDArray[np.intp]:
    """Index into :data:`VERDICTS` per member, shape (m,).

    A station is in contact where the gap (D − d)/2 is at most the least gap + ``contact_mm``; only the
    canal's own stretch counts; distances are from the seated cone's tip.
    """
    start = np.maximum(seat, own_from_mm)
    s = np.column_stack([np.broadcast_to(profile.s_mm, (seat.size, profile.s_mm.size)), start, seat + 2, seat + 4])
    s = np.minimum(s, profile.length_mm)
    gap = (profile.narrow_at(s) + widen_mm[:, None] - cones.tip_mm[:, None] - cones.taper * (s - seat[:, None])) / 2
    gap = np.where(s >= start[:, None], gap, np.inf)
    limit = gap.min(axis=1) + contact_mm
    above = s - seat[:, None]
    low = np.where(above <= 2 + DUST_MM, gap, np.inf).min(axis=1) <= limit + DUST_MM
    high = np.where(above >= 4 - DUST_MM, gap, np.inf).min(axis=1) < limit - DUST_MM
    loose = seat < own_from_mm - loose_below_mm
    return np.select([loose, low & high, low], [0, 1, 2], 3)


def open_share(profile: Profile, tip_mm: float, taper: float, seat: float) -> float:
    """Share of the canal's cross-section that a seated round cone leaves open, 0 to 1, by volume above its tip."""
    low, high = max(seat, 0.0), profile.length_mm
    h = np.array([low, high]) - seat
    d0, d1 = tip_mm + taper * h
    cone = np.pi * (high - low) * (d0 * d0 + d0 * d1 + d1 * d1) / 12
    return float(1 - cone / profile.volume_mm3(low, high))

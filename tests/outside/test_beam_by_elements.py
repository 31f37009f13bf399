"""The elastic rod against another discretisation and another solver.

Cubic beam elements (value and slope at every station, energy by two Gauss points) in place of second differences, and
``scipy.optimize.lsq_linear`` with bounded variables (an active set) in place of an interior-point conic solver.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import lsq_linear

from rootfill.fit import bend, contacts
from rootfill.tooth import Canal
from rootfill.tray import Rod
from tests.fit.shapes import STEEL_MPA, bent_25_06, parallel_arc


def element(h: float, x: float) -> np.ndarray:
    """Second derivatives of the four cubic shape functions of one element of length h at x, 0 to 1."""
    return np.array([(12 * x - 6) / h**2, (6 * x - 4) / h, (6 - 12 * x) / h**2, (6 * x - 2) / h])


def by_elements(canal: Canal, rod: Rod, s: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Offsets [mm] and wall forces [N]: least ½∫EI(κ + u″)² with |u| ≤ gap at every station, slopes free."""
    rows, wanted = np.zeros((2 * (s.size - 1), 2 * s.size)), np.zeros(2 * (s.size - 1))
    for e, h in enumerate(np.diff(s)):
        for g, x in enumerate((0.5 - 0.5 / math.sqrt(3), 0.5 + 0.5 / math.sqrt(3))):
            at = np.array([s[e] + h * x])
            stiffness = STEEL_MPA * math.pi * float(rod.diameter(at - s[0])[0]) ** 4 / 64
            weight = math.sqrt(stiffness * h / 2)
            rows[2 * e + g, 2 * e : 2 * e + 4] = weight * element(h, x)
            wanted[2 * e + g] = -weight * float(canal.curve.curvature(at)[0])
    gap = np.full(2 * s.size, np.inf)
    gap[::2] = (canal.profile.narrow_at(s) - rod.diameter(s - s[0])) / 2
    answer = lsq_linear(rows, wanted, (-gap, gap), method="bvls", tol=1e-15, max_iter=2000)
    assert answer.success
    return answer.x[::2], -(rows.T @ (rows @ answer.x - wanted))[::2]


def reference(canal: Canal, rod: Rod, tip_s_mm: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Stations, offsets and forces, with stations at both ends of the arc and close together at each contact."""
    marks = [m for a in canal.curve.arcs for m in (a.from_mm, a.to_mm) if tip_s_mm < m < canal.length_mm - 1e-6]
    coarse = np.unique(np.concatenate((np.linspace(tip_s_mm, canal.length_mm, 41), marks)))
    _, force = by_elements(canal, rod, coarse)
    h = (canal.length_mm - tip_s_mm) / 40
    close = [c + h * np.linspace(-1, 1, 9) for c in coarse[np.abs(force) > 1e-3 * np.abs(force).max()]]
    fine = np.unique(np.round(np.concatenate((coarse, *close)), 6))
    fine = fine[(fine >= tip_s_mm) & (fine <= canal.length_mm)]
    return fine, *by_elements(canal, rod, fine)


CASES = [
    ("arc, three contacts", parallel_arc(), Rod(0.5, 0.0), 7.0),
    ("arc, four contacts", parallel_arc(), Rod(0.5, 0.0), 4.0),
    ("tapered canal, parallel rod", bent_25_06(), Rod(0.40, 0.0), 4.0),
    ("tapered canal, near the limit", bent_25_06(), Rod(0.40, 0.0), 4.4),
    ("tapered canal, tapered rod", bent_25_06(), Rod(0.40, 0.02), 4.3),
]


@pytest.mark.parametrize(("canal", "rod", "tip"), [c[1:] for c in CASES], ids=[c[0] for c in CASES])
def test_the_wall_forces_agree_with_beam_elements_and_an_active_set(canal, rod, tip):
    s, offset, force = reference(canal, rod, tip)
    ours = bend(canal, rod, STEEL_MPA, tip)
    assert len(contacts(force)) >= 3
    assert ours.largest_force_n == pytest.approx(max(abs(f) for f in contacts(force)), rel=0.01)
    assert np.sum(np.abs(ours.wall_force_n)) == pytest.approx(np.sum(np.abs(force)), rel=0.01)
    widest = float((canal.profile.narrow_at(s) - rod.diameter(s - tip)).max()) / 2
    assert np.abs(np.interp(s, ours.s_mm, ours.offset_mm) - offset).max() < 0.01 * widest


def test_beam_elements_find_the_closed_form_of_the_split_contact():
    # EI/(rho sqrt(6 rho (D - d))) = 24.75 N: the reference itself is checked before it is believed
    _, _, force = reference(parallel_arc(), Rod(0.5, 0.0), 4.0)
    assert contacts(force) == pytest.approx([-24.75, 24.75, 24.75, -24.75], abs=0.01)

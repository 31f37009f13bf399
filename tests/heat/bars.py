"""Simple bodies whose heat has an exact answer, and the section that the tests of physical sense warm."""

from __future__ import annotations

import numpy as np

from rootfill.heat.body import Bodies
from rootfill.heat.march import History, march
from rootfill.heat.mesh import Fitted, Grid
from rootfill.heat.model import HELD, INSULATED, Effort, Material, Materials, Section, Source, Surroundings, Transition
from rootfill.heat.steps import Phase

DENTINE = Material(0.58, 2140, 1302)
"""From memory, as the handbook order of magnitude of the facts; only its ratios matter to an exact answer."""
COMPOUND = Material(1.15, 2400, 940)
BLOCK = Material(0.55, 1908, 1313)
MATERIALS = Materials(COMPOUND, DENTINE, BLOCK)
MELTING = Transition(10880, (53.0, 62.0), (40.0, 50.0))
BODY_C = 37.0


def rod(radii_m: np.ndarray, layer: np.ndarray | None = None, height_m: float = 1e-3) -> Fitted:
    """A slice of an infinite rod: nothing changes along it."""
    cells = np.zeros(radii_m.size - 1, dtype=int) if layer is None else layer
    return Fitted(Grid(np.array([0.0, height_m]), np.tile(radii_m, (2, 1)), cells[None, :]), 1, 1, 1, 0)


def slab(heights_m: np.ndarray) -> Fitted:
    """A slice of an infinite slab: nothing changes across it."""
    radii = np.tile([0.0, 1e-3], (heights_m.size, 1))
    return Fitted(Grid(heights_m, radii, np.zeros((heights_m.size - 1, 1), dtype=int)), 1, 1, 1, 0)


def warmed(mesh: Fitted, material: Material, there: Surroundings, seconds: float, effort: Effort) -> History:
    """One material, no tip; every node watched."""
    return march(Bodies(mesh, (material,), there), [Phase(0.0, seconds)], effort, np.arange(mesh.grid.r_m.size))


def bath(celsius: float, start_c: float = 0.0) -> Surroundings:
    """A rod in a bath."""
    return Surroundings(celsius, HELD, INSULATED, start_c)


def plate(celsius: float, start_c: float = 0.0) -> Surroundings:
    """A slab on a plate."""
    return Surroundings(celsius, INSULATED, HELD, start_c)


def order(errors: list[float]) -> float:
    """Mean order of errors of runs each twice as fine as the one before."""
    return float(np.log2(abs(errors[0] / errors[-1])) / (len(errors) - 1))


def section(wall_mm: float = 1.2, materials: Materials = MATERIALS, **more: float) -> Section:
    """A tapered root of 12 mm with a wall of one thickness."""
    canal = np.array([[0.0, 0.30], [12.0, 0.90]])
    root = canal + np.array([0.0, 2 * wall_mm])
    return Section(12.0, canal, root, 6.0, 4.0, materials, **more)


def plunge(tip_s_mm: float = 5.0, from_s: float = 0.0, until_s: float = 2.0, celsius: float = 100.0) -> Source:
    """One heating in one place, in perfect contact."""
    return Source.still(tip_s_mm, from_s, until_s, celsius)

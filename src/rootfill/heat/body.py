"""What conducts and stores while a tip stands in one place, or none is in."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from rootfill.heat.assemble import conductances, line_sums, node_sums
from rootfill.heat.band import Conduction, Factor, Mask
from rootfill.heat.latent import Latent
from rootfill.heat.mesh import Fitted
from rootfill.heat.model import HELD, INSULATED, Content, Gap, Material, Rod, Source, Surroundings
from rootfill.units import FloatArray


@dataclass(frozen=True, eq=False)
class Body:
    """The equations of one state: capacity·dT/dt + latent·df/dt = −K T + film·T_outside + contact·T_tip.

    Shapes (n,), nodes row by row: ``capacity`` [J/K], ``film`` and ``contact`` [W/K], held nodes as masks.
    """

    conduction: Conduction
    capacity: FloatArray
    latents: tuple[Latent, ...]
    film: FloatArray
    contact: FloatArray
    tip: Mask
    bath: Mask
    _factors: dict[float, Factor] = field(default_factory=dict)

    @cached_property
    def free(self) -> Mask:
        """Nodes whose temperature is not held."""
        return ~(self.tip | self.bath)

    @cached_property
    def diagonal(self) -> FloatArray:
        """Diagonal of K, films and contact in it."""
        return self.conduction.diagonal + self.film + self.contact

    @cached_property
    def _band(self) -> FloatArray:
        return self.conduction.band(self.free)

    def factor(self, step_s: float, melting: FloatArray | None = None) -> Factor:
        """Of capacity + step·K on the free nodes; kept for the next time where nothing is ``melting`` [J/K]."""
        if melting is None:
            if step_s not in self._factors:
                self._factors[step_s] = self._factorised(step_s, self.capacity)
            return self._factors[step_s]
        return self._factorised(step_s, self.capacity + melting)

    def _factorised(self, step_s: float, capacity: FloatArray) -> Factor:
        return Factor(step_s * self._band, np.where(self.free, capacity + step_s * self.diagonal, 1.0))


@dataclass(frozen=True, eq=False)
class Bodies:
    """Every state of a section: its mesh and materials, and what lies outside the block."""

    mesh: Fitted
    materials: tuple[Material, ...]
    surroundings: Surroundings

    @cached_property
    def free(self) -> Body:
        """No tip is in."""
        grid = self.mesh.grid
        bath, _ = self._outside
        none = np.zeros(grid.shape)
        return self._body(np.ones(grid.layer.shape), none, np.zeros_like(bath))

    def holding(self, content: Content | None, row: int) -> Body:
        """The canal from ``row`` up holds this; None: compound to the top."""
        match content:
            case None:
                return self.free
            case Source():
                return self._with_tip(row, content.contact_w_m2k)
            case Rod():
                return self._with_rod(row, content.material)
            case Gap():
                return self._with_tip(row, INSULATED)

    def inside(self, low: int, high: int | None) -> Mask:
        """Nodes within the canal in the rows ``low`` up to ``high``, its wall left out, shape (n,)."""
        found = np.zeros(self.mesh.grid.shape, dtype=bool)
        found[low:high, : self.mesh.canal_column] = True
        return found.ravel()

    def _with_rod(self, row: int, metal: Material) -> Body:
        """The canal from ``row`` up is metal that nobody heats."""
        layer = self.mesh.grid.layer.copy()
        layer[row:, : self.mesh.canal_column] = len(self.materials)
        mesh = replace(self.mesh, grid=replace(self.mesh.grid, layer=layer))
        return Bodies(mesh, (*self.materials, metal), self.surroundings).free

    def _with_tip(self, row: int, contact_w_m2k: float) -> Body:
        """The canal from ``row`` up is a tip: held as a whole, or touching its walls through ``contact_w_m2k``."""
        grid, column = self.mesh.grid, self.mesh.canal_column
        tip = np.zeros(grid.shape, dtype=bool)
        tip[row:, : column + 1] = True
        if contact_w_m2k == HELD:
            bath, _ = self._outside
            return replace(self.free, tip=tip.ravel(), bath=(bath & ~tip).ravel(), _factors={})
        tip[row, : column + 1] = tip[row:, column] = False
        cells = np.ones(grid.layer.shape)
        cells[row:, :column] = 0.0
        return self._body(cells, contact_w_m2k * self._touched(row, column), tip)

    def _body(self, cells: FloatArray, contact: FloatArray, tip: Mask) -> Body:
        """Of the ``cells`` that are 1, with the conductance [W/K] of each node to a tip, and the nodes it holds."""
        grid, by_layer = self.mesh.grid, self._by_layer
        bath, film = self._outside
        k, stored, blood = (by_layer[kind][grid.layer] * cells for kind in range(3))
        return Body(
            Conduction(conductances(grid, k)),
            node_sums(grid, stored).ravel(),
            self._latents(cells),
            (film + node_sums(grid, blood)).ravel(),
            contact.ravel(),
            tip.ravel(),
            (bath & ~tip).ravel(),
        )

    @cached_property
    def _by_layer(self) -> tuple[FloatArray, ...]:
        rows = [(m.k_w_mk, m.capacity_j_m3k, m.perfusion_w_m3k) for m in self.materials]
        return tuple(np.array(rows, dtype=float).T)

    def _latents(self, cells: FloatArray) -> tuple[Latent, ...]:
        found = list[Latent]()
        for number, material in enumerate(self.materials):
            there = (self.mesh.grid.layer == number) * cells
            if material.transition is not None and material.transition.latent_j_kg > 0:
                per_m3 = there * material.density_kg_m3 * material.transition.latent_j_kg
                found.append(Latent(node_sums(self.mesh.grid, per_m3).ravel(), material.transition))
        return tuple(found)

    def _touched(self, row: int, column: int) -> FloatArray:
        """Area [m²] of each node that the tip's face or its side touches."""
        grid, area = self.mesh.grid, np.zeros(self.mesh.grid.shape)
        face = grid.r_m[row, : column + 1]
        area[row, : column + 1] += line_sums(face, np.zeros_like(face))
        area[row:, column] += line_sums(grid.r_m[row:, column], grid.s_m[row:])
        return area

    @cached_property
    def _outside(self) -> tuple[Mask, FloatArray]:
        """Nodes held by the surroundings, and conductances [W/K] of the others to them."""
        grid, there = self.mesh.grid, self.surroundings
        bath, film = np.zeros(grid.shape, dtype=bool), np.zeros(grid.shape)
        if there.side_w_m2k == HELD:
            bath[:, -1] = True
        else:
            film[:, -1] += there.side_w_m2k * line_sums(grid.r_m[:, -1], grid.s_m)
        if there.bottom_w_m2k == HELD:
            bath[0, :] = True
        else:
            film[0, :] += there.bottom_w_m2k * line_sums(grid.r_m[0], np.zeros(grid.shape[1]))
        return bath, film

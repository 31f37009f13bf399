"""What conducts and stores while a tip stands in one place, or none is in."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from rootfill.heat.assemble import Cells, line_sums
from rootfill.heat.band import Border, Conduction, Couplings, Factor, Mask
from rootfill.heat.latent import Latent
from rootfill.heat.mesh import Fitted
from rootfill.heat.model import HELD, INSULATED, Content, Gap, Material, Rod, Source, Surroundings
from rootfill.units import FloatArray


@dataclass(frozen=True, eq=False)
class Body:
    """The equations of one state: capacity·dT/dt + latent·df/dt = −K T − film·T + contact·(T_tip − T).

    Temperatures are above those outside. Shapes (n,), nodes row by row: ``capacity`` [J/K], ``film`` and ``contact``
    [W/K], held nodes as masks.
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
    def held(self) -> NDArray[np.intp]:
        """Numbers of the other nodes."""
        return np.flatnonzero(~self.free)

    @cached_property
    def border(self) -> Border:
        """Where free nodes touch held ones."""
        return self.conduction.border(self.free)

    @cached_property
    def outlet(self) -> FloatArray:
        """Films and contact of the free nodes [W/K], 0 at the others."""
        return np.where(self.free, self.film + self.contact, 0.0)

    @cached_property
    def touch(self) -> float:
        """Contact of all free nodes, W/K."""
        return float(self.contact[self.free].sum())

    @cached_property
    def pull(self) -> FloatArray:
        """What flows from a tip of 1 °C into each free node while all of them are at 0 °C, W/K."""
        border = self.border
        return self.contact + np.bincount(border.free, border.w_k * self.tip[border.held], self.free.size)

    def flow(self, celsius: FloatArray, tip_c: float) -> FloatArray:
        """What each node gives away, W."""
        return self.conduction.flow(celsius) + (self.film + self.contact) * celsius - self.contact * tip_c

    def given(self, celsius: FloatArray) -> FloatArray:
        """What each held node gives to the free ones, W, in the order of ``held``."""
        border = self.border
        through = border.w_k * (celsius[border.held] - celsius[border.free])
        return np.asarray(np.bincount(self._place[border.held], through, self.held.size), dtype=float)

    def crossing(self, celsius: FloatArray, tip_c: float) -> float:
        """What films, blood and contact bring to the free nodes, W."""
        return float(self.touch * tip_c - self.outlet @ celsius)

    @cached_property
    def _place(self) -> NDArray[np.intp]:
        """Of each held node in ``held``, shape (n,)."""
        return np.cumsum(~self.free) - 1

    @cached_property
    def _diagonal(self) -> FloatArray:
        return np.where(self.free, self.conduction.diagonal + self.outlet, 0.0)

    @cached_property
    def _couplings(self) -> Couplings:
        return self.conduction.among(self.free)

    def factor(self, step_s: float, melting: FloatArray | None = None) -> Factor:
        """Of capacity + step·K on the free nodes; kept for the next time where nothing is ``melting`` [J/K]."""
        if melting is not None and melting.any():
            return self._factorised(step_s, self.capacity + melting)
        if step_s not in self._factors:
            self._factors[step_s] = self._factorised(step_s, self.capacity)
        return self._factors[step_s]

    def _factorised(self, step_s: float, capacity: FloatArray) -> Factor:
        diagonal = np.where(self.free, capacity + step_s * self._diagonal, 1.0)
        return Factor(diagonal, self._couplings, step_s)


@dataclass(frozen=True, eq=False)
class Bodies:
    """Every state of a section: its mesh and materials, and what lies outside the block."""

    mesh: Fitted
    materials: tuple[Material, ...]
    surroundings: Surroundings

    @cached_property
    def _cells(self) -> Cells:
        return Cells(self.mesh.grid)

    @cached_property
    def free(self) -> Body:
        """No tip is in."""
        grid = self.mesh.grid
        bath, _ = self._outside
        none = np.zeros(grid.shape)
        return self._body(grid.layer, self.materials, np.ones(grid.layer.shape), none, np.zeros_like(bath))

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

    @property
    def top(self) -> int:
        """The row up to which compound stands while nothing else is in."""
        return self.mesh.grid.shape[0] - 1

    def arriving(self, content: Content | None, before: int, row: int) -> list[tuple[Mask, float]]:
        """Nodes that something new comes to, and its temperature [°C]; ``before`` is the row compound stood up to."""
        match content:
            case Rod() if content.comes_at_c is not None:
                return [(self.inside(row + 1, None), content.comes_at_c)]
            case Gap():
                empty = (self.inside(row + 1, None), self.surroundings.temperature_c)
                filled = [] if content.filled_c is None else [(self.inside(before + 1, row + 1), content.filled_c)]
                return [empty, *filled]
            case _:
                return []

    def _with_rod(self, row: int, metal: Material) -> Body:
        """The canal from ``row`` up is metal that nobody heats."""
        grid = self.mesh.grid
        layer = grid.layer.copy()
        layer[row:, : self.mesh.canal_column] = len(self.materials)
        bath, _ = self._outside
        whole, none = np.ones(layer.shape), np.zeros(grid.shape)
        return self._body(layer, (*self.materials, metal), whole, none, np.zeros_like(bath))

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
        return self._body(grid.layer, self.materials, cells, contact_w_m2k * self._touched(row, column), tip)

    def _body(
        self,
        layer: NDArray[np.intp],
        materials: tuple[Material, ...],
        there: FloatArray,
        contact: FloatArray,
        tip: Mask,
    ) -> Body:
        """Of the cells that are ``there`` (1, else 0), with each node's conductance [W/K] to a tip, and what it holds.

        ``layer`` numbers the cells' ``materials``.
        """
        cells, (bath, film) = self._cells, self._outside
        rows = [(m.k_w_mk, m.capacity_j_m3k, m.perfusion_w_m3k) for m in materials]
        k, stored, blood = (np.array(x, dtype=float)[layer] * there for x in zip(*rows, strict=True))
        latents = list[Latent]()
        for number, material in enumerate(materials):
            if material.transition is not None and material.transition.latent_j_kg > 0:
                per_m3 = (layer == number) * there * material.density_kg_m3 * material.transition.latent_j_kg
                latents.append(Latent(cells.node_sums(per_m3).ravel(), material.transition))
        return Body(
            Conduction(cells.conductances(k)),
            cells.node_sums(stored).ravel(),
            tuple(latents),
            (film + cells.node_sums(blood)).ravel() if blood.any() else film.ravel(),
            contact.ravel(),
            tip.ravel(),
            (bath & ~tip).ravel(),
        )

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

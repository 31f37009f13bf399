"""What else stands in a canal than compound and a heated tip: cold metal, nothing, an injected increment."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from rootfill.heat import Content, Effort, Gap, Material, Rod, Source, Surroundings, warm
from rootfill.heat.model import INSULATED
from tests.heat.bars import BODY_C, COMPOUND, MATERIALS, MELTING, plunge, section

STEEL = Material(14.9, 7900, 477)
BATH = Surroundings(BODY_C)
SHUT = Surroundings(BODY_C, INSULATED, INSULATED)
ROUGH = Effort(refine=1)
HEATED = plunge(6.0, 1.0, 4.0)


def run(*contents: Content, there: Surroundings = BATH, seconds: float = 20.0, effort: Effort = ROUGH, root=None):
    return warm(root or section(), there, contents, seconds, effort)


def rod(from_s: float, until_s: float, comes_at_c: float | None, s_mm: float = 6.0) -> Rod:
    return Rod(from_s, until_s, s_mm, STEEL, comes_at_c)


def canal_mm3(from_mm: float, to_mm: float) -> float:
    """Volume of the section's canal between two stations, by many thin discs."""
    s = np.linspace(from_mm, to_mm, 2001)
    return float(np.trapezoid(np.pi * section().canal_radius(s) ** 2, s))


def whole_j_k() -> float:
    """Heat capacity [J/K] of compound, root and block of the section."""
    root, s = section(), np.linspace(0.0, section().length_mm, 2001)
    parts = MATERIALS
    canal, inner = root.canal_radius(s) ** 2, root.root_radius(s) ** 2
    across = canal * parts.compound.capacity_j_m3k + (inner - canal) * parts.dentine.capacity_j_m3k
    across += (root.block_radius_mm**2 - inner) * parts.block.capacity_j_m3k
    below = root.block_radius_mm**2 * root.block_below_mm * parts.block.capacity_j_m3k
    return float(np.pi * (np.trapezoid(across, s) + below) * 1e-9)


def test_a_cold_plugger_takes_heat_out_of_the_filling_and_the_root():
    alone = run(HEATED)
    pushed = run(HEATED, rod(4.0, 9.0, 22.0))
    below = np.searchsorted(alone.axis_s_mm, 6.0) - 2
    at = np.searchsorted(alone.times_s, 4.6), np.searchsorted(pushed.times_s, 4.6)
    assert pushed.axis_c[at[1], below] < alone.axis_c[at[0], below] - 1.0
    assert pushed.surface_peak().rise_c <= alone.surface_peak().rise_c


def test_a_tip_left_in_with_its_heat_off_goes_on_warming_for_a_moment_and_then_cools():
    off = run(HEATED, rod(4.0, 20.0, None))
    tip = int(np.argmin(np.abs(off.axis_s_mm - 8.0)))
    assert off.axis_c[np.searchsorted(off.times_s, 4.0) + 1, tip] > 60.0
    assert off.axis_c[-1, tip] < 45.0


@pytest.mark.parametrize("metal_c", [0.0, 90.0])
def test_cold_or_hot_metal_in_a_shut_body_ends_at_the_temperature_of_the_mixture(metal_c):
    body = run(rod(0.0, 1500.0, metal_c), there=SHUT, seconds=1500.0, effort=Effort(longest_s=60.0))
    above = canal_mm3(6.0, section().length_mm) * 1e-9
    metal, replaced = above * STEEL.capacity_j_m3k, above * COMPOUND.capacity_j_m3k
    mixed = (metal * metal_c + (whole_j_k() - replaced) * BODY_C) / (metal + whole_j_k() - replaced)
    assert np.ptp(body.axis_c[-1]) < 1e-6
    assert body.axis_c[-1, 0] - BODY_C == pytest.approx(mixed - BODY_C, rel=0.08)
    finer = run(rod(0.0, 1500.0, metal_c), there=SHUT, seconds=1500.0, effort=Effort(refine=4, longest_s=60.0))
    assert abs(finer.axis_c[-1, 0] - mixed) < 0.6 * abs(body.axis_c[-1, 0] - mixed)


def test_an_increment_in_a_shut_body_ends_at_the_temperature_of_the_mixture():
    empty, filled = Gap(0.0, 10.0, 5.0), Gap(10.0, 1500.0, 9.0, filled_c=160.0)
    body = run(empty, filled, there=SHUT, seconds=1500.0, effort=Effort(refine=4, longest_s=60.0))
    brought, missing = (canal_mm3(a, b) * 1e-9 * COMPOUND.capacity_j_m3k for a, b in ((5, 9), (9, section().length_mm)))
    mixed = brought * (160.0 - BODY_C) / (whole_j_k() - missing)
    below = body.axis_s_mm < 9.0
    assert np.ptp(body.axis_c[-1, below]) < 1e-6
    assert body.axis_c[-1, 0] - BODY_C == pytest.approx(mixed, rel=0.08)


def test_the_pulled_tip_leaves_nothing_that_conducts():
    """With nothing above it, the filling below a tip cools slower than with compound there again."""
    filled, empty = run(HEATED), run(HEATED, Gap(4.0, 20.0, 6.0))
    low = int(np.argmin(np.abs(filled.axis_s_mm - 5.5)))
    assert empty.axis_c[-1, low] != pytest.approx(filled.axis_c[-1, low], abs=1e-3)
    assert np.all(empty.axis_c[-1, empty.axis_s_mm > 6.2] == BODY_C)


def test_an_increment_warms_the_surface_and_a_second_one_warms_it_more():
    down = (Gap(0.0, 2.0, 4.0),)
    one = run(*down, Gap(2.0, 40.0, 8.0, 160.0), seconds=40.0)
    two = run(*down, Gap(2.0, 10.0, 8.0, 160.0), Gap(10.0, 40.0, 12.0, 160.0), seconds=40.0)
    assert 0.5 < one.surface_peak().rise_c < two.surface_peak().rise_c


def test_a_whole_sequence_keeps_its_balance_of_heat_with_transitions_too():
    contents = (
        HEATED, Gap(4.0, 5.0, 6.0), rod(5.0, 10.0, 22.0), Gap(10.0, 12.0, 6.0),
        Source.still(4.5, 12.0, 14.0, 150.0, 3000.0), rod(14.0, 19.0, None, 4.5), Gap(19.0, 30.0, 4.5),
        Gap(30.0, 40.0, 8.0, 150.0), Gap(40.0, 50.0, section().length_mm, 150.0),
    )  # fmt: skip
    assert run(*contents, seconds=60.0).energy_error < 1e-9
    melts = section(materials=replace(MATERIALS, compound=replace(COMPOUND, transition=MELTING)))
    found = run(*contents, seconds=60.0, root=melts)
    assert found.energy_error < 1e-6
    assert found.axis_c.min() > 21.99
    assert found.axis_c.max() <= 150.01


def test_a_tip_or_a_plugger_at_the_very_end_leaves_no_compound_to_melt_and_keeps_the_balance():
    melts = section(materials=replace(MATERIALS, compound=replace(COMPOUND, transition=MELTING)))
    touching = Source.still(0.0, 1.0, 3.0, 90.0, 3000.0)
    found = run(touching, Gap(3.0, 4.0, 0.0), rod(4.0, 9.0, 22.0, 0.0), seconds=20.0, root=melts)
    assert found.energy_error < 1e-6
    assert 0.5 < found.surface_peak().rise_c < 53.0


def test_what_leaves_before_it_comes_is_refused():
    with pytest.raises(ValueError, match="leaves after it came"):
        Rod(3.0, 3.0, 6.0, STEEL)
    with pytest.raises(ValueError, match="leaves after it came"):
        Gap(-1.0, 3.0, 6.0)

"""A coat about the root in place of a block: a bare root in air or in a bath."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from rootfill.heat import Effort, Section, Source, Surroundings, warm
from rootfill.heat.mesh import MM, fitted
from tests.heat.bars import BODY_C, MATERIALS, section

ROUGH = Effort(refine=1)


def test_a_coat_follows_the_root():
    bare = replace(section(1.2), wrap_mm=0.1, block_below_mm=0.1)
    mesh = fitted(bare, [5.0], ROUGH).grid
    at = np.clip(mesh.s_m / MM, 0.0, 12.0)
    assert np.allclose(mesh.r_m[:, -1] / MM, bare.root_radius(at) + 0.1)


def test_a_straight_root_in_a_coat_is_one_in_a_block_of_that_radius():
    canal = np.array([[0.0, 0.6], [12.0, 0.6]])
    block = Section(12.0, canal, canal + np.array([0.0, 2.4]), 1.6, 0.1, MATERIALS)
    coat = replace(block, block_radius_mm=0.0, wrap_mm=0.1)
    air = Surroundings(20.0, 10.0, 10.0)
    one, other = (warm(x, air, [Source.still(5.0, 0.0, 3.0, 100.0)], 20.0, ROUGH) for x in (block, coat))
    assert np.allclose(one.surface_c, other.surface_c, atol=1e-9)


def test_a_stronger_film_cools_the_bare_root_more():
    bare = replace(section(1.2), wrap_mm=0.05, block_below_mm=0.05)
    tip = [Source.still(5.0, 0.0, 5.0, 100.0)]
    baths = [Surroundings(BODY_C, film, film) for film in (5.0, 15.0, 500.0)]
    rises = [warm(bare, bath, tip, 60.0, ROUGH).surface_peak().rise_c for bath in baths]
    assert rises == sorted(rises, reverse=True)
    assert rises[-1] < 0.8 * rises[0]

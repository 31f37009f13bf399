"""What cannot be is not built."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from rootfill.errors import SolverError
from rootfill.heat import Material, Source, Transition
from rootfill.heat.band import Factor
from tests.heat.bars import MATERIALS, section


@pytest.mark.parametrize("value", [0.0, -1.0, math.inf, math.nan])
@pytest.mark.parametrize("name", ["k_w_mk", "density_kg_m3", "cp_j_kgk"])
def test_a_property_that_is_not_above_zero_is_none(name, value):
    with pytest.raises(ValueError, match="above 0"):
        replace(MATERIALS.dentine, **{name: value})


def test_blood_flows_one_way_only():
    with pytest.raises(ValueError, match="blood flow"):
        Material(1, 1, 1, perfusion_w_m3k=-1.0)


@pytest.mark.parametrize(
    ("heating", "cooling"), [((62, 53), (40, 50)), ((53, 62), (50, 40)), ((40, 50), (53, 62)), ((53, 62), (40, 63))]
)
def test_melting_curves_ascend_and_cooling_lies_below(heating, cooling):
    with pytest.raises(ValueError, match="ascends"):
        Transition(1000, heating, cooling)


def test_a_root_is_thicker_than_its_canal_and_the_block_wider_than_the_root():
    root = section()
    with pytest.raises(ValueError, match="thicker"):
        replace(root, root=root.canal)
    with pytest.raises(ValueError, match="wider"):
        replace(root, block_radius_mm=1.5)
    with pytest.raises(ValueError, match="ligament has a thickness and a material"):
        replace(root, ligament_mm=0.2)


@pytest.mark.parametrize(
    "rows",
    [{"path": ()}, {"path": ((1.0, 5.0), (0.0, 6.0))}, {"temperature": ((0.0, 60.0), (0.0, 80.0))}, {"until_s": 0.0}],
)
def test_a_source_ascends_in_time(rows):
    with pytest.raises(ValueError, match=r"ascend|ends after"):
        replace(Source.still(5.0, 0.0, 2.0, 100.0), **rows)


def test_a_matrix_without_a_factor_gives_no_number():
    with pytest.raises(SolverError, match="factorised"):
        Factor(np.array([1.0, -1.0, 1.0]), ((1, np.zeros(2)),), 1.0)

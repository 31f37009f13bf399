from __future__ import annotations

import pytest

from rootfill.clinic.urgent import urgent_path
from rootfill.errors import InputRefused
from rootfill.tables import table


@pytest.mark.parametrize(("tooth", "near"), [(37, "nerve canal"), (46, "nerve canal"), (35, "mental foramen")])
def test_core_beyond_a_root_near_the_nerve_gives_the_whole_urgent_path(tooth: int, near: str) -> None:
    said = urgent_path(tooth, 0.8)
    assert said[0].startswith("URGENT: 0.8 mm")
    assert near in said[0]
    assert str(tooth) in said[0]
    assert len(said) == 1 + len(table("urgent"))
    assert any("24 to 48 hours" in sentence for sentence in said)


@pytest.mark.parametrize("tooth", [11, 26, 33, 41])
def test_where_no_nerve_canal_is_near_nothing_is_urgent(tooth: int) -> None:
    assert urgent_path(tooth, 3.0) == ()


@pytest.mark.parametrize("core_mm", [0.0, -0.5, float("nan")])
def test_a_filling_that_ends_inside_is_not_urgent(core_mm: float) -> None:
    assert urgent_path(37, core_mm) == ()


def test_without_a_tooth_it_says_for_which_teeth_it_holds() -> None:
    assert "if this is a lower molar or premolar" in urgent_path(None, 1.0)[0]


def test_a_tooth_that_does_not_exist_is_refused() -> None:
    with pytest.raises(InputRefused, match="tooth"):
        urgent_path(99, 1.0)

"""What a scan may add to a canal: never what contradicts an entry."""

from __future__ import annotations

import pytest

from rootfill.clinic.put_canals import entries, missing
from tests.web.shots import made_up

ALL = {"natural", "canal_length_mm", "wall_mm"}


@pytest.mark.parametrize(
    ("entered", "added"),
    [
        ({}, ALL),
        ({"orifice_at_mm": 8.0}, {"wall_mm"}),
        ({"canal_length_mm": 12.5}, {"wall_mm"}),
        ({"natural": [[0, 0.3, 0.3], [12, 0.8, 0.8]]}, {"wall_mm"}),
        ({"profile": [[0, 0.3, 0.3], [12, 0.8, 0.8]]}, {"wall_mm"}),
        ({"made": {"size": 30, "taper": 0.04}}, {"canal_length_mm", "wall_mm"}),
        ({"wall_mm": 1.0}, {"natural", "canal_length_mm"}),
    ],
)
def test_a_shape_and_a_length_are_added_both_or_neither(entered: dict[str, object], added: set[str]) -> None:
    assert set(missing(entered, entries(made_up()["canals"][0]))) == added


def test_the_shape_that_is_added_ends_at_the_length_that_is() -> None:
    found = entries(made_up()["canals"][0])
    assert found["natural"][-1][0] == pytest.approx(found["canal_length_mm"], abs=0.005)

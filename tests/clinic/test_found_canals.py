"""Canals of a kept scan: an end set by hand moves the length along the centreline, and the suggested one stays."""

from __future__ import annotations

import pytest

from rootfill.clinic.found_canals import carried_over, length_of, narrowest, stations_of, with_end, with_name
from rootfill.errors import InputRefused
from tests.web.shots import made_up


def test_an_end_set_above_shortens_the_canal_along_its_centreline() -> None:
    found = with_end(made_up(), 0, (8, 8, 5))
    assert length_of(found["canals"][0]) == pytest.approx(9.0)
    assert found["canals"][0]["length"] == 10.0
    assert found["canals"][0]["line"] == made_up()["canals"][0]["line"]


def test_an_end_set_beside_the_line_counts_where_the_line_is_nearest() -> None:
    assert length_of(with_end(made_up(), 0, (10, 8, 5))["canals"][0]) == pytest.approx(9.0)


def test_an_end_set_below_the_suggested_one_lengthens_the_canal() -> None:
    found = made_up()
    for canal in found["canals"]:
        canal["line"] = [[x, y, z + 10] for x, y, z in canal["line"]]
    assert length_of(with_end(found, 0, (8, 8, 5))["canals"][0]) == pytest.approx(11.0)


def test_a_bend_counts_along_the_canal_and_not_as_the_crow_flies() -> None:
    found = made_up()
    found["canals"][0]["line"] = [[8.0, 8.0, 0.0], [33.0, 8.0, 0.0], [33.0, 8.0, 25.0]]
    assert length_of(with_end(found, 0, (15, 8, 0))["canals"][0]) == pytest.approx(8.6)
    assert found["canals"][0]["end_set"] is None


def test_going_back_to_the_suggested_end_leaves_nothing_of_the_other() -> None:
    assert with_end(with_end(made_up(), 0, (8, 8, 5)), 0, None) == made_up()


@pytest.mark.parametrize("point", [(40, 8, 5), (8, 8, 50), (8, 40, 0)])
def test_an_end_that_is_no_part_of_the_canal_is_refused(point: tuple[int, int, int]) -> None:
    with pytest.raises(InputRefused, match="put the cross on the canal"):
        with_end(made_up(), 0, point)


def test_the_stations_count_from_the_end_that_was_set() -> None:
    table = stations_of(with_end(made_up(), 0, (8, 8, 5))["canals"][0])
    assert table[0].tolist() == pytest.approx([0.0, 0.34, 0.44, 1.0])
    assert len(table) == 19


def test_the_narrowest_place_is_one_that_can_be_measured() -> None:
    assert narrowest(made_up()["canals"][0]) == pytest.approx((2.0, 0.38))
    assert narrowest(with_end(made_up(), 0, (8, 8, 5))["canals"][0]) == pytest.approx((1.0, 0.38))
    assert narrowest({**made_up()["canals"][0], "thin_below": 11.0}) is None


def test_a_name_belongs_to_one_canal_at_a_time() -> None:
    found = with_name(with_name(made_up(), 0, "MB"), 1, "MB")
    assert [canal["name"] for canal in found["canals"]] == ["", "MB"]
    with pytest.raises(InputRefused, match="choose one of the list"):
        with_name(found, 2, "ML")


def test_names_and_ends_stay_with_canals_found_again_in_another_order() -> None:
    before = with_end(with_name(made_up(), 1, "MB"), 1, (14, 8, 5))
    found = made_up()
    found["canals"].reverse()
    after = carried_over(found, before)
    assert [canal["name"] for canal in after["canals"]] == ["MB", ""]
    assert length_of(after["canals"][0]) == pytest.approx(9.0)
    assert after["warnings"] == found["warnings"]
    assert carried_over(found, None) == found


def test_what_was_set_and_fits_no_canal_any_more_is_said_and_not_used() -> None:
    before = with_end(with_name(made_up(), 0, "MB"), 0, (8, 8, 5))
    gone = made_up()
    gone["canals"] = gone["canals"][1:]
    assert any("MB was not found again" in says for says in carried_over(gone, before)["warnings"])
    bent = made_up()
    bent["canals"][0]["line"] = [[8.0 + (50 - z), 8.0, float(z)] for z in range(51)]
    after = carried_over(bent, before)
    assert after["canals"][0]["end_set"] is None
    assert any("lies far from it now" in says for says in after["warnings"])

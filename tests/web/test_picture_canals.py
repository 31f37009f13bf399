"""Canals of a kept scan at the page: found, named, their ends set and taken back, seen by nobody else."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import httpx
import numpy as np
import pytest

from rootfill.clinic.along_canal import HALF, ROWS
from rootfill.clinic.keep_picture import pictures_of
from rootfill.clinic.kept_picture import KeptPicture
from rootfill.errors import InputRefused, NotKept
from tests.web.open_house import OpenHouse, open_house
from tests.web.shots import ramps
from tests.web.test_pictures import FILM, keep

HTMX = {"HX-Request": "true"}


@pytest.fixture
def house(tmp_path: Path) -> Iterator[OpenHouse]:
    with open_house(tmp_path) as opened:
        yield opened


def send(house: OpenHouse, case: int, key: int, path: str = "", **typed: str) -> httpx.Response:
    visitor = house.browser()
    address = f"/cases/{case}/pictures/{key}/canals{path}"
    return visitor.post(address, headers={"X-CSRF": visitor.csrf, **HTMX}, data=typed)


def picture(house: OpenHouse, case: int) -> KeptPicture:
    return pictures_of(house.kept(case))[0]


def test_canals_are_found_listed_and_still_there_when_the_page_is_opened_again(house: OpenHouse) -> None:
    case = house.case()
    key = keep(house, case)
    assert "Nobody looked for canals" in house.browser().get(f"/cases/{case}/pictures/{key}").text
    answer = send(house, case, key)
    assert answer.status_code == 200
    again = house.browser().get(f"/cases/{case}/pictures/{key}").text
    for text in (answer.text, again):
        assert "<b>10.0 mm</b>" in text
        assert "9.8 to 10.2, 90 %" in text
        assert "0.38 mm wide, 2.0 above the end" in text
        assert "Its last 1.0 mm are not seen" in text
        assert "It joins canal 1." in text
        assert "spacing of the scan" in text
        assert "Invented for tests." in text


def test_where_to_look_and_the_grey_of_the_edge_are_handed_on(house: OpenHouse) -> None:
    case = house.case()
    key = keep(house, case)
    answer = send(house, case, key, seed="1, 2, 3", edge="70")
    (asked,) = house.work.asked
    assert (asked.seeds, asked.edge, asked.shape) == (((1.0, 2.0, 3.0),), 70.0, (6, 5, 4))
    assert asked.file.is_file()
    assert "Found in the tooth at 1, 2, 3" in answer.text


@pytest.mark.parametrize("typed", [{"seed": "here"}, {"seed": "1,2"}, {"edge": "-1"}, {"edge": "dark"}])
def test_what_cannot_be_a_place_or_a_grey_is_refused(house: OpenHouse, typed: dict[str, str]) -> None:
    case = house.case()
    assert send(house, case, keep(house, case), **typed).status_code == 422
    assert picture(house, case).canals is None


def test_no_canal_is_looked_for_in_a_film(house: OpenHouse) -> None:
    case = house.case()
    key = keep(house, case, FILM, kind="film")
    answer = send(house, case, key)
    assert (answer.status_code, "canals are found in a scan" in answer.text) == (422, True)
    assert "Find canals" not in house.browser().get(f"/cases/{case}/pictures/{key}").text


@pytest.mark.parametrize("fails", [NotKept("Given up."), InputRefused("the scan", None, "choose one with a tooth")])
def test_a_search_that_fails_leaves_what_was_found_before(
    house: OpenHouse, monkeypatch: pytest.MonkeyPatch, fails: Exception
) -> None:
    case = house.case()
    key = keep(house, case)
    send(house, case, key)
    send(house, case, key, "/0/name", name="MB")
    before = picture(house, case)

    def fail(*_: object) -> None:
        raise fails

    monkeypatch.setattr(house.work, "find_canals", fail)
    assert send(house, case, key).status_code >= 400
    assert picture(house, case) == before


def test_an_end_set_by_hand_stands_beside_the_one_suggested_and_is_taken_back(house: OpenHouse) -> None:
    case = house.case()
    key = keep(house, case)
    send(house, case, key)
    set_by_hand = send(house, case, key, "/0/end", point="8, 8, 5").text
    assert "<b>9.0 mm</b>" in set_by_hand
    assert "end set by you, 1.0 mm above the end the picture suggests" in set_by_hand
    assert "there the length would be 10.0 mm" in set_by_hand
    assert send(house, case, key, "/0/end", point="90, 90, 5").status_code == 422
    assert "end set by you" in house.browser().get(f"/cases/{case}/pictures/{key}").text
    assert "end set by you" not in send(house, case, key, "/0/end").text


def test_each_step_is_undone_by_itself(house: OpenHouse) -> None:
    case = house.case()
    key = keep(house, case)
    send(house, case, key)
    send(house, case, key, "/1/name", name="MB")
    visitor = house.browser()
    last = max(mark.number for mark in house.store.records.marks(case, 9))
    visitor.post(f"/cases/{case}/undo/pictures", data={"number": str(last), "csrf": visitor.csrf})
    found = picture(house, case).canals
    assert found is not None
    assert [canal["name"] for canal in found["canals"]] == ["", ""]


def test_only_a_canal_of_the_case_can_be_named_and_only_one_that_was_found(house: OpenHouse) -> None:
    case = house.case()
    key = keep(house, case)
    assert send(house, case, key, "/0/name", name="MB").status_code == 404
    send(house, case, key)
    assert send(house, case, key, "/0/name", name="P").status_code == 422
    assert send(house, case, key, "/7/name", name="MB").status_code == 422
    assert "<option selected>MB</option>" in send(house, case, key, "/0/name", name="MB").text


def test_canals_of_another_case_and_of_a_stranger_are_not_to_be_had(house: OpenHouse) -> None:
    mine, other = house.case(), house.case(id="X-2")
    key = keep(house, mine)
    assert send(house, other, key).status_code == 404
    assert house.stranger().post(f"/cases/{mine}/pictures/{key}/canals").status_code in (303, 401, 403)
    assert house.work.asked == []


def test_named_canals_go_into_the_case_in_one_step_and_come_out_of_it_in_one(house: OpenHouse) -> None:
    bare = {"name": "MB", "reference": "MB cusp tip", "length": "20.5"}
    case = house.case(bare, {**bare, "name": "ML", "orifice": "9", "wall": "0.8"})
    key = keep(house, case)
    send(house, case, key)
    send(house, case, key, "/0/name", name="MB")
    send(house, case, key, "/1/name", name="ML")
    send(house, case, key, "/0/end", point="8, 8, 5")
    before = house.kept(case).canals
    answer = send(house, case, key, "/case")
    assert (answer.status_code, answer.headers["hx-redirect"]) == (204, f"/cases/{case}")
    buccal, lingual = (row.entered for row in house.kept(case).canals)
    assert buccal["canal_length_mm"] == 9.0
    assert buccal["natural"][0] == [0.0, 0.34, 0.44]
    assert buccal["wall_mm"][0] == [0.0, 1.0]
    assert lingual["orifice_at_mm"] == 9.0
    assert "natural" not in lingual, "a shape that ends elsewhere than at the orifice entered cannot be planned"
    assert "canal_length_mm" not in lingual
    assert lingual["wall_mm"] == 0.8
    assert 'value="0 1; 0.5 1' in house.browser().get(f"/cases/{case}").text
    house.store.records.undo(case, "Ada", house.clock())
    assert house.kept(case).canals == before


def test_what_cannot_go_into_the_case_is_told(house: OpenHouse) -> None:
    case = house.case()
    key = keep(house, case)
    assert send(house, case, key, "/case").status_code == 404
    send(house, case, key)
    assert "say which canal of the case each one is" in send(house, case, key, "/case").text
    house.work.spacing_mm = None
    bare = keep(house, case, ramps((5, 5, 5)))
    send(house, case, bare)
    send(house, case, bare, "/0/name", name="MB")
    assert "without a scale" in send(house, case, bare, "/case").text


def test_the_section_along_a_canal_is_dark_down_its_middle(house: OpenHouse) -> None:
    case = house.case()
    values = np.full((60, 20, 30), 1000, dtype="<u2")
    values[:, 7:10, 7:10] = 100
    key = keep(house, case, values)
    send(house, case, key)
    here = f"/cases/{case}/pictures/{key}/canals"
    assert f"{here}/0/along" in house.browser().get(f"/cases/{case}/pictures/{key}").text
    answer = house.browser().get(f"{here}/0/along")
    grey = np.frombuffer(answer.content, "<u2").reshape(ROWS, 2 * HALF + 1)
    assert (grey[:200, HALF] == 100).all()
    assert (grey[:200, HALF + 20] == 1000).all()
    assert house.browser().get(f"{here}/7/along").status_code == 404


def test_looking_again_leaves_names_and_ends_with_their_canals(house: OpenHouse) -> None:
    case = house.case()
    key = keep(house, case)
    send(house, case, key)
    send(house, case, key, "/0/name", name="MB")
    send(house, case, key, "/0/end", point="8, 8, 5")
    send(house, case, key)
    again = picture(house, case).canals
    assert again is not None
    assert [canal["name"] for canal in again["canals"]] == ["MB", ""]
    assert again["canals"][0]["end_set"]["point"] == [8.0, 8.0, 5.0]

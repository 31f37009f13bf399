"""Only a path of this server is a way back."""

from __future__ import annotations

import pytest

from rootfill.web.origin import local_path
from tests.clinic.accounts import NAME, PASSWORD
from tests.web.house import House

AWAY = [
    "//evil.test", "///evil.test", "https://evil.test", "http:evil.test", "/\\evil.test", "\\/evil.test",
    "\\\\evil.test", "/\t/evil.test", "/\n/evil.test", "\t//evil.test", " //evil.test", "/ /evil",
    "javascript:alert(1)", "evil.test", "", "?x", "/" + "a" * 600, "/\r\nSet-Cookie: a=b", "/\u2028/evil", "/\x00",
]  # fmt: skip
LOOPS = ["/locked", "/locked?back=/", "/sign-in", "/sign-in#x", "/lock", "/sign-out", "/first/x", "/enter/x", "/api/x"]


@pytest.mark.parametrize("back", AWAY + LOOPS)
def test_what_is_no_page_of_ours_leads_home(back: str) -> None:
    assert local_path(back) == "/"


@pytest.mark.parametrize(
    "back", ["/", "/cases/3", "/cases/3?tab=plan&x=%2F%2Fevil", "/cases/3#mb", "/lockers", "/a//b"]
)
def test_a_page_of_ours_is_a_way_back(back: str) -> None:
    assert local_path(back) == back


@pytest.mark.parametrize("back", AWAY)
def test_signing_in_and_unlocking_never_lead_away(back: str) -> None:
    house = House()
    given = {"name": NAME, "password": PASSWORD, "back": back}
    assert house.stranger().post("/sign-in", data=given).headers["location"] == "/"
    owner = house.owner()
    owner.send("/lock")
    assert owner.send("/locked", **given).headers["location"] == "/"


@pytest.mark.parametrize("path", ["//evil.test/", "//evil.test/..", "///evil.test"])
def test_a_crooked_address_is_not_remembered_as_a_way_back(path: str) -> None:
    assert House().stranger().get(f"http://127.0.0.1:8731{path}").headers["location"] == "/sign-in?back=/"

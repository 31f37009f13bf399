"""The forms of coming in, locking and going out."""

from __future__ import annotations

import re
from pathlib import Path

import httpx
import pytest

from rootfill.clinic.sign_in import demo_link, first_link
from rootfill.web.guard import cookie_name
from tests.clinic.accounts import NAME, NOON, PASSWORD, a_door
from tests.web.house import House
from tests.web.visitor import HOME, PORT, Visitor

OTHER = "four quiet premolars"
COOKIE = cookie_name(PORT)


def fields(page: httpx.Response) -> dict[str, str]:
    """Name and value of every field that the page's forms send."""
    found = {}
    for tag in re.findall(r"<input[^>]*>", page.text):
        known = dict(re.findall(r'(\w+)="([^"]*)"', tag))
        found[known["name"]] = known.get("value", "")
    return found


def locked_owner(house: House) -> Visitor:
    owner = house.owner()
    assert owner.send("/lock").status_code == 303
    return owner


def test_the_owner_is_made_by_the_first_link_and_comes_in_at_once() -> None:
    house = House(a_door())
    stranger = house.stranger()
    link = f"/first/{first_link(house.door)}"
    page = stranger.get(link)
    assert set(fields(page)) == {"name", "password", "again"}
    assert "At least 10 characters, and not your name." in page.text
    answer = stranger.post(link, data={"name": NAME, "password": PASSWORD, "again": PASSWORD})
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert stranger.get("/cases/3").text == "case 3"
    assert stranger.get(link).status_code == 404
    assert stranger.post(link).status_code == 403


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"name": NAME, "password": "short", "again": "short"}, "password is too short; use at least 10 characters."),
        (
            {"name": NAME, "password": PASSWORD, "again": OTHER},
            "password is not the same in both fields; type it twice.",
        ),
        ({"name": "Lovelace Ada", "password": "lovelace ada", "again": "lovelace ada"}, "the same as the name"),
        ({"name": "", "password": PASSWORD, "again": PASSWORD}, "name is missing; give the name"),
        ({}, "name is missing"),
    ],
)
def test_what_was_refused_at_the_first_start_is_said_on_the_form_and_the_link_stays(
    given: dict[str, str], says: str
) -> None:
    house = House(a_door())
    stranger = house.stranger()
    link = f"/first/{first_link(house.door)}"
    answer = stranger.post(link, data=given)
    assert answer.status_code == 422
    assert says in answer.text
    assert fields(answer)["name"] == given.get("name", "")
    assert fields(answer)["password"] == fields(answer)["again"] == ""
    assert stranger.get(link).status_code == 200
    assert not stranger.cookies


def test_before_there_is_an_owner_the_page_says_where_to_begin() -> None:
    house = House(a_door())
    assert "Open the link that stands on the terminal" in house.stranger().get("/sign-in").text
    assert "password" not in fields(house.stranger().get("/sign-in"))


def test_a_demo_is_entered_by_its_link_alone_and_unlocks_with_a_button() -> None:
    house = House(a_door(demo=True))
    visitor = house.stranger()
    link = f"/enter/{demo_link(house.door, NOON)}"
    assert visitor.get(link).headers["location"] == "/"
    assert visitor.get("/cases/3").text == "case 3"
    assert house.stranger().get(link).headers["location"].startswith("/sign-in")
    visitor.csrf = visitor.get("/api/csrf").json()
    visitor.send("/lock")
    page = visitor.get("/locked")
    assert "password" not in fields(page)
    assert visitor.post("/locked", data=fields(page)).status_code == 303
    assert visitor.get("/cases/3").text == "case 3"


def test_a_link_clicked_in_another_page_goes_on_from_a_page_of_ours() -> None:
    house = House(a_door(demo=True))
    visitor = house.stranger()
    answer = visitor.get(f"/enter/{demo_link(house.door, NOON)}", headers={"Sec-Fetch-Site": "cross-site"})
    assert (answer.status_code, answer.headers["refresh"]) == (200, "0; url=/")
    assert visitor.get("/cases/3").text == "case 3"


@pytest.mark.parametrize("path", ["/enter/made-up", "/first/made-up", "/first/", "/enter/a/b"])
def test_made_up_links_lead_nowhere(path: str) -> None:
    house = House(a_door(demo=True))
    demo_link(house.door, NOON)
    first_link(house.door)
    answer = house.stranger().get(path)
    assert answer.headers["location"].startswith("/sign-in")
    assert "set-cookie" not in answer.headers


def test_signing_in_leads_back_to_the_page_that_was_wanted() -> None:
    stranger = House().stranger()
    form = fields(stranger.get(stranger.get("/cases/3?tab=plan").headers["location"]))
    answer = stranger.post("/sign-in", data={**form, "name": NAME, "password": PASSWORD})
    assert (answer.status_code, answer.headers["location"]) == (303, "/cases/3?tab=plan")


def test_a_wrong_password_is_told_and_only_the_name_stays_in_the_form() -> None:
    stranger = House().stranger()
    answer = stranger.post("/sign-in", data={"name": NAME, "password": "wrong password", "back": "/cases/3"})
    assert answer.status_code == 401
    assert "Name and password do not belong together" in answer.text
    assert fields(answer) == {"name": NAME, "password": "", "back": "/cases/3"}
    assert "wrong password" not in answer.text
    assert not stranger.cookies


def test_guessing_is_slowed_down_and_the_page_says_how_long() -> None:
    house = House()
    stranger = house.stranger()
    for _ in range(5):
        stranger.post("/sign-in", data={"name": NAME, "password": "wrong password"})
    right = {"name": NAME, "password": PASSWORD}
    assert "wait 2 s" in stranger.post("/sign-in", data=right).text
    program = stranger.post("/api/sign-in", json=right)
    assert (program.status_code, "wait 2 s" in program.json()["error"]["says"]) == (401, True)
    house.clock.passes(seconds=2)
    assert stranger.post("/sign-in", data=right).status_code == 303


def test_a_lock_shows_nothing_and_the_password_alone_opens_it_where_it_was() -> None:
    house = House()
    owner = house.owner()
    away = owner.post("/lock", data={"csrf": owner.csrf}, headers={"Referer": f"{HOME}/cases/3"})
    assert away.headers["location"] == "/locked?back=/cases/3"
    assert owner.get("/cases/3").status_code == 303
    page = owner.get("/locked?back=/cases/3")
    assert NAME in page.text
    known = owner.cookies[COOKIE]
    answer = owner.post("/locked", data={**fields(page), "password": PASSWORD})
    assert (answer.status_code, answer.headers["location"]) == (303, "/cases/3")
    assert owner.cookies[COOKIE] != known
    assert owner.get("/cases/3").text == "case 3"


def test_a_form_typed_before_the_lock_is_taken_after_it() -> None:
    owner = locked_owner(House())
    assert owner.send("/cases/3/mark", text="seen").headers["location"].startswith("/locked")
    owner.send("/locked", password=PASSWORD)
    assert owner.send("/cases/3/mark", text="seen").text == f"{NAME} marked 3: seen"


def test_a_wrong_password_leaves_the_lock_shut() -> None:
    owner = locked_owner(House())
    answer = owner.send("/locked", password="wrong password", back="/cases/3")
    assert answer.status_code == 401
    assert f"That is not the password of {NAME}." in answer.text
    assert fields(answer)["back"] == "/cases/3"
    assert owner.get("/cases/3").status_code == 303


def test_the_lock_of_an_open_session_leads_straight_back() -> None:
    assert House().owner().get("/locked?back=/cases/3").headers["location"] == "/cases/3"


def test_a_part_of_a_page_is_led_on_by_its_header() -> None:
    owner = House().owner()
    part = {"HX-Request": "true", "HX-Current-URL": f"{HOME}/cases/3", "X-CSRF": owner.csrf}
    answer = owner.post("/lock", headers=part)
    assert (answer.status_code, answer.headers["hx-redirect"]) == (204, "/locked?back=/cases/3")


@pytest.mark.parametrize("locked", [True, False])
def test_signing_out_ends_the_session_and_takes_the_cookie(locked: bool) -> None:
    house = House()
    owner = locked_owner(house) if locked else house.owner()
    token = owner.cookies[COOKIE]
    assert owner.send("/sign-out").headers["location"] == "/sign-in"
    assert COOKIE not in owner.cookies
    assert Visitor(house.app, Cookie=f"{COOKIE}={token}").get("/cases/3").headers["location"].startswith("/sign-in")


def test_a_program_signs_out_and_its_token_is_worth_nothing() -> None:
    stranger = House().stranger()
    signed = stranger.post("/api/sign-in", json={"name": NAME, "password": PASSWORD}).json()
    assert signed["ends_at"] == "2026-05-05T00:00:00Z"
    bearer = {"Authorization": f"Bearer {signed['token']}"}
    assert stranger.post("/api/sign-out", headers=bearer).status_code == 204
    assert stranger.post("/api/sign-out", headers=bearer).status_code == 401


def test_another_password_ends_the_other_sessions_and_says_so() -> None:
    house = House()
    here, there = house.owner(), house.owner()
    given = {**fields(here.get("/password")), "old": PASSWORD, "new": OTHER, "again": OTHER}
    assert "The password was changed." in here.post("/password", data=given).text
    assert here.get("/cases/3").text == "case 3"
    assert there.get("/cases/3").headers["location"].startswith("/sign-in")
    assert house.stranger().post("/sign-in", data={"name": NAME, "password": OTHER}).status_code == 303


@pytest.mark.parametrize(
    ("given", "status", "says"),
    [
        ({"old": "wrong password", "new": OTHER, "again": OTHER}, 401, "nothing was changed"),
        ({"old": PASSWORD, "new": OTHER, "again": PASSWORD}, 422, "not the same in both fields"),
        ({"old": PASSWORD, "new": "short", "again": "short"}, 422, "at least 10 characters"),
    ],
)
def test_a_refused_change_of_password_is_told_on_its_form(given: dict[str, str], status: int, says: str) -> None:
    owner = House().owner()
    answer = owner.send("/password", **given)
    assert answer.status_code == status
    assert says in answer.text
    assert PASSWORD not in answer.text


def test_no_form_of_ours_needs_a_style_or_a_script_within_the_page() -> None:
    templates = Path(__file__).parents[2] / "src" / "rootfill" / "web" / "templates"
    for name in ("sign_in", "first_start", "locked", "password", "notice", "notice_fragment"):
        text = (templates / f"{name}.html").read_text(encoding="utf-8")
        assert not re.search(r"style=|<style|<script|\bon\w+=", text), name

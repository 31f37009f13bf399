"""Whatever is not named as open is closed, and every answer is covered."""

from __future__ import annotations

import asyncio
import logging
import re
from pathlib import Path

import httpx
import pytest

from rootfill.clinic.sign_in import first_link
from rootfill.web.guard import cookie_name
from tests.clinic.accounts import NAME, PASSWORD, a_door
from tests.web.house import House, addresses
from tests.web.open_house import open_house
from tests.web.visitor import FOREIGN, HOME, PORT, Visitor

OPEN = {"/openapi.json", "/sign-in", "/api/sign-in", "/static/page.css"}
ADDRESSES = list(addresses(House().app))
CLOSED = [(method, path) for method, path in ADDRESSES if path not in OPEN]


def error(answer: httpx.Response) -> dict[str, str]:
    assert answer.headers["content-type"] == "application/json"
    assert set(answer.json()) == {"error"}
    assert set(answer.json()["error"]) == {"kind", "field", "says"}
    found: dict[str, str] = answer.json()["error"]
    return found


def test_the_route_table_holds_what_the_tests_below_think_it_does() -> None:
    assert {path for _, path in ADDRESSES} >= OPEN | {"/locked", "/lock", "/cases/1", "/api/text", "/first/secret"}
    assert not {"/docs", "/redoc"} & {path for _, path in ADDRESSES}


@pytest.mark.parametrize(("method", "path"), [*CLOSED, ("GET", "/docs"), ("GET", "/nowhere"), ("OPTIONS", "/lock")])
def test_every_route_that_is_not_open_turns_a_stranger_away(method: str, path: str) -> None:
    answer = House().stranger().ask(method, path)
    if path.startswith("/api/"):
        assert answer.status_code == 401
        assert error(answer)["kind"] == "not_signed_in"
        assert answer.headers["www-authenticate"] == "Bearer"
    else:
        assert answer.status_code == 303
        assert answer.headers["location"].startswith("/sign-in?back=/")


def test_every_route_of_the_whole_application_is_closed_and_changes_nothing_without_its_secret(tmp_path: Path) -> None:
    with open_house(tmp_path) as house:
        table = [(method, path) for method, path in addresses(house.app) if path not in {*OPEN, "/static"}]
        stranger, user = house.stranger(), house.browser()
        assert len(table) > len(CLOSED)
        for method, path in table:
            away = stranger.ask(method, path)
            led = away.headers.get("location", "").startswith("/sign-in?back=")
            assert away.status_code == 401 if path.startswith("/api/") else led, path
            linked = path.startswith(("/first/", "/enter/"))
            assert method == "GET" or linked or user.ask(method, path).status_code == 403, path
        assert user.get("/").status_code == 200


@pytest.mark.parametrize("path", ["/openapi.json", "/sign-in", "/static/page.css"])
def test_what_is_open_is_shown_to_a_stranger(path: str) -> None:
    assert House().stranger().get(path).status_code == 200


@pytest.mark.parametrize(
    "path", ["/static/../cases/1", "/static", "/sign-in/", "/SIGN-IN", "//sign-in", "/api/sign-in/x", "/openapi.json/"]
)
def test_nearly_an_open_address_is_closed_or_leads_nowhere(path: str) -> None:
    assert "case 1" not in House().stranger().get(path).text
    assert House().stranger().get(path).status_code in (303, 401, 404)


def test_a_stranger_is_led_to_sign_in_and_back_to_where_he_wanted() -> None:
    assert House().stranger().get("/cases/3?tab=plan&x=1").headers["location"] == (
        "/sign-in?back=/cases/3%3Ftab%3Dplan%26x%3D1"
    )


def test_a_part_of_a_page_leads_the_whole_page_to_sign_in() -> None:
    answer = House().stranger().get("/cases/3", headers={"HX-Request": "true", "HX-Current-URL": f"{HOME}/cases/7"})
    assert answer.status_code == 401
    assert answer.headers["hx-redirect"] == "/sign-in?back=/cases/7"


def test_a_form_that_was_sent_too_late_leads_back_to_its_page() -> None:
    answer = House().stranger().post("/cases/3/mark", headers={"Referer": f"{HOME}/cases/3"})
    assert answer.headers["location"] == "/sign-in?back=/cases/3"


def test_a_user_who_is_signed_in_sees_pages_and_programs() -> None:
    owner = House().owner()
    assert owner.get("/cases/3").text == "case 3"
    assert owner.get("/api/limit?limit=4").json() == 4


def test_a_program_signs_in_with_a_bearer_token_and_needs_no_form_secret() -> None:
    stranger = House().stranger()
    token = stranger.post("/api/sign-in", json={"name": NAME, "password": PASSWORD}).json()["token"]
    bearer = {"Authorization": f"Bearer {token}"}
    assert stranger.post("/api/text", content=b"abc", headers=bearer).json() == 3
    assert stranger.get("/cases/3", headers=bearer).status_code == 303
    assert not stranger.cookies


@pytest.mark.parametrize("given", ["Bearer made-up", "Bearer ", "Basic YTpi", "Bearer"])
def test_a_bad_bearer_token_is_not_helped_by_a_good_cookie(given: str) -> None:
    assert House().owner().get("/api/csrf", headers={"Authorization": given}).status_code == 401


def test_the_cookie_is_hidden_from_scripts_and_other_sites_and_named_after_the_port() -> None:
    answer = House().stranger().post("/sign-in", data={"name": NAME, "password": PASSWORD})
    cookie = answer.headers["set-cookie"]
    assert cookie.startswith(f"rootfill-{PORT}=")
    assert {part.strip().lower() for part in cookie.split(";")[1:]} == {"httponly", "path=/", "samesite=strict"}


@pytest.mark.parametrize("secret", [None, "", "wrong", "ö"])
@pytest.mark.parametrize("path", ["/cases/3/mark", "/lock", "/sign-out", "/api/text", "/api/sign-out", "/password"])
def test_nothing_is_changed_without_the_secret_of_the_session(path: str, secret: str | None) -> None:
    owner = House().owner()
    answer = owner.post(path, data={} if secret is None else {"csrf": secret})
    assert answer.status_code == 403
    assert "load the page again" in answer.text
    assert owner.get("/cases/3").text == "case 3"


def test_the_secret_of_another_session_is_refused() -> None:
    house = House()
    one, two = house.owner(), house.owner()
    assert one.post("/cases/3/mark", data={"csrf": two.csrf}).status_code == 403


def test_the_secret_is_taken_from_the_header_or_any_kind_of_form_and_the_form_arrives_whole() -> None:
    owner = House().owner()
    in_form = owner.send("/cases/3/mark", text="seen")
    in_header = owner.post("/cases/3/mark", data={"text": "seen"}, headers={"X-CSRF": owner.csrf})
    in_parts = owner.post("/cases/3/mark", files={"csrf": (None, owner.csrf), "text": (None, "seen")})
    assert {in_form.text, in_header.text, in_parts.text} == {f"{NAME} marked 3: seen"}


def test_a_wrong_secret_in_the_header_is_not_helped_by_the_right_one_in_the_form() -> None:
    owner = House().owner()
    assert owner.post("/lock", data={"csrf": owner.csrf}, headers={"X-CSRF": "wrong"}).status_code == 403


def test_a_form_that_cannot_be_read_is_refused_in_words() -> None:
    answer = House().owner().post("/lock", content=b"x", headers={"Content-Type": "multipart/form-data"})
    assert answer.status_code == 400
    assert "could not be read" in answer.text


@pytest.mark.parametrize(
    "headers",
    [
        FOREIGN,
        {"Origin": "http://evil.test"},
        {"Origin": "null"},
        {"Origin": f"https://127.0.0.1:{PORT}"},
        {"Origin": f"http://127.0.0.1:{PORT + 1}", "Sec-Fetch-Site": "same-site"},
        {"Origin": f"http://localhost:{PORT}"},
        {"Origin": ""},
        {"Sec-Fetch-Site": "same-site"},
        {"Sec-Fetch-Site": "cross-site"},
    ],
)
@pytest.mark.parametrize("path", ["/cases/3/mark", "/sign-in", "/api/sign-in", "/api/text", "/locked"])
def test_another_page_changes_nothing_even_with_every_secret(path: str, headers: dict[str, str]) -> None:
    owner = House().owner()
    right = {"csrf": owner.csrf, "name": NAME, "password": PASSWORD}
    answer = owner.post(path, data=right, headers={**headers, "X-CSRF": owner.csrf})
    assert answer.status_code == 403
    assert "another page" in answer.text
    assert "set-cookie" not in answer.headers


@pytest.mark.parametrize(
    "headers",
    [{"Origin": HOME}, {"Origin": HOME, "Sec-Fetch-Site": "same-origin"}, {"Sec-Fetch-Site": "none"}, {}],
)
def test_our_own_page_and_programs_may_change_things(headers: dict[str, str]) -> None:
    owner = House().owner()
    assert owner.post("/cases/3/mark", data={"csrf": owner.csrf}, headers=headers).status_code == 200


@pytest.mark.parametrize("method", ["GET", "POST"])
@pytest.mark.parametrize(
    "host",
    ["evil.test", f"evil.test:{PORT}", "127.0.0.1", f"127.0.0.1:{PORT + 1}", f"127.0.0.1.evil.test:{PORT}", "",
     f"127.0.0.1:{PORT}@evil.test", f"evil.test/?127.0.0.1:{PORT}", f"[::2]:{PORT}"],
)  # fmt: skip
def test_a_foreign_name_for_this_machine_is_refused(host: str, method: str) -> None:
    for path in ("/sign-in", "/static/page.css", "/openapi.json", "/cases/3", "/api/limit"):
        answer = House().owner().ask(method, path, headers={"Host": host})
        assert answer.status_code == 400
        assert HOME in answer.text


@pytest.mark.parametrize("host", [f"127.0.0.1:{PORT}", f"localhost:{PORT}", f"[::1]:{PORT}", f"LOCALHOST:{PORT}"])
def test_every_name_of_this_machine_is_answered(host: str) -> None:
    assert House().stranger().get("/sign-in", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    ("path", "status"),
    [("/cases/3", 200), ("/nowhere", 404), ("/breaks/fault", 500), ("/api/breaks/fault", 500), ("/lock", 405),
     ("/sign-in", 200), ("/static/page.css", 200), ("/static/none", 404), ("/api/limit", 422)],
)  # fmt: skip
def test_every_answer_carries_the_headers(path: str, status: int) -> None:
    answer = House().owner().get(path)
    assert answer.status_code == status
    assert answer.headers["content-security-policy"] == (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; "
        "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    )
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["referrer-policy"] == "same-origin"
    assert answer.headers["cross-origin-opener-policy"] == "same-origin"
    assert answer.headers["cross-origin-resource-policy"] == "same-origin"
    assert "camera=()" in answer.headers["permissions-policy"]
    assert answer.headers["cache-control"] == ("max-age=60" if path == "/static/page.css" else "no-store")


@pytest.mark.parametrize("headers", [{"Host": "evil.test"}, FOREIGN, {"Content-Length": "9999999"}])
def test_who_is_turned_away_gets_the_headers_too(headers: dict[str, str]) -> None:
    answer = House().stranger().post("/sign-in", headers=headers)
    assert answer.status_code in (400, 403, 413)
    assert answer.headers["content-security-policy"].startswith("default-src 'none'")
    assert answer.headers["cache-control"] == "no-store"


def test_a_route_keeps_its_own_content_policy() -> None:
    assert House().owner().get("/report").headers["content-security-policy"] == "default-src 'none'"


def test_a_megabyte_is_taken_and_a_byte_more_is_not() -> None:
    owner = House().owner()
    csrf = {"X-CSRF": owner.csrf}
    assert owner.post("/api/text", content=b"x" * 2**20, headers=csrf).json() == 2**20
    answer = owner.post("/api/text", content=b"x" * (2**20 + 1), headers=csrf)
    assert answer.status_code == 413
    assert error(answer)["says"] == "What was sent is too large; at most 1 MB are taken."


@pytest.mark.parametrize("announced", ["-1", "many", "1e3", "²"])
def test_a_length_that_is_no_number_is_refused(announced: str) -> None:
    owner = House().owner()
    headers = {"X-CSRF": owner.csrf, "Content-Length": announced.encode()}
    assert owner.post("/api/text", content=b"x", headers=headers).status_code == 413


@pytest.mark.parametrize("path", ["/api/text", "/cases/3/mark", "/sign-in"])
def test_a_body_that_hides_its_length_is_cut_off(path: str) -> None:
    async def endless():
        for _ in range(1025):
            yield b"x" * 1024

    owner = House().owner()
    headers = {"Content-Type": "application/x-www-form-urlencoded"}
    if path == "/api/text":
        headers["X-CSRF"] = owner.csrf
    assert owner.post(path, content=endless(), headers=headers).status_code == 413


def test_a_session_locks_when_nobody_is_there_and_says_so_in_each_way() -> None:
    house = House()
    owner = house.owner()
    house.clock.passes(minutes=15)
    page, program = owner.get("/cases/3"), owner.get("/api/csrf")
    part = owner.get("/cases/3", headers={"HX-Request": "true", "HX-Current-URL": f"{HOME}/cases/3"})
    assert (page.status_code, page.headers["location"]) == (303, "/locked?back=/cases/3")
    assert program.status_code == 401
    assert error(program)["kind"] == "locked"
    assert (part.status_code, part.headers["hx-redirect"]) == (401, "/locked?back=/cases/3")


@pytest.mark.parametrize(("method", "path"), CLOSED)
def test_a_locked_session_opens_nothing_but_the_lock_and_the_way_out(method: str, path: str) -> None:
    house = House()
    owner = house.owner()
    owner.send("/lock")
    answer = owner.ask(method, path, headers={"X-CSRF": owner.csrf})
    if path in ("/locked", "/sign-out", "/api/sign-out"):
        assert "/locked?back" not in answer.headers.get("location", "")
    else:
        assert answer.status_code in (303, 401)
        assert path.startswith("/api/") or answer.headers["location"].startswith("/locked?back=")


def test_the_page_asking_by_itself_does_not_keep_the_session_open() -> None:
    house = House()
    owner = house.owner()
    for _ in range(14):
        house.clock.passes(minutes=1)
        assert owner.get("/cases/3", headers={"X-Background": "1"}).status_code == 200
    house.clock.passes(minutes=1)
    assert owner.get("/cases/3", headers={"X-Background": "1"}).status_code == 303


def test_static_files_are_no_sign_of_life() -> None:
    house = House()
    owner = house.owner()
    house.clock.passes(minutes=14)
    owner.get("/static/page.css")
    house.clock.passes(minutes=1)
    assert owner.get("/cases/3").headers["location"].startswith("/locked")


def test_after_twelve_hours_the_way_in_is_signing_in() -> None:
    house = House()
    owner = house.owner()
    house.clock.passes(hours=12)
    assert owner.get("/cases/3").headers["location"] == "/sign-in?back=/cases/3"


def test_a_used_first_link_is_answered_like_any_unknown_page() -> None:
    house = House(a_door())
    link = f"/first/{first_link(house.door)}"
    assert house.stranger().get(link).status_code == 200
    house.door.accounts.add_user("Ben", "owner", "", house.clock())
    assert house.stranger().get(link).status_code == house.stranger().get("/nowhere").status_code == 303


@pytest.mark.parametrize("longer", ["/x", "/", "%2Fx"])
def test_more_than_a_link_is_no_link(longer: str) -> None:
    house = House(a_door())
    assert house.stranger().get(f"/first/{first_link(house.door)}{longer}").status_code == 303


@pytest.mark.parametrize("hosts", [[], [f"127.0.0.1:{PORT}", "evil.test"], ["evil.test", f"127.0.0.1:{PORT}"]])
def test_no_host_and_two_hosts_are_refused(hosts: list[str]) -> None:
    sent = []

    async def send(message):
        sent.append(message)

    async def receive():
        return {"type": "http.request", "body": b""}

    scope = {
        "type": "http", "method": "GET", "scheme": "http", "path": "/sign-in", "query_string": b"",
        "headers": [(b"host", host.encode()) for host in hosts],
    }  # fmt: skip
    asyncio.run(House().app(scope, receive, send))
    assert sent[0]["status"] == 400


def test_a_web_socket_is_never_opened() -> None:
    sent = []

    async def send(message):
        sent.append(message["type"])

    async def receive():
        return {"type": "websocket.connect"}

    scope = {"type": "websocket", "path": "/", "headers": [], "query_string": b"", "subprotocols": []}
    asyncio.run(House().app(scope, receive, send))
    assert sent == ["websocket.close"]


def test_the_log_never_holds_a_password_a_token_or_a_link(caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.DEBUG)
    house = House(a_door())
    link = first_link(house.door) or ""
    stranger = house.stranger()
    stranger.post(f"/first/{link}", data={"name": NAME, "password": PASSWORD, "again": PASSWORD})
    stranger.post("/sign-in", data={"name": NAME, "password": "wrong password"})
    stranger.get(f"/breaks/fault?back={PASSWORD}")
    token = stranger.cookies[cookie_name(PORT)]
    # The visitor of the tests keeps a log of its own.
    logged = "\n".join(record.getMessage() for record in caplog.records if not record.name.startswith("httpx"))
    assert "ZeroDivisionError" in logged
    for secret in (PASSWORD, "wrong password", link, token, NAME, "gutta"):
        assert secret not in logged


def test_two_servers_on_one_machine_do_not_mix_up_their_cookies() -> None:
    assert cookie_name(8731) != cookie_name(8732)
    assert re.fullmatch(r"[a-z0-9-]+", cookie_name(8731))


def test_a_planted_cookie_is_worth_nothing_after_signing_in() -> None:
    house = House()
    planted = house.owner()
    known = planted.cookies[cookie_name(PORT)]
    planted.post("/sign-in", data={"name": NAME, "password": PASSWORD})
    assert planted.cookies[cookie_name(PORT)] != known
    other = Visitor(house.app, Cookie=f"{cookie_name(PORT)}={known}")
    assert other.get("/cases/3").headers["location"].startswith("/sign-in")

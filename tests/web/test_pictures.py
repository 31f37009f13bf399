"""Pictures of a case, over the page and over the API: kept whole, refused whole, seen by nobody else."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest

from rootfill.clinic.keep_picture import came_as
from rootfill.errors import NotKept
from rootfill.web.picture_form import LONGEST_TEXT
from tests.web.open_house import OpenHouse, open_house
from tests.web.shots import as_file, ramps, upload
from tests.web.visitor import HOME, Visitor

GREY = ramps()
FILM = ramps((5, 4), "u1")
HTMX = {"HX-Request": "true"}


@pytest.fixture
def house(tmp_path: Path) -> Iterator[OpenHouse]:
    with open_house(tmp_path) as opened:
        yield opened


@pytest.fixture(scope="module")
def shared(tmp_path_factory: pytest.TempPathFactory) -> Iterator[OpenHouse]:
    """For those who leave nothing there."""
    with open_house(tmp_path_factory.mktemp("shared")) as opened:
        yield opened


def keep(house: OpenHouse, case: int, values: Any = GREY, **texts: str) -> int:
    """Keep an array as a picture, as a program would; its key."""
    answer = house.program().post(f"/api/cases/{case}/pictures", **upload(("a.npy", as_file(values)), **texts))
    assert answer.status_code == 201, answer.text
    key: int = answer.json()["key"]
    return key


def listed(house: OpenHouse, case: int) -> list[Any]:
    found: list[Any] = house.program().get(f"/api/cases/{case}/pictures").json()
    return found


def files(house: OpenHouse) -> list[str]:
    return sorted(path.name for path in house.pictures.rglob("*") if path.is_file())


def at_the_page(house: OpenHouse, case: int, **given: Any) -> httpx.Response:
    """Sent as the page's script sends it."""
    visitor = house.browser()
    return visitor.post(f"/cases/{case}/pictures", headers={"X-CSRF": visitor.csrf, **HTMX}, **given)


def scope_of(house: OpenHouse, case: int, kind: str) -> dict[str, Any]:
    """What a server makes of a program's request, for what no client would send."""
    path = f"/api/cases/{case}/pictures"
    headers = {"host": HOME.removeprefix("http://"), "authorization": f"Bearer {house.token()}", "content-type": kind}
    return {
        "type": "http", "method": "POST", "path": path, "raw_path": path.encode(), "query_string": b"",
        "headers": [(k.encode(), v.encode()) for k, v in headers.items()], "scheme": "http", "http_version": "1.1",
        "server": ("127.0.0.1", 1), "client": ("127.0.0.1", 2), "root_path": "",
    }  # fmt: skip


def test_a_scan_kept_at_the_page_is_listed_and_looked_at(house: OpenHouse) -> None:
    case = house.case()
    answer = at_the_page(house, case, **upload(("a.npy", as_file(GREY)), kind="volume", words="before", spacing=""))
    assert (answer.status_code, answer.headers["hx-redirect"]) == (204, f"/cases/{case}/pictures/1")
    page = house.browser().get(f"/cases/{case}/pictures").text
    assert "before" in page
    assert "4 × 5 × 6 voxels" in page
    assert "from one file, npy, 0.0 MB" in page
    shown = house.browser().get(f"/cases/{case}/pictures/1")
    assert shown.status_code == 200
    assert "spacing of the scan" in shown.text
    assert "90 % of true lengths are 98 to 102 % of what is measured" in shown.text
    assert "Pictures 1" in house.browser().get(f"/cases/{case}").text


def test_every_slice_comes_as_it_was_kept(house: OpenHouse) -> None:
    case = house.case()
    key = keep(house, case)
    for axis, count in enumerate((4, 5, 6)):
        for index in range(count):
            for where in ("", "/api"):
                visitor = house.program() if where else house.browser()
                answer = visitor.get(f"{where}/cases/{case}/pictures/{key}/slices/{axis}/{index}")
                assert answer.content == GREY.take(index, 2 - axis).tobytes()
    film = keep(house, case, FILM, kind="film")
    assert house.browser().get(f"/cases/{case}/pictures/{film}/slices/2/0").content == FILM.tobytes()
    assert listed(house, case)[0]["size"] == [4, 5]


@pytest.mark.parametrize("there", ["slices/0/4", "slices/3/0", "slices/0/-1", "slices/x/0", "slices/2/99999999999999"])
def test_a_slice_that_there_is_not_is_not_found(shared: OpenHouse, there: str) -> None:
    case = shared.case()
    answer = shared.browser().get(f"/cases/{case}/pictures/{keep(shared, case)}/{there}")
    assert answer.status_code == 404


def test_a_picture_of_another_case_cannot_be_reached_by_guessing(house: OpenHouse) -> None:
    mine, other = house.case(), house.case(id="X-2")
    key = keep(house, mine)
    visitor, headers = house.browser(), {"X-CSRF": house.browser().csrf}
    for ask, path in (("GET", ""), ("GET", "/slices/2/0"), ("POST", "/turn"), ("POST", "/remove")):
        answer = visitor.ask(ask, f"/cases/{other}/pictures/{key}{path}", headers={"X-CSRF": visitor.csrf})
        assert (answer.status_code, "no picture 1 of this case" in answer.text) == (404, True), path
    for ask, path in (("GET", "/slices/2/0"), ("POST", "/turns"), ("DELETE", "")):
        assert house.program().ask(ask, f"/api/cases/{other}/pictures/{key}{path}").status_code == 404, headers
    assert len(listed(house, mine)) == 1


@pytest.mark.parametrize("path", ["", "/1", "/1/slices/2/0"])
def test_a_stranger_sees_no_picture(shared: OpenHouse, path: str) -> None:
    case = shared.case()
    keep(shared, case)
    answer = shared.stranger().get(f"/cases/{case}/pictures{path}")
    assert answer.headers["location"].startswith("/sign-in?back=")
    assert shared.stranger().get(f"/api/cases/{case}/pictures{path}").status_code in (401, 405)


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (upload(), "send it as a form with files"),
        (upload(("", b"")), "the picture is nothing; choose a file of it"),
        (upload(("a.npy", b"")), "the picture is empty"),
        (upload(("a.npy", b"A letter to the laboratory.")), "the picture is no picture"),
        (upload(("a.npy", as_file(FILM))), "an array of 2 axes; a volume has 3"),
        (upload(("a.npy", as_file(GREY)), kind="song"), "allowed: volume, film"),
        (upload(("a.npy", as_file(GREY)), words="x" * 81), "say it in 80 signs"),
        (upload(("a.npy", as_file(GREY)), words="x" * (LONGEST_TEXT + 1)), "say it shorter"),
        (upload(("a.npy", as_file(GREY)), spacing="small"), "type one number in mm such as 0.2, or 3 of them"),
        (upload(("a.npy", as_file(GREY)), spacing="0.2 0.3"), "or 3 of them"),
        (upload(("a.npy", as_file(GREY)), spacing="-1"), "or 3 of them"),
        (upload(("a.npy", as_file(GREY)), spacing="nan"), "or 3 of them"),
        (upload(("a.npy", as_file(np.zeros((3, 4, 5))))), "of one single grey"),
    ],
)
def test_what_is_no_picture_is_refused_and_nothing_of_it_is_kept(shared: OpenHouse, given: Any, says: str) -> None:
    case, before = shared.case(), files(shared)
    answer = at_the_page(shared, case, **given)
    assert (answer.status_code, says in answer.text) == (422, True), answer.text
    assert answer.headers["hx-retarget"] == "#notice"
    assert (files(shared), listed(shared, case)) == (before, [])


def test_a_form_that_ends_half_way_is_refused(house: OpenHouse) -> None:
    case = house.case()
    whole = httpx.Request("POST", HOME, **upload(("a.npy", as_file(GREY))))
    body, kind = whole.read(), whole.headers["content-type"]
    for part in (body[:-4], body[: len(body) // 2], body[:30], b"", b"no form at all"):
        answer = house.program().post(f"/api/cases/{case}/pictures", content=part, headers={"Content-Type": kind})
        assert answer.status_code in (400, 422), part
    assert (files(house), listed(house, case)) == ([], [])


def test_an_upload_that_is_broken_off_leaves_nothing(house: OpenHouse) -> None:
    case = house.case()
    came: list[list[str]] = []

    async def broken_off() -> None:
        whole = httpx.Request("POST", HOME, **upload(("a.npy", as_file(np.zeros((80, 160, 160), "u2")))))
        blocks = [whole.read()[:3_000_000]]

        async def receive() -> dict[str, Any]:
            if blocks:
                return {"type": "http.request", "body": blocks.pop(), "more_body": True}
            came.append(files(house))
            return {"type": "http.disconnect"}

        async def send(_message: Any) -> None:
            raise AssertionError("nobody is there to be answered")

        scope = scope_of(house, case, whole.headers["content-type"])
        await house.app(scope, receive, send)

    asyncio.run(broken_off())
    assert came == [["a.npy", "held"]], "it was being written to the disk"
    assert (files(house), listed(house, case)) == ([], [])


def test_two_uploads_at_once_are_both_kept_whole(house: OpenHouse) -> None:
    case = house.case()
    both = threading.Barrier(2, timeout=20)

    def wait() -> None:
        both.wait()

    house.work.before = wait
    values = [GREY, GREY[::-1].copy()]
    threads = [threading.Thread(target=keep, args=(house, case, one)) for one in values]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    found = {one["key"]: one["digest"] for one in listed(house, case)}
    assert len(set(found.values())) == 2
    slices = {house.program().get(f"/api/cases/{case}/pictures/{key}/slices/2/0").content for key in found}
    assert slices == {one[0].tobytes() for one in values}


def test_the_same_picture_is_not_kept_twice(house: OpenHouse) -> None:
    case = house.case()
    keep(house, case, words="before")
    answer = at_the_page(house, case, **upload(("b.npy", as_file(GREY))))
    assert answer.status_code == 422
    assert "kept already: before (scan), 4 × 5 × 6 voxels" in answer.text
    assert len(files(house)) == 1


def test_several_files_of_one_series_are_one_picture(house: OpenHouse) -> None:
    case = house.case()
    slices = [(f"IM{number:03}.npy", as_file(part)) for number, part in enumerate(GREY)]
    answer = house.program().post(f"/api/cases/{case}/pictures", **upload(*slices))
    assert answer.json()["size"] == [4, 5, 6]
    assert answer.json()["read_from"] == "6 files, npy, 0.0 MB"


@pytest.mark.parametrize("name", ["../../clinic.sqlite3", "/etc/passwd", "a\r\nSet-Cookie: x.npy", "<script>.npy", "."])
def test_a_hostile_file_name_writes_nowhere_else_and_is_never_shown(
    house: OpenHouse, name: str, tmp_path: Path
) -> None:
    case, before = house.case(), house.path.read_bytes()[:16]
    answer = house.program().post(f"/api/cases/{case}/pictures", **upload((name, as_file(GREY))))
    assert answer.status_code == 201, answer.text
    assert house.path.read_bytes()[:16] == before
    assert {path.name for path in tmp_path.iterdir()} <= {
        "pictures",
        *(f"clinic.sqlite3{end}" for end in ("", "-wal", "-shm")),
    }
    page = house.browser().get(f"/cases/{case}/pictures").text
    assert "<script>.npy" not in page
    assert "passwd" not in page


def test_what_it_was_read_from_never_tells_a_name() -> None:
    assert came_as(["Doe_John_1970.dcm"], 10**6) == "one file, dcm, 1.0 MB"
    assert came_as(["Doe John"], 10**6) == "one file, 1.0 MB"
    assert came_as(["Doe.John Smith"], 0) == "one file, 0.0 MB"


def test_too_much_is_refused_at_once_and_without_the_secret_far_earlier(house: OpenHouse) -> None:
    case = house.case()
    large = {"content": b"x", "headers": {"Content-Length": str(3 * 2**30), "Content-Type": "multipart/form-data"}}
    answer = house.program().post(f"/api/cases/{case}/pictures", **large)
    assert (answer.status_code, answer.json()["error"]["says"]) == (
        413, "What was sent is too large; at most 2048 MB are taken.",
    )  # fmt: skip
    whole = upload(("a.npy", as_file(np.zeros((80, 160, 160), "u2"))))
    without = house.browser().post(f"/cases/{case}/pictures", **whole)
    assert without.status_code == 413
    assert "at most 1 MB" in without.text


def test_more_than_was_announced_ends_at_the_limit(house: OpenHouse, monkeypatch: pytest.MonkeyPatch) -> None:
    case = house.case()
    monkeypatch.setattr("rootfill.web.body.largest_picture", lambda: 3_000_000)
    whole = httpx.Request("POST", HOME, **upload(("a.npy", as_file(np.zeros((80, 160, 160), "u2")))))
    kind = {"Content-Type": whole.headers["content-type"]}

    async def send() -> httpx.Response:
        async def blocks() -> Any:
            body = whole.read()
            for start in range(0, len(body), 65536):
                yield body[start : start + 65536]

        visitor = house.program()
        transport = httpx.ASGITransport(app=house.app)
        async with httpx.AsyncClient(transport=transport, base_url=HOME, headers=visitor.headers) as client:
            return await client.post(f"/api/cases/{case}/pictures", content=blocks(), headers=kind)

    assert asyncio.run(send()).status_code == 413
    assert (files(house), listed(house, case)) == ([], [])


def test_a_case_that_is_not_there_takes_no_picture(house: OpenHouse) -> None:
    answer = house.program().post("/api/cases/9/pictures", **upload(("a.npy", as_file(GREY))))
    assert answer.status_code == 404
    assert files(house) == []


def test_a_full_disk_keeps_nothing_and_says_so(house: OpenHouse) -> None:
    case = house.case()

    def full() -> None:
        raise NotKept("Nothing was saved, because the disk is full: free some space, then enter it again.")

    house.work.before = full
    answer = at_the_page(house, case, **upload(("a.npy", as_file(GREY))))
    assert (answer.status_code, "the disk is full" in answer.text) == (507, True)
    assert (files(house), listed(house, case)) == ([], [])


def test_a_disk_that_fills_while_a_picture_comes_is_told_to_who_is_still_sending(
    house: OpenHouse, monkeypatch: pytest.MonkeyPatch
) -> None:
    case, sent = house.case(), [0]
    token = house.program()
    whole = httpx.Request("POST", HOME, **upload(("a.npy", as_file(np.zeros((80, 160, 160), "u2")))))
    body, kind = whole.read(), whole.headers["content-type"]

    def full(*_given: Any) -> None:
        raise NotKept("Nothing was saved, because the disk is full: free some space, then enter it again.")

    monkeypatch.setattr("rootfill.store.incoming.Incoming.write", full)

    async def send() -> httpx.Response:
        async def blocks() -> Any:
            for start in range(0, len(body), 65536):
                sent[0] = start
                yield body[start : start + 65536]

        transport = httpx.ASGITransport(app=house.app)
        headers = {**token.headers, "Content-Type": kind}
        async with httpx.AsyncClient(transport=transport, base_url=HOME, headers=headers) as client:
            return await client.post(f"/api/cases/{case}/pictures", content=blocks())

    answer = asyncio.run(send())
    assert (answer.status_code, "the disk is full" in answer.text) == (507, True)
    assert sent[0] > len(body) - 65537, "all of it was read"
    assert (files(house), listed(house, case)) == ([], [])


def test_a_row_that_cannot_be_written_leaves_no_file(house: OpenHouse, monkeypatch: pytest.MonkeyPatch) -> None:
    case = house.case()

    def full(*_given: Any) -> None:
        raise NotKept("Nothing was saved, because the disk is full: free some space, then enter it again.")

    monkeypatch.setattr(house.clinic.records, "mark", full)
    assert at_the_page(house, case, **upload(("a.npy", as_file(GREY)))).status_code == 507
    assert files(house) == []


def test_a_picture_removed_is_taken_back_whole(house: OpenHouse) -> None:
    case = house.case()
    key = keep(house, case, words="before")
    visitor = house.browser()
    assert visitor.send(f"/cases/{case}/pictures/{key}/remove").status_code == 303
    page = visitor.get(f"/cases/{case}/pictures").text
    assert "No picture is kept with this case yet." in page
    assert "Picture removed: before (scan), 4 × 5 × 6 voxels" in page
    assert visitor.get(f"/cases/{case}/pictures/{key}/slices/2/0").status_code == 404
    number = str(house.kept(case).revision)
    assert visitor.send(f"/cases/{case}/undo/pictures", number=number).status_code == 303
    assert [one["key"] for one in listed(house, case)] == [key]
    assert visitor.get(f"/cases/{case}/pictures/{key}/slices/2/0").content == GREY[0].tobytes()


def test_undo_at_the_pictures_takes_back_nothing_else(house: OpenHouse) -> None:
    case = house.case()
    keep(house, case)
    number = str(house.kept(case).revision)
    house.program().post(f"/api/cases/{case}/calls", json={"text": "MB 50 binds 15"})
    visitor = house.browser()
    assert "Undo" not in visitor.get(f"/cases/{case}/pictures").text
    assert visitor.send(f"/cases/{case}/undo/pictures", number=number).status_code == 409
    assert visitor.send(f"/cases/{case}/undo/pictures", number="x").status_code == 422
    assert (len(listed(house, case)), len(house.kept(case).findings)) == (1, 1)


def test_a_film_turns_by_quarters_and_a_scan_upside_down(house: OpenHouse) -> None:
    case = house.case()
    film, scan = keep(house, case, FILM, kind="film"), keep(house, case)
    visitor = house.browser()
    for turned in (1, 2, 3, 0):
        assert visitor.send(f"/cases/{case}/pictures/{film}/turn").status_code == 303
        assert listed(house, case)[1]["turned"] == turned
    for turned in (2, 0):
        assert house.program().post(f"/api/cases/{case}/pictures/{scan}/turns").json()["turned"] == turned


def test_a_file_that_somebody_removed_is_told_in_a_sentence_and_its_row_can_go(house: OpenHouse) -> None:
    case = house.case()
    key = keep(house, case)
    for file in house.pictures.glob("*.npy"):
        file.unlink()
    visitor = house.browser()
    for path in ("", "/slices/2/0"):
        answer = visitor.get(f"/cases/{case}/pictures/{key}{path}")
        assert (answer.status_code, "no longer in the folder of the clinic" in answer.text) == (404, True)
    assert visitor.get(f"/cases/{case}/pictures").status_code == 200
    assert visitor.send(f"/cases/{case}/pictures/{key}/remove").status_code == 303
    assert listed(house, case) == []


def test_a_case_removed_for_good_takes_every_picture_it_ever_had_with_it(house: OpenHouse) -> None:
    case = house.case()
    removed = keep(house, case)
    keep(house, case, FILM, kind="film")
    house.program().ask("DELETE", f"/api/cases/{case}/pictures/{removed}")
    assert len(files(house)) == 2
    assert house.program().ask("DELETE", f"/api/cases/{case}").status_code == 204
    assert files(house) == []
    assert house.is_sound()


def test_a_picture_without_a_scale_speaks_of_voxels_alone(house: OpenHouse) -> None:
    case = house.case()
    house.work.spacing_mm = None
    key = keep(house, case)
    page = house.browser().get(f"/cases/{case}/pictures/{key}").text
    assert "no scale: lengths in voxels, never in mm" in page
    assert listed(house, case)[0]["scale"]["spacing_mm"] is None


def test_a_spacing_that_was_typed_is_named_as_such(house: OpenHouse) -> None:
    case = house.case()
    key = keep(house, case, spacing="0,2 × 0,2 × 0,5")
    assert "spacing entered by you" in house.browser().get(f"/cases/{case}/pictures/{key}").text
    assert listed(house, case)[0]["scale"]["spacing_mm"] == [0.2, 0.2, 0.5]


def test_whoever_goes_while_a_picture_is_read_finds_nothing_of_it(house: OpenHouse) -> None:
    case = house.case()
    waits = threading.Event()

    def hold() -> None:
        waits.wait(20)

    house.work.before = hold

    async def go_away() -> None:
        whole = httpx.Request("POST", HOME, **upload(("a.npy", as_file(GREY))))
        blocks = [whole.read()]

        async def receive() -> dict[str, Any]:
            if blocks:
                return {"type": "http.request", "body": blocks.pop(), "more_body": False}
            asyncio.get_running_loop().call_later(0.2, waits.set)
            return {"type": "http.disconnect"}

        async def send(_message: Any) -> None:
            return

        scope = scope_of(house, case, whole.headers["content-type"])
        await house.app(scope, receive, send)

    asyncio.run(go_away())
    assert waits.is_set()
    assert (files(house), listed(house, case)) == ([], [])


def test_a_visitor_without_the_forms_secret_keeps_nothing(house: OpenHouse) -> None:
    case = house.case()
    answer = house.browser().post(f"/cases/{case}/pictures", **upload(("a.npy", as_file(GREY))))
    assert answer.status_code == 403
    forged: Visitor = house.browser()
    answer = forged.post(f"/cases/{case}/pictures", headers={"X-CSRF": "x"}, **upload(("a.npy", as_file(GREY))))
    assert answer.status_code == 403
    assert files(house) == []

"""Canals of a scan by keys alone: found in a process of their own, gone through, an end set, all of it still there."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from rootfill.clinic.add_case import add_case
from tests.browser.served import Served, serve
from tests.browser.test_looks import AXE, serious
from tests.browser.test_picture_page import keep, look
from tests.clinic.accounts import NAME, PASSWORD
from tests.images.scan.teeth import painted, straight
from tests.web.open_house import HEAD, MB, ML, open_house

pytestmark = pytest.mark.browser

LENGTH = re.compile(r"([\d.]+) mm")


@pytest.fixture(scope="module")
def scanned(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder: Path = tmp_path_factory.mktemp("scanned")
    with open_house(folder) as house:
        case = add_case(house.clinic, "Ada", {"id": "X-1", **HEAD}, [MB, ML], house.tray).key
        keep(house, case, painted((straight(y=-0.9), straight(y=0.9, d0=0.5))), "before")
    served = serve(folder)
    yield served
    served.stop()


@pytest.fixture
def at(chromium: Browser, scanned: Served) -> Iterator[Page]:
    context = chromium.new_context(viewport={"width": 1400, "height": 900})
    context.add_init_script(path=AXE)
    page = context.new_page()
    page.goto(f"{scanned.address}/sign-in?back=/cases/1/pictures")
    page.fill("[name=name]", NAME)
    page.fill("[name=password]", PASSWORD)
    page.keyboard.press("Enter")
    expect(page).to_have_title(re.compile("^Pictures"))
    yield page
    context.close()


def length(page: Page, canal: int) -> float:
    found = LENGTH.match(page.locator(".canals li .long-of b").nth(canal).inner_text())
    assert found is not None
    return float(found[1])


def test_canals_are_found_and_an_end_is_set_with_the_keyboard_alone(at: Page, scanned: Served) -> None:
    look(at, scanned, 1)
    at.keyboard.press("4")
    expect(at.locator(".find .state")).to_contain_text("Looking for canals")
    at.keyboard.press("k")  # the page goes on meanwhile
    expect(at.locator(".canals li")).to_have_count(2, timeout=60_000)
    before = [length(at, 0), length(at, 1)]
    at.keyboard.press("6")
    expect(at.get_by_label("Canal 2", exact=True)).to_be_checked()
    at.wait_for_timeout(300)
    x, y, z = map(int, at.locator(".where").inner_text().split(", "))
    at.keyboard.press("3")
    for _ in range(5):
        at.keyboard.press("k")
    expect(at.locator(".where")).to_have_text(f"{x}, {y}, {z + 5}")
    at.keyboard.press("8")
    expect(at.locator(".canals li").nth(1)).to_contain_text("end set by you")
    assert length(at, 0) == before[0]
    assert length(at, 1) == pytest.approx(before[1] - 1.0, abs=0.15)
    at.get_by_label("Canal 1 is").select_option("MB")
    expect(at.locator(".canals option[selected]")).to_have_text("MB")  # kept, and come back
    at.reload()
    expect(at.locator(".canals li").nth(1)).to_contain_text("end set by you")
    expect(at.get_by_label("Canal 1 is")).to_have_value("MB")
    for width in (400, 820, 1400):
        at.set_viewport_size({"width": width, "height": 900})
        assert at.evaluate("document.documentElement.scrollWidth") <= width
    assert serious(at) == []


def test_a_search_can_be_given_up_and_leaves_nothing(at: Page, scanned: Served) -> None:
    look(at, scanned, 1)
    before = at.locator(".canals li").count()
    at.keyboard.press("5")
    at.get_by_role("button", name="Give up").click()
    expect(at.get_by_role("button", name="Give up")).to_be_hidden()
    expect(at.get_by_role("button", name="Find canals")).to_be_enabled()
    expect(at.locator(".find .state")).to_have_text("")
    at.reload()
    expect(at.locator(".canals li")).to_have_count(before)

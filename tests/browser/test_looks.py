"""Every page for every eye: axe finds nothing serious, nothing runs out of the window, focus is seen and in order."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.served import Served

pytestmark = pytest.mark.browser

ROOT = Path(__file__).parent.parent.parent
AXE = ROOT / "node_modules" / "axe-core" / "axe.min.js"
TEETH = ("/cases/1", "/cases/2", "/cases/2/heat", "/cases/3")
PAGES = ("/", "/new", *TEETH, "/cases/3/pictures", "/trays", "/settings", "/keys", "/password", "/no-such-page")
FOCUS_ORDER = Path(__file__).with_name("focus_order.txt")


def serious(page: Page) -> list[str]:
    """What axe finds that keeps somebody out."""
    found: dict[str, Any] = page.evaluate("axe.run({ resultTypes: ['violations'] })")
    return [
        f"{v['id']}: {n['target']} {n['failureSummary']}"
        for v in found["violations"]
        if v["impact"] in ("serious", "critical")
        for n in v["nodes"]
    ]


@pytest.fixture
def examined(context: BrowserContext) -> Page:
    context.add_init_script(path=AXE)
    return context.new_page()


@pytest.mark.parametrize("path", PAGES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_serious(examined: Page, shown: Served, path: str, scheme: Any) -> None:
    examined.emulate_media(color_scheme=scheme)
    examined.goto(f"{shown.address}{path}")
    for folded in examined.locator("details").all():
        folded.evaluate("(one) => { one.open = true; }")
    assert serious(examined) == []


def test_axe_finds_nothing_serious_on_the_pages_of_the_door(examined: Page, shown: Served) -> None:
    examined.context.clear_cookies()
    examined.goto(f"{shown.address}/sign-in")
    assert serious(examined) == []


@pytest.mark.parametrize("path", PAGES)
@pytest.mark.parametrize("width", [1440, 1024, 820])
def test_nothing_runs_out_of_the_window(page: Page, shown: Served, path: str, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(f"{shown.address}{path}")
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def stops(page: Page, most: int = 400) -> list[str]:
    """What Tab comes to, one after the other, until it leaves the page."""
    found: list[str] = []
    for _ in range(most):
        page.keyboard.press("Tab")
        words = page.evaluate(
            "(() => { const e = document.activeElement; if (!e || e === document.body) return null;"
            " return e.tagName.toLowerCase() + ' ' +"
            " (e.getAttribute('aria-label') || e.labels?.[0]?.textContent || e.textContent || '')"
            ".trim().replace(/\\s+/g, ' '); })()"
        )
        if words is None:
            return found
        found.append(words)
    raise AssertionError("Tab never left the page")


def test_tab_goes_through_the_tooth_in_the_order_that_was_agreed(page: Page, shown: Served) -> None:
    """The order is kept in focus_order.txt; change it there only on purpose."""
    page.goto(f"{shown.address}/cases/1")
    expect(page.locator("#standing .needs")).to_be_visible()
    assert "\n".join(stops(page)) + "\n" == FOCUS_ORDER.read_text(encoding="utf-8")


def test_whatever_has_the_focus_shows_it(page: Page, shown: Served) -> None:
    page.goto(f"{shown.address}/cases/1")
    for _ in range(24):
        page.keyboard.press("Tab")
        shown_by = page.evaluate(
            "(() => { const s = getComputedStyle(document.activeElement); return [s.outlineStyle, s.outlineWidth]; })()"
        )
        assert shown_by[0] != "none", page.evaluate("document.activeElement.outerHTML")
        assert shown_by[1] != "0px"


def test_paper_shows_the_tooth_without_the_buttons(page: Page, shown: Served) -> None:
    page.emulate_media(media="print")
    page.goto(f"{shown.address}/cases/3")
    expect(page.locator("#drawing svg").first).to_be_visible()
    expect(page.locator(".say")).to_be_hidden()
    expect(page.locator("header.house")).to_be_hidden()


def test_no_page_asks_another_host_or_breaks_its_own_policy(page: Page, shown: Served) -> None:
    said: list[str] = []
    hosts: set[str] = set()
    page.on("console", lambda message: said.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("request", lambda request: hosts.add("/".join(request.url.split("/")[:3])))
    for path in PAGES[:-1]:
        page.goto(f"{shown.address}{path}")
        page.wait_for_load_state("networkidle")
    assert said == []
    assert {host for host in hosts if not host.startswith("data:")} == {shown.address}

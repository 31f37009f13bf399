"""From nothing to a printed card with the keyboard alone: nothing here presses anything but keys."""

from __future__ import annotations

import re
from collections.abc import Sequence

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.served import Served
from tests.papers.pages import reader

pytestmark = pytest.mark.browser

PASSWORD = "a long enough sentence"
CANALS = (
    ("MB", "MB cusp tip", "20,5", "30/.04", "8"),
    ("ML", "ML cusp tip", "20", "30/.04", "8"),
    ("D", "D cusp tip", "21", "40/.04", "8.5"),
)
CALLS = (
    "all straight, all dry, all patent",
    "mb 21 locator",
    "ml joins mb at 3.5",
    "isolated, consent, numb, rinsed",
    "d 60 binds 14.5",
)


class Hands:
    """Somebody with a keyboard and no mouse."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)

    def write(self, text: str) -> None:
        self.page.keyboard.type(text)

    def write_fields(self, texts: Sequence[str]) -> None:
        """One field after the other; each is overwritten."""
        for text in texts:
            self.press("Control+A")
            self.write(text)
            self.press("Tab")

    def call(self, line: str) -> None:
        """Type a call-out and keep it; the line is empty again when it is kept."""
        self.write(line)
        expect(self.page.locator("#heard .understood").first).to_be_visible()
        self.press("Enter")
        expect(self.page.locator("#say")).to_have_value("")


def make_owner(hands: Hands, served: Served) -> None:
    hands.page.goto(served.link)
    hands.write("Ada")
    hands.press("Tab")
    hands.write(PASSWORD)
    hands.press("Tab")
    hands.write(PASSWORD)
    hands.press("Enter")
    expect(hands.page).to_have_title(re.compile("^Cases"))


def make_case(hands: Hands) -> None:
    hands.press("n")
    expect(hands.page).to_have_title(re.compile("^New case"))
    hands.write("36")
    expect(hands.page.locator("#canals .words")).to_contain_text("Lower left first molar")
    hands.press(*["Tab"] * 4)
    for canal in CANALS:
        hands.write_fields([*canal, ""])
    hands.press("Enter")
    expect(hands.page).to_have_title(re.compile("^36 lower left first molar"))


def test_a_new_molar_becomes_a_printed_card_by_keyboard_alone(chromium: Browser, clinic: Served) -> None:
    context = chromium.new_context(viewport={"width": 1440, "height": 900})
    context.add_init_script("window.printed = 0; window.print = () => { window.printed += 1; };")
    page, hosts = context.new_page(), set[str]()
    page.on("request", lambda request: hosts.add(re.sub(r"^(\w+://[^/]+).*", r"\1", request.url)))
    hands = Hands(page)
    make_owner(hands, clinic)
    make_case(hands)

    hands.press("/")
    for line in CALLS[:3]:
        hands.call(line)
    clinic.kill()
    clinic.restart()
    for line in CALLS[3:]:
        hands.call(line)
    expect(page.locator("#numbers h2")).to_contain_text(re.compile(r"plan \d"))
    page.reload()
    expect(page.locator("#ledger .ledger li")).to_have_count(2)
    expect(page.locator("[id$='-joins']").nth(1)).to_have_value("MB at 3.5")
    expect(page.locator("[id$='-curve']").nth(2)).to_have_value("straight")
    assert page.locator(".cuts svg").count() == 3

    hands.press("t")
    expect(page).to_have_title(re.compile("^Tray card, 36"))
    expect(page.locator("img.card")).to_have_js_property("complete", True)
    hands.press("p")
    page.wait_for_timeout(300)
    assert page.evaluate("window.printed") == 1
    assert len(reader(page.pdf(prefer_css_page_size=True)).pages) == 1
    kept = context.request.get(f"{clinic.address}{page.get_attribute('[data-key=d]', 'href')}").body()
    assert len(reader(kept).pages) == 1

    hands.press("b")
    expect(page).to_have_title(re.compile("^36 lower left first molar"))
    hands.press("/")
    hands.call("ml length 19.5")
    expect(page.locator(".stale")).to_contain_text(re.compile(r"out of date: .*ML"))
    assert {host for host in hosts if not host.startswith("data:")} == {clinic.address}
    context.close()


def test_one_key_takes_back_what_was_called_last(page: Page, shown: Served) -> None:
    hands = Hands(page)
    page.goto(f"{shown.address}/cases/2")
    before = page.locator("#ledger .ledger li").count()
    hands.press("/")
    hands.call("b locator 21.4")
    expect(page.locator("#ledger .ledger li")).to_have_count(before + 1)
    hands.press("u")
    expect(page.locator("#ledger .ledger li")).to_have_count(before)
    expect(page.locator("#said")).to_contain_text("B: apex locator")


def test_a_doubtful_line_is_not_kept_and_stays_to_be_corrected(page: Page, shown: Served) -> None:
    hands = Hands(page)
    page.goto(f"{shown.address}/cases/2")
    hands.press("/")
    hands.write("19.5 locator")
    expect(page.locator("#heard .doubt")).to_contain_text("B")
    hands.press("Enter")
    expect(page.locator("#notice")).to_contain_text("canal")
    expect(page.locator("#say")).to_have_value("19.5 locator")


def test_keys_are_letters_while_a_text_is_typed(page: Page, shown: Served) -> None:
    hands = Hands(page)
    page.goto(f"{shown.address}/cases/2")
    hands.press("e")
    hands.press("Control+A")
    hands.write("t n l c")
    assert page.url.endswith("/cases/2")
    hands.press("Escape", "Escape")
    hands.press("c")
    expect(page).to_have_title(re.compile("^Cases"))

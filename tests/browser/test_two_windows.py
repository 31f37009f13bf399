"""Two windows on one canal, a disk that is full, a program that is gone: nothing acknowledged is lost."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.served import Served
from tests.browser.test_by_keyboard import Hands, make_case, make_owner

pytestmark = pytest.mark.browser

LENGTH = "[id$='-length'] >> nth=0"


@pytest.fixture
def two(chromium: Browser, clinic: Served) -> tuple[Page, Page]:
    context = chromium.new_context(viewport={"width": 1440, "height": 900})
    first = context.new_page()
    make_owner(Hands(first), clinic)
    make_case(Hands(first))
    second = context.new_page()
    second.goto(first.url)
    return first, second


def type_length(page: Page, text: str) -> None:
    page.locator(LENGTH).focus()
    Hands(page).press("Control+A")
    Hands(page).write(text)
    Hands(page).press("Enter")


def test_the_second_window_is_told_and_what_it_typed_stays(two: tuple[Page, Page]) -> None:
    first, second = two
    second.locator(LENGTH).focus()
    type_length(first, "19.5")
    expect(first.locator("#said")).to_contain_text("Kept: 19.5")
    type_length(second, "21")
    expect(second.locator("#notice")).to_contain_text(re.compile("MB length to the end was changed meanwhile.*19.5"))
    expect(second.locator(LENGTH)).to_have_value("21")
    first.reload()
    expect(first.locator(LENGTH)).to_have_value("19.5")


def test_whoever_has_read_the_other_number_may_put_their_own_in_its_place(two: tuple[Page, Page]) -> None:
    first, second = two
    second.locator(LENGTH).focus()
    type_length(first, "19.5")
    expect(first.locator("#said")).to_contain_text("Kept: 19.5")
    type_length(second, "21")
    expect(second.locator(LENGTH)).to_have_attribute("aria-invalid", "true")
    second.keyboard.press("Enter")
    expect(second.locator("#said")).to_contain_text("Kept: 21")
    first.reload()
    expect(first.locator(LENGTH)).to_have_value("21.0")


def test_two_windows_on_two_fields_of_one_canal_both_keep_theirs(two: tuple[Page, Page]) -> None:
    first, second = two
    type_length(first, "19.5")
    expect(first.locator("#said")).to_contain_text("Kept")
    second.locator("[id$='-orifice'] >> nth=0").focus()
    Hands(second).press("Control+A")
    Hands(second).write("7.5")
    Hands(second).press("Enter")
    expect(second.locator("#said")).to_contain_text("Kept: 7.5")
    first.reload()
    expect(first.locator(LENGTH)).to_have_value("19.5")
    expect(first.locator("[id$='-orifice'] >> nth=0")).to_have_value("7.5")


def test_a_number_typed_while_the_program_is_gone_is_sent_when_it_is_back(
    two: tuple[Page, Page], clinic: Served
) -> None:
    first, _ = two
    clinic.kill()
    type_length(first, "19.5")
    expect(first.locator("#notice")).to_contain_text("does not answer")
    expect(first.locator(LENGTH)).to_have_value("19.5")
    clinic.restart()
    expect(first.locator("#said")).to_contain_text("Kept: 19.5", timeout=10_000)
    first.reload()
    expect(first.locator(LENGTH)).to_have_value("19.5")


def is_kept(page: Page) -> bool:
    """Whether the line that was sent was kept: the field is empty then, else a notice stands there."""
    for _ in range(200):
        if page.locator("#say").input_value() == "":
            return True
        if page.locator("#notice .says").count():
            return False
        page.wait_for_timeout(25)
    raise AssertionError("no answer")


def test_a_full_disk_is_said_and_everything_said_to_be_kept_is_there(chromium: Browser, tmp_path: Path) -> None:
    served = Served("serve", "--data", str(tmp_path), largest_file=420_000)
    page = chromium.new_context().new_page()
    hands = Hands(page)
    make_owner(hands, served)
    make_case(hands)
    hands.press("/")
    kept = 0
    for number in range(400):
        hands.write(f"mb locator {19 + number % 20 / 10}")
        hands.press("Enter")
        if not is_kept(page):
            break
        kept += 1
    expect(page.locator("#notice")).to_contain_text("disk")
    expect(page.locator("#say")).not_to_have_value("")
    page.reload()
    expect(page.locator("#ledger .ledger li")).to_have_count(kept)
    page.context.close()
    served.stop()


def test_no_card_is_made_while_a_number_is_refused_and_one_on_its_way_is_waited_for(two: tuple[Page, Page]) -> None:
    page, _ = two
    type_length(page, "195")
    expect(page.locator("#notice")).to_contain_text("8 to 40")
    Hands(page).press("Tab")
    page.locator("h1").evaluate("() => document.activeElement.blur()")
    Hands(page).press("t")
    expect(page.locator("#notice")).to_contain_text("not kept")
    page.locator(LENGTH).focus()
    Hands(page).press("Control+A")
    Hands(page).write("19.2")
    page.locator(LENGTH).evaluate("(field) => { field.blur(); }")
    Hands(page).press("t")
    expect(page).to_have_title(re.compile("^Tray card"))
    plan = page.request.get(page.url.replace("/cases/", "/api/cases/").partition("/cards/")[0] + "/plan").json()
    assert plan["plan"]["canals"][0]["working_length_mm"] == 19.2

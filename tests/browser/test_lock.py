"""Nobody at the keyboard: the page hides itself, and what was typed is there again after the unlocking."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.served import Served
from tests.browser.test_by_keyboard import PASSWORD, Hands, make_case, make_owner

pytestmark = pytest.mark.browser


def test_an_idle_page_hides_itself_and_gives_back_what_was_typed(chromium: Browser, clinic: Served) -> None:
    page = chromium.new_context().new_page()
    hands = Hands(page)
    make_owner(hands, clinic)
    make_case(hands)
    page.clock.install()
    page.reload()
    page.locator("[id$='-length'] >> nth=0").focus()
    hands.press("Control+A")
    hands.write("19.7")
    page.clock.run_for("16:00")
    expect(page).to_have_title(re.compile("^Locked"))
    expect(page.locator("main")).not_to_contain_text("MB")
    page.locator("#password").focus()
    hands.write(PASSWORD)
    hands.press("Enter")
    expect(page).to_have_title(re.compile("^36"))
    expect(page.locator("[id$='-length'] >> nth=0")).to_have_value("19.7")
    page.context.close()


def test_the_lock_key_hides_the_page_at_once(chromium: Browser, clinic: Served) -> None:
    page = chromium.new_context().new_page()
    hands = Hands(page)
    make_owner(hands, clinic)
    hands.press("l")
    expect(page).to_have_title(re.compile("^Locked"))
    page.go_back()
    expect(page).to_have_title(re.compile("^Locked"))
    page.context.close()

"""What hurries, is done twice, or goes on in two windows: no letter is lost and no number shown that is not the one."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from tests.browser.served import Served
from tests.browser.test_by_keyboard import PASSWORD, Hands, make_case, make_owner
from tests.browser.test_two_windows import LENGTH, type_length

pytestmark = pytest.mark.browser

LEDGER = "#ledger .ledger li"
ISOLATED = "[id$='-isolated']"
DRYING = "[id$='-drying'] >> nth=0"


@pytest.fixture
def tooth(chromium: Browser, clinic: Served) -> Iterator[Page]:
    """A molar with three canals, its page shown."""
    context = chromium.new_context(viewport={"width": 1440, "height": 900})
    page = context.new_page()
    make_owner(Hands(page), clinic)
    make_case(Hands(page))
    expect(page.locator("#numbers h2")).to_contain_text(re.compile(r"plan \d"))
    yield page
    context.close()


def other_window(page: Page) -> Page:
    other = page.context.new_page()
    other.goto(page.url)
    return other


class Held:
    """Requests to an address wait until they are let go."""

    def __init__(self, page: Page, path: str) -> None:
        self._page = page
        self._waiting: list[Route] | None = []
        page.route(path, self._take)

    def _take(self, route: Route) -> None:
        if self._waiting is None:
            route.continue_()
        else:
            self._waiting.append(route)

    def wait(self) -> None:
        """Until there is one."""
        for _ in range(200):
            if self._waiting:
                return
            self._page.wait_for_timeout(10)
        raise AssertionError("nothing was sent")

    def let_go(self) -> None:
        """These, and whatever comes after."""
        waiting, self._waiting = self._waiting or [], None
        for route in waiting:
            route.continue_()


def test_a_line_typed_while_another_is_on_its_way_is_not_lost(tooth: Page) -> None:
    hands = Hands(tooth)
    held = Held(tooth, "**/say")
    hands.press("/")
    hands.write("mb locator 20.5")
    hands.press("Enter")
    held.wait()
    hands.write("ml not patent")
    held.let_go()
    expect(tooth.locator(LEDGER)).to_have_count(1)
    expect(tooth.locator("#say")).to_have_value("ml not patent")


def test_letters_that_follow_a_kept_line_never_take_it_back(tooth: Page) -> None:
    hands = Hands(tooth)
    held = Held(tooth, "**/say")
    hands.press("/")
    hands.write("consent")
    hands.press("Enter")
    held.wait()
    hands.write("n")
    held.let_go()
    expect(tooth.locator("#said")).to_contain_text("consent")
    hands.write("umb")
    expect(tooth.locator("#say")).to_have_value("numb")
    expect(tooth.locator("[id$='-consent']")).to_have_value("yes")


def test_a_line_sent_twice_in_a_hurry_is_one_finding(tooth: Page) -> None:
    hands = Hands(tooth)
    held = Held(tooth, "**/say")
    hands.press("/")
    hands.write("mb locator 20.5")
    hands.press("Enter", "Enter")
    held.wait()
    held.let_go()
    expect(tooth.locator(LEDGER)).to_have_count(1)
    tooth.wait_for_timeout(500)
    tooth.reload()
    expect(tooth.locator(LEDGER)).to_have_count(1)


def test_enter_held_down_says_a_line_once(tooth: Page) -> None:
    hands = Hands(tooth)
    hands.press("/")
    hands.write("mb locator 20.5")
    for _ in range(6):
        tooth.keyboard.down("Enter")
    tooth.keyboard.up("Enter")
    expect(tooth.locator("#say")).to_have_value("")
    tooth.wait_for_timeout(500)
    tooth.reload()
    expect(tooth.locator(LEDGER)).to_have_count(1)


def test_a_call_out_shows_at_once_among_the_answers_of_today(tooth: Page) -> None:
    hands = Hands(tooth)
    hands.press("/")
    hands.call("isolated")
    expect(tooth.locator(ISOLATED)).to_have_value("yes")
    tooth.locator(ISOLATED).select_option("no")
    expect(tooth.locator("#said")).to_contain_text("Kept: no")
    hands.press("Escape", "u")
    expect(tooth.locator(ISOLATED)).to_have_value("yes")


def test_a_field_that_is_being_typed_in_outlives_a_call_out_under_way(tooth: Page) -> None:
    hands = Hands(tooth)
    held = Held(tooth, "**/say")
    hands.press("/")
    hands.write("mb dry")
    hands.press("Enter")
    held.wait()
    tooth.locator(LENGTH).focus()
    hands.press("Control+A")
    hands.write("19")
    held.let_go()
    expect(tooth.locator(DRYING)).to_have_value("dry")
    hands.write(".5")
    expect(tooth.locator(LENGTH)).to_have_value("19.5")
    expect(tooth.locator(LENGTH)).to_be_focused()
    hands.press("Enter")
    expect(tooth.locator("#said")).to_contain_text("Kept: 19.5")


def test_a_refused_number_stays_in_its_field_when_something_else_is_called(tooth: Page) -> None:
    type_length(tooth, "210")
    expect(tooth.locator(LENGTH)).to_have_attribute("aria-invalid", "true")
    tooth.locator("#say").focus()
    Hands(tooth).call("mb dry")
    expect(tooth.locator(LENGTH)).to_have_value("210")
    expect(tooth.locator(LENGTH)).to_have_attribute("aria-invalid", "true")


def test_numbers_of_a_number_that_was_refused_are_not_those_of_its_first_letters(tooth: Page) -> None:
    hands = Hands(tooth)
    tooth.locator(LENGTH).focus()
    hands.press("Control+A")
    hands.write("21")
    expect(tooth.locator("#numbers h2")).to_contain_text("not kept yet")
    hands.write("0")
    expect(tooth.locator("#numbers h2")).not_to_contain_text("not kept yet")
    hands.press("Enter")
    expect(tooth.locator(LENGTH)).to_have_attribute("aria-invalid", "true")
    expect(tooth.locator("#numbers h2")).to_contain_text(re.compile(r"plan \d"))


def test_two_numbers_typed_in_a_hurry_end_as_the_second(tooth: Page) -> None:
    held = Held(tooth, "**/cell")
    type_length(tooth, "19")
    held.wait()
    type_length(tooth, "19.5")
    held.let_go()
    expect(tooth.locator("#said")).to_contain_text("Kept: 19.5")
    expect(tooth.locator("#notice")).to_be_empty()
    tooth.reload()
    expect(tooth.locator(LENGTH)).to_have_value("19.5")


def test_a_number_taken_back_too_late_is_shown_as_it_is_kept(tooth: Page) -> None:
    held = Held(tooth, "**/cell")
    type_length(tooth, "19.5")
    held.wait()
    Hands(tooth).press("Escape")
    expect(tooth.locator(LENGTH)).to_have_value("20.5")
    held.let_go()
    expect(tooth.locator("#said")).to_contain_text("Kept: 19.5")
    expect(tooth.locator(LENGTH)).to_have_value("19.5")


def test_what_the_other_window_entered_shows_with_the_next_number_kept_here(tooth: Page) -> None:
    other = other_window(tooth)
    type_length(tooth, "19")
    expect(tooth.locator("#said")).to_contain_text("Kept: 19")
    Hands(tooth).press("Escape", "/")
    Hands(tooth).call("isolated")
    other.locator("[id$='-orifice'] >> nth=0").fill("7")
    other.keyboard.press("Enter")
    expect(other.locator("#said")).to_contain_text("Kept: 7")
    expect(other.locator(LENGTH)).to_have_value("19.0")
    expect(other.locator(ISOLATED)).to_have_value("yes")


def test_going_back_to_a_tooth_shows_its_answers_as_they_are_kept(tooth: Page, clinic: Served) -> None:
    tooth.locator(DRYING).select_option("dry")
    expect(tooth.locator("#said")).to_contain_text("Kept: dry")
    address = tooth.url
    tooth.goto(f"{clinic.address}/trays")
    other = tooth.context.new_page()
    other.goto(address)
    other.locator(DRYING).select_option("blood")
    expect(other.locator("#said")).to_contain_text("Kept: blood")
    tooth.go_back()
    expect(tooth).to_have_title(re.compile("^36"))
    tooth.wait_for_timeout(300)
    expect(tooth.locator(DRYING)).to_have_value("blood")


def test_what_is_given_back_after_unlocking_is_kept_when_its_field_is_left(tooth: Page) -> None:
    hands = Hands(tooth)
    tooth.clock.install()
    tooth.reload()
    tooth.locator(LENGTH).focus()
    hands.press("Control+A")
    hands.write("19.7")
    tooth.clock.run_for("16:00")
    expect(tooth).to_have_title(re.compile("^Locked"))
    tooth.locator("#password").focus()
    hands.write(PASSWORD)
    hands.press("Enter")
    expect(tooth.locator(LENGTH)).to_have_value("19.7")
    tooth.locator(LENGTH).focus()
    hands.press("Tab")
    expect(tooth.locator("#said")).to_contain_text("Kept: 19.7")


def test_the_page_locks_although_a_number_was_refused(tooth: Page) -> None:
    type_length(tooth, "210")
    expect(tooth.locator(LENGTH)).to_have_attribute("aria-invalid", "true")
    tooth.get_by_role("button", name="Lock").click()
    expect(tooth).to_have_title(re.compile("^Locked"))


def test_another_visit_is_made_once_however_often_its_button_is_pressed(tooth: Page) -> None:
    button = tooth.get_by_role("button", name="New visit")
    button.evaluate("(one) => { one.click(); one.click(); one.click(); }")
    expect(tooth.locator(".title .quiet")).to_contain_text("visit 2")
    tooth.wait_for_timeout(300)
    tooth.reload()
    expect(tooth.locator(".title .quiet")).to_contain_text("visit 2")


def test_one_click_makes_the_tray_card(tooth: Page) -> None:
    tooth.get_by_role("button", name="Tray card").click()
    expect(tooth).to_have_title(re.compile("^Tray card"))


def test_a_canal_whose_name_begins_with_u_can_be_called_out(tooth: Page) -> None:
    tooth.locator("details.facts summary", has_text="Tray and canals").click()
    tooth.locator("#new-canal").fill("U2")
    tooth.keyboard.press("Enter")
    expect(tooth.locator("#heads")).to_contain_text("U2")
    Hands(tooth).press("/")
    Hands(tooth).call("u2 dry")
    expect(tooth.locator("#said")).to_contain_text("U2 is dry")


def test_a_card_that_went_out_of_date_while_it_was_looked_at_is_not_printed(tooth: Page) -> None:
    tooth.context.add_init_script("window.printed = 0; window.print = () => { window.printed += 1; };")
    other = other_window(tooth)
    Hands(tooth).press("t")
    expect(tooth).to_have_title(re.compile("^Tray card"))
    expect(tooth.locator("[role=alert]")).to_have_count(0)
    type_length(other, "19")
    expect(other.locator("#said")).to_contain_text("Kept: 19")
    Hands(tooth).press("p")
    expect(tooth.locator("[role=alert]")).to_contain_text("out of date")
    assert tooth.evaluate("window.printed") == 0
    tooth.emulate_media(media="print")
    expect(tooth.locator("[role=alert]")).to_be_visible()
    expect(tooth.locator(".card")).to_be_hidden()


def test_nothing_of_a_tooth_comes_back_after_signing_out(tooth: Page) -> None:
    Hands(tooth).press("l")
    expect(tooth).to_have_title(re.compile("^Locked"))
    tooth.get_by_role("button", name="Sign out").click()
    expect(tooth).to_have_title(re.compile("^Sign in"))
    for _ in range(3):
        tooth.go_back()
        expect(tooth.locator("main")).not_to_contain_text("MB")

"""The slider under a canal's heat shows one moment after another, and says it."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.browser.served import Served

pytestmark = pytest.mark.browser


def test_from_the_tooth_by_key_to_its_heat_and_through_its_moments(page: Page, shown: Served) -> None:
    page.goto(f"{shown.address}/cases/2")
    expect(page.get_by_role("link", name="How warm it gets")).to_be_visible(timeout=60_000)
    page.locator("h1").click()
    page.keyboard.press("w")
    section = page.locator("section.course").first
    slider, says = section.get_by_role("slider"), section.locator("output")
    before = says.inner_text()
    slider.focus()
    page.keyboard.press("ArrowLeft")
    expect(says).not_to_have_text(before)
    seen = section.locator('[data-moment][visibility="visible"]')
    expect(seen).to_have_count(1)
    assert seen.get_attribute("data-says") == says.inner_text() == slider.get_attribute("aria-valuetext")
    page.keyboard.press("Home")
    expect(says).to_have_text("0.0 s, before the first heat: surface 0.0 °C warmer")
    page.keyboard.press("b")
    expect(page).to_have_url(f"{shown.address}/cases/2")


def test_a_tooth_whose_tip_nobody_measured_has_no_heat_to_show(page: Page, shown: Served) -> None:
    page.goto(f"{shown.address}/cases/3")
    expect(page.get_by_text("not computed: 1 s at a time, 5 s between").first).to_be_visible()
    expect(page.get_by_role("link", name="How warm it gets")).to_have_count(0)
    page.goto(f"{shown.address}/cases/3/heat")
    expect(page.get_by_text("not computed: 1 s at a time, 5 s between").first).to_be_visible()
    expect(page.get_by_role("slider")).to_have_count(0)

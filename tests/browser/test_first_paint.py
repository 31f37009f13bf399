"""How soon something is seen, by a browser that has seen nothing yet."""

from __future__ import annotations

import statistics

import pytest
from playwright.sync_api import Playwright

from tests.browser.conftest import ARGUMENTS, CHROMIUM
from tests.browser.served import Served

pytestmark = pytest.mark.browser

FIRST_PAINT_MS = 300.0


@pytest.mark.parametrize("path", ["/", "/cases/3"])
def test_the_first_paint_of_a_cold_browser_comes_within_300_ms(
    playwright: Playwright, shown: Served, entered: str, path: str
) -> None:
    """The median of three browsers, each started for it with an empty profile."""
    name, _, value = entered.partition("=")
    times = []
    for _ in range(3):
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        context = browser.new_context()
        context.add_cookies([{"name": name, "value": value, "url": shown.address, "sameSite": "Strict"}])
        page = context.new_page()
        page.goto(f"{shown.address}{path}")
        times.append(
            page.evaluate("performance.getEntriesByType('paint').find((e) => e.name === 'first-contentful-paint')")[
                "startTime"
            ]
        )
        browser.close()
    assert statistics.median(times) < FIRST_PAINT_MS, times

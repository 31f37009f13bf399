"""Chromium of the system with an empty profile, and the program it looks at. Never skipped."""

from __future__ import annotations

from collections.abc import Generator, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, Playwright, sync_playwright

from tests.browser.served import Served, demo, serve

ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]
CHROMIUM = "/usr/bin/chromium"


@pytest.fixture(scope="package")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="package")
def chromium(playwright: Playwright) -> Iterator[Browser]:
    browser = playwright.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
    yield browser
    browser.close()


@pytest.fixture(scope="package")
def shown() -> Iterator[Served]:
    """The demonstration clinic, for whoever only looks."""
    served = demo()
    yield served
    served.stop()


@pytest.fixture(scope="package")
def entered(chromium: Browser, shown: Served) -> str:
    """The cookies of somebody who entered the demonstration, as text."""
    context = chromium.new_context()
    page = context.new_page()
    page.goto(shown.link)
    cookie = context.cookies()[0]
    context.close()
    return f"{cookie['name']}={cookie['value']}"


@pytest.fixture
def context(chromium: Browser, shown: Served, entered: str) -> Iterator[BrowserContext]:
    """A window of 1440 by 900 in the demonstration clinic."""
    made = chromium.new_context(viewport={"width": 1440, "height": 900})
    name, _, value = entered.partition("=")
    made.add_cookies([{"name": name, "value": value, "url": shown.address, "sameSite": "Strict"}])
    yield made
    made.close()


@pytest.fixture
def page(context: BrowserContext) -> Page:
    return context.new_page()


@pytest.fixture
def clinic(tmp_path: Path) -> Iterator[Served]:
    """A clinic of its own, to be written into."""
    served = serve(tmp_path)
    yield served
    served.stop()


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """What the program said stands below a test that failed."""
    report = yield
    for served in (value for value in getattr(item, "funcargs", {}).values() if isinstance(value, Served)):
        report.sections.append(("what the program said", "\n".join(served.lines)))
    return report

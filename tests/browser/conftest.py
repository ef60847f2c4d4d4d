"""One headless Chromium for each module of tests of pages; what a page asks of the net is refused and counted."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field

import pytest
from playwright.sync_api import Browser, Page, Route, sync_playwright

NAMES = ("chromium", "chromium-browser", "google-chrome")
MISSING = 'no Chromium: install the package "chromium" of your system; tests/run does so when it runs as root'


# Not for the whole run: while it is open its event loop runs, and tests with one of their own would fail beside it.
@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    path = next(filter(None, map(shutil.which, NAMES)), None)
    if path is None:
        pytest.fail(MISSING, pytrace=False)
    with sync_playwright() as player:
        started = player.chromium.launch(executable_path=path)
        yield started
        started.close()


@dataclass
class Watched:
    """A page, and what it tried: addresses asked for, dialogs opened, errors of scripts."""

    page: Page
    asked: list[str] = field(default_factory=list)
    dialogs: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)

    def show(self, body: str) -> Page:
        self.page.set_content(body, wait_until="load")
        return self.page


@pytest.fixture
def watched(browser: Browser) -> Iterator[Watched]:
    context = browser.new_context(locale="en-GB")
    seen = Watched(context.new_page())

    def refuse(route: Route) -> None:
        seen.asked.append(route.request.url)
        route.abort()

    context.route("**/*", refuse)
    seen.page.on("dialog", lambda dialog: (seen.dialogs.append(dialog.message), dialog.dismiss()))
    seen.page.on("pageerror", lambda error: seen.errors.append(str(error)))
    yield seen
    context.close()

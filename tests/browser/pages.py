"""What both kinds of pages are held against: the strict parser, and axe-core."""

from __future__ import annotations

import html5lib
from axe_playwright_python.sync_playwright import Axe

from tests.browser.conftest import Watched


def parsed(body):
    """Parse as the HTML standard says; any error of the page is raised."""
    return html5lib.HTMLParser(strict=True).parse(body)


def barriers(watched: Watched):
    """Return each rule of axe-core that the page breaks, with the elements that break it."""
    found = Axe().run(watched.page).response
    assert len(found["passes"]) > 5, "axe looked at next to nothing"
    return [(rule["id"], [node["html"] for node in rule["nodes"]]) for rule in found["violations"]]

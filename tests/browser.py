"""A real headless Chromium for tests that look at pages as a reader does.

``open_page`` is a fixture (imported by the tests that use it): it opens a file, notes every console message, script
error and request that leaves the file system, and hands back the page with those notes. Without a Chromium the tests
are skipped with that reason, unless ``TRENDWRIGHT_REQUIRE_BROWSER=1`` says that one must be there.
"""

from __future__ import annotations

import importlib
import os
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

REQUIRE = "TRENDWRIGHT_REQUIRE_BROWSER"
# Nothing but the page may speak to a network, the browser's own errands included.
ARGUMENTS = [
    "--no-sandbox",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")


@dataclass
class Visit:
    """An open page, and what it did that it should not have."""

    page: object
    complaints: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)

    def go(self, path: Path, hash: str = "") -> None:
        """Open a file of the report and wait until its script has drawn."""
        # From another page: a changed hash alone would not load the file again.
        self.page.goto("about:blank")
        self.page.goto(path.as_uri() + hash)
        self.page.wait_for_selector("html[data-drawn]", timeout=20_000)

    def assert_clean(self) -> None:
        """No console message, no script error, no request beyond the file system."""
        assert self.complaints == []
        assert [url for url in self.requests if not url.startswith(("file:", "data:", "about:"))] == []

    def assert_accessible(self) -> None:
        """An accessibility checker has nothing to say of the page; open it with ``bypass_csp=True``: it is a script."""
        found = require("axe_playwright_python.sync_playwright").Axe().run(self.page).response["violations"]
        assert [(v["id"], [node["html"][:120] for node in v["nodes"]]) for v in found] == []

    def assert_scrolls_down_only(self) -> None:
        """Nothing of the page lies beside the window."""
        assert self.page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def require(module: str):
    """Import a module that a browser test needs, or skip (fail, where a browser is required)."""
    try:
        return importlib.import_module(module)
    except ImportError:
        return _missing(f"{module.partition('.')[0]} is not installed")


def _missing(reason: str) -> None:
    if os.environ.get(REQUIRE) == "1":
        pytest.fail(f"{REQUIRE}=1, but {reason}")
    pytest.skip(reason)


def chromium_path() -> str | None:
    """Return the Chromium to use: ``TRENDWRIGHT_CHROMIUM``, or the first one on the path."""
    return os.environ.get("TRENDWRIGHT_CHROMIUM") or next(filter(None, map(shutil.which, NAMES)), None)


@pytest.fixture(scope="session")
def chromium() -> Iterator[object]:
    """A headless Chromium for the whole session."""
    playwright_api = require("playwright.sync_api")
    path = chromium_path()
    if path is None:
        _missing(f"no Chromium is on the path ({', '.join(NAMES)}) and TRENDWRIGHT_CHROMIUM names none")
    with playwright_api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def open_page(chromium) -> Iterator[object]:
    """A function that opens a new page: ``open_page(width=1280, height=900, scheme="light")`` -> Visit."""
    contexts = []

    def open_one(*, width: int = 1280, height: int = 900, scheme: str = "light", **options) -> Visit:
        context = chromium.new_context(viewport={"width": width, "height": height}, color_scheme=scheme, **options)
        contexts.append(context)
        visit = Visit(context.new_page())
        visit.page.on("console", lambda message: visit.complaints.append(f"{message.type}: {message.text}"))
        visit.page.on("pageerror", lambda error: visit.complaints.append(f"script error: {error}"))
        visit.page.on("request", lambda request: visit.requests.append(request.url))
        return visit

    yield open_one
    for context in contexts:
        context.close()

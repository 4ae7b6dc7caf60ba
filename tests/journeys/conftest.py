"""A browser, pages that must stay silent, and a workbench served over empty records.

Journeys need Chromium on the PATH or named by LAYDOWN_CHROMIUM; they are left out loudly where there is none.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import Browser, BrowserContext, ConsoleMessage, Page, sync_playwright

from laydown.records.ledger import Records
from served_bench import ServedBench, served_bench
from ticking_clock import Clock

FLAGS = [
    "--no-sandbox",
    "--headless=new",
    "--disable-gpu",
    "--enable-unsafe-swiftshader",  # WebGL without a graphics card
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
DESK = {"width": 1280, "height": 900}
PHONE = {"width": 390, "height": 844}
PATIENCE_MS = 90_000


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    found = os.environ.get("LAYDOWN_CHROMIUM") or next(
        filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None
    )
    if not found:
        pytest.skip("LEFT OUT: no Chromium on the PATH; name one with LAYDOWN_CHROMIUM")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=FLAGS)
        yield browser
        browser.close()


@dataclass
class Visitors:
    """Opens browsers of their own at a workbench, and watches that their pages stay silent."""

    browser: Browser
    complaints: list[str] = field(default_factory=list)
    contexts: list[BrowserContext] = field(default_factory=list)

    def come(self, address: str, *, network_may_fail: bool = False, **options: Any) -> Page:
        """A page of somebody who has not been there; ``options`` are those of a browser's context."""
        options = {"viewport": DESK, "reduced_motion": "reduce", **options}
        context = self.browser.new_context(base_url=address, **options)
        context.set_default_timeout(PATIENCE_MS)
        self.contexts.append(context)
        page = context.new_page()
        self.watch(page, address, network_may_fail=network_may_fail)
        return page

    def leave(self) -> None:
        """Close every browser."""
        for context in self.contexts:
            context.close()

    def watch(self, page: Page, address: str, *, network_may_fail: bool = False) -> None:
        """Note every error, everything refused, and everything asked of any other server."""

        def on_console(message: ConsoleMessage) -> None:
            # That an answer refuses something is no complaint of the page: it shows why. Warnings of the
            # graphics driver are about this machine.
            told = any(f"status of {status}" in message.text for status in (400, 403, 422))
            told = told or (network_may_fail and "net::ERR_" in message.text)
            if (message.type == "error" or "Content Security Policy" in message.text) and not told:
                self.complaints.append(f"console: {message.text}")

        def on_request(url: str) -> None:
            if urlsplit(url).scheme not in {"data", "blob"} and not url.startswith(address):
                self.complaints.append(f"asked elsewhere: {url}")

        page.on("console", on_console)
        page.on("pageerror", lambda error: self.complaints.append(f"script: {error}"))
        page.on("request", lambda request: on_request(request.url))


@pytest.fixture
def visitors(browser: Browser) -> Iterator[Visitors]:
    visitors = Visitors(browser)
    yield visitors
    visitors.leave()
    assert visitors.complaints == []


@pytest.fixture(scope="session")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedBench]:
    """One workbench for all journeys; ``clock`` puts empty records behind it."""
    with served_bench(tmp_path_factory.mktemp("served")) as bench:
        yield bench


@pytest.fixture
def clock(served: ServedBench, empty_sqlite: Path, tmp_path: Path) -> Clock:
    """The clock of the empty records that are served: Monday 2 March 2026, 9:00 UTC."""
    return served.fresh(empty_sqlite, tmp_path)


@pytest.fixture
def records(served: ServedBench, clock: Clock) -> Records:
    """The records that are served, empty."""
    return served.records


@pytest.fixture
def page(visitors: Visitors, served: ServedBench, records: Records) -> Page:
    """A page at a desk."""
    return visitors.come(served.address)


@pytest.fixture
def phone(visitors: Visitors, served: ServedBench, records: Records) -> Page:
    """A page on a telephone, whose network may go away."""
    return visitors.come(served.address, network_may_fail=True, viewport=PHONE, has_touch=True)

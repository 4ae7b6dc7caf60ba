"""A browser, pages that must stay silent, and a workbench served over empty records.

Journeys need Chromium on the PATH or named by LAYDOWN_CHROMIUM; they are left out loudly where there is none.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright
from visitors import PHONE, Visitors

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

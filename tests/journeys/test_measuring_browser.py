"""Measuring a trial in Chromium: files dropped, a question answered, the comparison opened.

Needs Chromium on the PATH or named by LAYDOWN_CHROMIUM; left out loudly where there is none.
"""

from __future__ import annotations

import base64
import os
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import numpy as np
import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, ConsoleMessage, Page, expect, sync_playwright

from laydown.science.readings import read_measurements
from laydown.trials.sheets import Sheet
from laydown.usecases.demo_trial import build_demo_trial
from laydown.usecases.measuring.mended_file import mended_file
from laydown.usecases.measuring.parsed_file import HandedIn
from served_bench import ServedBench, served_bench
from spring_trial import Spring, scans_of, spring_trial

pytestmark = pytest.mark.browser

FLAGS = [
    "--no-sandbox",
    "--headless=new",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]
WIDTHS = (1280, 820, 390)
PATIENCE_MS = 90_000
DROP = """([zone, files]) => {
    const held = new DataTransfer();
    for (const [name, content] of files) {
        const bytes = Uint8Array.from(atob(content), (sign) => sign.charCodeAt(0));
        held.items.add(new File([bytes], name));
    }
    for (const kind of ["dragenter", "dragover", "drop"])
        zone.dispatchEvent(new DragEvent(kind, { dataTransfer: held, bubbles: true, cancelable: true }));
}"""


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    path = os.environ.get("LAYDOWN_CHROMIUM") or next(
        filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None
    )
    if not path:
        pytest.skip("LEFT OUT: no Chromium on the PATH; name one with LAYDOWN_CHROMIUM")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedBench]:
    with served_bench(tmp_path_factory.mktemp("measuring")) as bench:
        yield bench


@pytest.fixture
def spring(served: ServedBench, empty_sqlite: Path, tmp_path: Path) -> Spring:
    served.fresh(empty_sqlite, tmp_path)
    return spring_trial(served.records)


@pytest.fixture
def page(browser: Browser, served: ServedBench, spring: Spring) -> Iterator[Page]:
    """A page that must stay silent: no error, nothing refused, nothing asked of any other server."""
    complaints: list[str] = []

    def on_console(message: ConsoleMessage) -> None:
        # That an answer says 422 is no complaint of the page: it shows why.
        if message.type == "error" and "422" not in message.text:
            complaints.append(message.text)

    def on_request(url: str) -> None:
        if urlsplit(url).scheme not in {"data", "blob"} and not url.startswith(served.address):
            complaints.append(f"asked elsewhere: {url}")

    context = browser.new_context(viewport={"width": 1280, "height": 900})
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    page.on("console", on_console)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("request", lambda request: on_request(request.url))
    yield page
    context.close()
    assert complaints == []


@pytest.fixture(scope="module")
def files() -> list[HandedIn]:
    """M1 of the six sheets; K4 was read upside down."""
    good = scans_of(build_demo_trial(), conditions=("M1",))
    tables = read_measurements(good[2].content, file="K4").tables
    turned = mended_file(tables, np.arange(len(tables[0]))[::-1], words="read upside down")
    return [*good[:2], HandedIn(good[2].name, turned), *good[3:]]


def drop(page: Page, files: list[HandedIn]) -> None:
    zone = page.locator(".drop-zone").element_handle()
    content = [[one.name, base64.b64encode(one.content).decode()] for one in files]
    page.evaluate(DROP, [zone, content])


def test_files_are_dropped_a_doubt_answered_and_the_sheets_compared(
    page: Page, served: ServedBench, spring: Spring, files: list[HandedIn]
) -> None:
    page.goto(f"{served.address}trials/spring/measure")
    expect(page.get_by_role("heading", name="Ready to be measured")).to_be_visible()
    drop(page, [*files, HandedIn("delivery note.txt", b"One roll of rag.\n")])
    report = page.get_by_role("alert")
    expect(report).to_contain_text("6 files were kept. 1 was not taken")
    expect(report).to_contain_text("delivery note.txt: this text does not look like measurements")
    question = page.locator(".question-card")
    expect(question).to_contain_text("Was the sheet turned round?")
    expect(question).to_contain_text("not used until answered")
    question.get_by_role("button", name="Turn the sheet round").click()
    expect(page.get_by_role("status").first).to_contain_text("“Turn the sheet round” about scan K4-M1.txt")
    expect(page.locator(".question-card")).to_have_count(0)
    page.get_by_role("link", name="Compare the sheets").first.click()
    expect(page.get_by_text("3 sheets: K2, K3, K4")).to_be_visible()
    page.get_by_role("link", name="Show the comparison").click()
    expect(page.get_by_role("heading", name="The answer")).to_be_visible(timeout=PATIENCE_MS)
    expect(page.locator(".answer")).to_contain_text("Samphire Gloss against Fenland Rag (house): better in")
    assert page.url.endswith("/comparisons/trial-spring-medium")
    page.get_by_role("link", name="Spring trial: measure").click()
    page.get_by_role("link", name="scan K4-M1.txt").click()
    expect(page.get_by_role("link", name="Its mended copy")).to_be_visible()


def test_a_code_in_a_folders_name_counts_and_undo_is_at_hand(
    page: Page, served: ServedBench, spring: Spring, files: list[HandedIn]
) -> None:
    page.goto(f"{served.address}trials/spring/measure")
    drop(page, [HandedIn("H5/export.txt", files[3].content)])
    expect(page.get_by_role("status").first).to_contain_text("received 1 reading: H5")
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("status").first).to_contain_text("undid")
    assert spring.facts.readings == ()


def test_every_page_fits_and_can_be_used_by_all(
    page: Page, served: ServedBench, spring: Spring, files: list[HandedIn]
) -> None:
    from laydown.usecases.measuring.attach_readings import attach_readings

    loose = HandedIn(
        "export.csv", b"id,R,G,B,L,a,b\n1,255,255,255,95,0,1\n2,0,0,0,16,0,0\n3,255,0,0,48,66,45\n"
    )
    attach_readings(spring.records, "spring", [*files, loose], who="Ada")
    spring.keep(Sheet(id="s-L5", trial_id="spring", candidate_id="c-rag", code="L5", place=9))
    reading = spring.readings("K4")[0]
    addresses = (
        "trials/spring/measure",
        f"trials/spring/readings/{reading.id}",
        "trials/spring/typed?form=densities",
        "trials/spring/typed?form=Lab",
        "trials/spring/comparisons?by=age",
    )
    for address in addresses:
        for width in WIDTHS:
            page.set_viewport_size({"width": width, "height": 900})
            page.goto(served.address + address)
            wide = page.evaluate(
                "document.documentElement.scrollWidth - document.documentElement.clientWidth"
            )
            assert wide == 0, (address, width)
        found = Axe().run(page).response["violations"]
        grave = [
            f"{v['id']}: {v['help']} {[n['target'] for n in v['nodes'][:3]]}"
            for v in found
            if v["impact"] in {"serious", "critical"}
        ]
        assert grave == [], address
        colours = page.evaluate(
            "[...new Set([...document.querySelectorAll('*')].flatMap((e) => { const s = getComputedStyle(e);"
            " return [s.color, s.backgroundColor, s.borderTopColor]; }))]"
        )
        for colour in colours:
            red, green, blue = (int(part) for part in re.findall(r"\d+", colour)[:3])
            assert red == green == blue, (address, colour)

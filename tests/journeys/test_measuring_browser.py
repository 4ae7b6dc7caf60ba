"""Measuring a trial in Chromium: files dropped, a question answered, the comparison opened."""

from __future__ import annotations

import base64

import numpy as np
import pytest
from page_checks import everybody_can_use, fits, is_grey
from playwright.sync_api import Page, expect
from visitors import PATIENCE_MS

from laydown.records.ledger import Records
from laydown.science.readings import read_measurements
from laydown.trials.sheets import Sheet
from laydown.usecases.demo_trial import build_demo_trial
from laydown.usecases.measuring.attach_readings import attach_readings
from laydown.usecases.measuring.mended_file import mended_file
from laydown.usecases.measuring.parsed_file import HandedIn
from spring_trial import Spring, scans_of, spring_trial

pytestmark = pytest.mark.browser

WIDTHS = (1280, 820, 390)
DROP = """([zone, files]) => {
    const held = new DataTransfer();
    for (const [name, content] of files) {
        const bytes = Uint8Array.from(atob(content), (sign) => sign.charCodeAt(0));
        held.items.add(new File([bytes], name));
    }
    for (const kind of ["dragenter", "dragover", "drop"])
        zone.dispatchEvent(new DragEvent(kind, { dataTransfer: held, bubbles: true, cancelable: true }));
}"""


@pytest.fixture
def spring(records: Records) -> Spring:
    return spring_trial(records)


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
    page: Page, spring: Spring, files: list[HandedIn]
) -> None:
    page.goto("/trials/spring/measure")
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
    page: Page, spring: Spring, files: list[HandedIn]
) -> None:
    page.goto("/trials/spring/measure")
    drop(page, [HandedIn("H5/export.txt", files[3].content)])
    expect(page.get_by_role("status").first).to_contain_text("received 1 reading: H5")
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("status").first).to_contain_text("undid")
    assert spring.facts.readings == ()


def test_every_page_fits_and_can_be_used_by_all(page: Page, spring: Spring, files: list[HandedIn]) -> None:
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
            page.goto(f"/{address}")
            fits(page)
        everybody_can_use(page)
        is_grey(page)

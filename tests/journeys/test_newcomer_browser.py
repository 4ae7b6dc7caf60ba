"""A newcomer in Chromium: from the empty first page into a trial; stock booked in, undone, found again."""

from __future__ import annotations

from pathlib import Path

import pytest
from page_checks import everybody_can_use, fits
from playwright.sync_api import Page, expect

from laydown.records.ledger import Records
from laydown.trials.stock import Roll
from laydown.usecases.trial.seed_demo import DEMO_TRIAL_ID, seed_demo

pytestmark = pytest.mark.browser

WIDTHS = (1280, 820, 390)
MINE = (
    "",
    "?shelf=trash",
    "trials/new",
    f"trials/{DEMO_TRIAL_ID}",
    f"trials/{DEMO_TRIAL_ID}/edit",
    f"trials/{DEMO_TRIAL_ID}/look",
    f"trials/{DEMO_TRIAL_ID}/last",
    "stock",
    "stock/book-in",
    "stock/media/demo-medium-withy",
    "stock/media/demo-medium-withy/edit",
    "stock/rolls/demo-roll-withy",
    "stock/suppliers",
    "printers/demo-printer",
    "certificates/demo-certificate",
    "studio",
    "search?q=withy",
)


def test_from_the_empty_first_page_into_the_demo_and_back(page: Page, records: Records) -> None:
    page.goto("/")
    everybody_can_use(page)
    page.get_by_role("button", name="Open the demo trial").click()
    page.wait_for_url(f"**/trials/{DEMO_TRIAL_ID}?done=*")
    expect(page.get_by_role("status")).to_contain_text("opened the demo trial")
    expect(page.locator(".next-step")).to_contain_text("Measure what is ready.")
    page.get_by_role("heading", name="Notes and files").scroll_into_view_if_needed()
    picture = page.locator("#notes img").first
    picture.scroll_into_view_if_needed()
    page.wait_for_function("document.querySelector('#notes img').naturalWidth > 0")
    page.get_by_role("link", name="Laydown", exact=True).click()
    line = page.locator(".trial-line")
    expect(line).to_have_count(1)
    expect(line.locator(".tag")).to_have_text("invented")
    line.get_by_role("link", name="Measure what is ready.").click()
    page.wait_for_url(f"**/trials/{DEMO_TRIAL_ID}/measure")


def test_printer_and_delivery_are_booked_in_used_and_undone(page: Page, records: Records) -> None:
    page.goto("/printers/new")
    page.get_by_label("Name").fill("Plover 24")
    page.get_by_role("button", name="Add").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Plover 24")
    page.get_by_role("navigation", name="Workbench").get_by_role("link", name="Stock room").click()
    page.get_by_role("link", name="Book in a delivery").click()
    page.get_by_label("Name of the new medium").fill("Fenland Rag")
    page.get_by_role("button", name="Book it in").click()  # the browser itself asks for the lot
    assert page.url.endswith("/stock/book-in")
    page.get_by_label("Lot or batch").fill("FR-1")
    page.get_by_label("Width", exact=True).fill("17 in")
    page.get_by_label("Length of a roll").fill("20 ft")
    page.get_by_role("button", name="Book it in").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Roll 1")
    page.get_by_label("Taken", exact=True).fill("7 m")
    page.get_by_role("button", name="Note it").click()
    expect(page.get_by_role("alert")).to_contain_text("more than the 6.10 m that should be left")
    page.get_by_label("Taken", exact=True).fill("1.1 m")
    page.get_by_role("button", name="Note it").click()
    expect(page.locator(".left-words")).to_have_text("5 m of 6.1 m left")
    page.locator(".stock-deeds").get_by_role("button", name="Take away").click()
    expect(page.get_by_role("status")).to_contain_text(
        "took away roll 1 of lot FR-1 of Fenland Rag with 1 use"
    )
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("link", name="Fenland Rag")).to_be_visible()
    with records.look() as look:
        assert [roll.code for roll in look.find(Roll)] == ["1"]
    page.get_by_role("searchbox", name="Search everything").fill("fr-1")
    page.keyboard.press("Enter")
    page.get_by_role("link", name="Lot FR-1").click()
    expect(page.get_by_role("heading", level=1)).to_have_text("Lot FR-1")


def test_a_trial_gets_a_note_and_a_drawing(page: Page, tmp_path: Path) -> None:
    page.goto("/trials/new")
    page.get_by_label("Name").fill("Spring editions")
    page.get_by_role("button", name="Begin").click()
    page.get_by_label("Note", exact=True).fill("The room was at 38 %.")
    page.get_by_role("button", name="Keep the note").click()
    expect(page.locator(".remark-words")).to_have_text("The room was at 38 %.")
    page.get_by_text("Attach a photograph or a file").click()
    drawing = tmp_path / "mark.svg"
    drawing.write_bytes(b"<svg xmlns='x'/>")
    page.get_by_label("Files", exact=True).set_input_files(drawing)
    page.get_by_role("button", name="Attach", exact=True).click()
    link = page.locator(".file-list").get_by_role("link", name="mark.svg")
    with page.expect_download() as download:  # it may hold a script, so it is saved and never shown
        link.click()
    assert Path(download.value.path()).read_bytes() == drawing.read_bytes()


def test_the_box_to_search_looks_alike_on_every_page(page: Page, records: Records) -> None:
    seed_demo(records)
    looks = set()
    for path in ("", "stock", "board", f"trials/{DEMO_TRIAL_ID}/print", "retraces/new", "comparisons", "new"):
        page.goto(f"/{path}")
        box = page.get_by_role("searchbox", name="Search everything")
        style = box.evaluate("e => [getComputedStyle(e).borderWidth, getComputedStyle(e).fontSize]")
        looks.add((*style, page.locator(".top").evaluate("e => e.clientHeight")))
    assert len(looks) == 1, looks


def test_every_page_fits_and_can_be_used_by_all(page: Page, records: Records) -> None:
    seed_demo(records)
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        for path in MINE:
            page.goto(f"/{path}")
            fits(page)
            if width == WIDTHS[0]:
                everybody_can_use(page)

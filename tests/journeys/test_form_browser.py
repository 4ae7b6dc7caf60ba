"""A test form in Chromium: designed, looked at, made, its files saved; at a desk and on a phone."""

from __future__ import annotations

from pathlib import Path

import pytest
import tifffile
from page_checks import everybody_can_use, fits, is_grey
from playwright.sync_api import Page, expect
from visitors import DESK, PHONE, Visitors

from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.science.readings.target import read_target
from served_bench import ServedBench
from stocked_room import TRIAL, Room, stock_up

pytestmark = pytest.mark.browser

HOME = f"/trials/{TRIAL}"


@pytest.fixture(params=[DESK, PHONE], ids=["desk", "phone"])
def page(request: pytest.FixtureRequest, visitors: Visitors, served: ServedBench, records: Records) -> Page:
    stock_up(records)
    Room(records).candidate("fenland", house=True)
    return visitors.come(served.address, viewport=request.param)


def looks_right(page: Page) -> None:
    fits(page)
    if page.viewport_size == PHONE:  # what axe-core finds there it finds at a desk, and it takes its time
        everybody_can_use(page)
        is_grey(page)


def opened(page: Page, words: str) -> None:
    page.locator(".design-form summary", has_text=words).click()


def test_from_the_plan_to_files_for_printer_and_reader(page: Page, records: Records, tmp_path: Path) -> None:
    page.goto(f"{HOME}/plan")
    page.get_by_role("link", name="Test form", exact=True).click()
    looks_right(page)
    page.get_by_role("link", name="Design the form").click()
    looks_right(page)
    design_and_look(page)
    page.get_by_role("button", name="Make this form").click()
    expect(page.get_by_role("heading", name="Form F7K2")).to_be_visible()
    looks_right(page)
    save_and_check(page, tmp_path)
    set_aside_and_undo(page)
    with records.look() as look:
        (form,) = load_facts(look, TRIAL).forms
    assert form.wish.own_colours == ((200, 16, 46),)
    assert form.wish.parts == ("length marks", "bare window")


def design_and_look(page: Page) -> None:
    expect(page.get_by_label("Width of the page")).to_have_value("422 mm")
    page.get_by_label("Read with").select_option("spot reader")
    page.get_by_label("Number of patches").fill("nine")
    opened(page, "Your own critical colours")
    page.get_by_label("One on each line").fill("house red: 200 16 46")
    opened(page, "Named inks, bare edge, code")
    page.get_by_label("Code").fill("F7K2")
    opened(page, "Parts that are scanned")
    for box in page.locator("input[name=part]").all():
        box.set_checked(box.get_attribute("value") in {"length marks", "bare window"})
    opened(page, "Pictures made by rule")
    for box in page.locator("input[name=scene]").all():
        box.uncheck()
    # The Enter key looks, and what is refused stays as it was typed.
    page.get_by_label("Number of patches").press("Enter")
    expect(page.get_by_role("alert")).to_contain_text("nine")
    expect(page.locator(".said")).to_contain_text("needs of a spot reader")
    looks_right(page)
    page.get_by_label("Number of patches").fill("100")
    page.get_by_role("button", name="Look at it").last.click()
    expect(page.get_by_role("heading", name="1 page, 100 patches")).to_be_visible()
    expect(page.locator(".foretold-table")).to_contain_text("Gamut volume")
    image = page.get_by_alt_text("Device page D1 as it would be printed")
    image.scroll_into_view_if_needed()
    expect(image).to_have_js_property("complete", True)
    assert image.evaluate("(img) => img.naturalWidth") == 720
    looks_right(page)


def save_and_check(page: Page, folder: Path) -> None:
    with page.expect_download() as saving:
        page.get_by_role("button", name="Save page D1").click()
    assert saving.value.suggested_filename == "F7K2-D1.tif"
    saving.value.save_as(folder / "page.tif")
    with tifffile.TiffFile(folder / "page.tif") as file:
        # 432 mm of roll without 5 mm a side, at 360 ppi, in 8 bits, without a profile.
        assert file.pages[0].shape[1] == round(422 / 25.4 * 360)
        assert file.pages[0].dtype == "uint8"
        assert "InterColorProfile" not in file.pages[0].tags
    with page.expect_download() as saving:
        page.get_by_role("link", name="Save the reference").click()
    saving.value.save_as(folder / "reference.txt")
    target = read_target((folder / "reference.txt").read_bytes(), file="reference.txt")
    assert len(target.ids) == 100
    assert target.channels == ("R", "G", "B")


def set_aside_and_undo(page: Page) -> None:
    page.get_by_text("Set it aside").first.click()
    page.get_by_label("Why").fill("one roll is narrower")
    page.get_by_role("button", name="Set it aside").click()
    expect(page.get_by_text("one roll is narrower Print nothing more")).to_be_visible()
    looks_right(page)
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("button", name="Save everything")).to_be_visible()
    expect(page.get_by_text("Print nothing more")).to_have_count(0)

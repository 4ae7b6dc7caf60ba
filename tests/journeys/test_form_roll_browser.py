"""Laying a form out on the roll in Chromium, at a desk and on a phone."""

from __future__ import annotations

import pytest
from page_checks import everybody_can_use, fits, is_grey
from playwright.sync_api import Page, expect
from visitors import DESK, PHONE, Visitors

from drawn_forms import a_drawn_form
from laydown.records.ledger import Records
from laydown.trials.trial import Plan
from laydown.usecases.forms.keep_form import keep_form
from laydown.usecases.trial.draw_sheets import draw_sheets
from served_bench import ServedBench
from stocked_room import TRIAL, Room, stock_up

pytestmark = pytest.mark.browser


@pytest.fixture(params=[DESK, PHONE], ids=["desk", "phone"])
def page(request: pytest.FixtureRequest, visitors: Visitors, served: ServedBench, records: Records) -> Page:
    stock_up(records)
    room = Room(records)
    room.candidate("fenland", house=True)
    room.candidate("tidemill")
    plan = Plan(id="", trial_id=TRIAL, sheets_per_candidate=2, why="enough", days=2)
    draw_sheets(records, TRIAL, told=plan, who="Ada")
    keep_form(records, TRIAL, a_drawn_form(), who="Ada")
    return visitors.come(served.address, viewport=request.param)


def test_from_the_material_to_the_stickers(page: Page) -> None:
    page.goto(f"/trials/{TRIAL}/plan/material")
    page.get_by_role("link", name="Lay the test form out on the roll").click()
    expect(page.get_by_role("heading", name="On the roll")).to_be_visible()
    fits(page)
    is_grey(page)
    everybody_can_use(page)
    page.get_by_label("Candidate").select_option(label="Tidemill")
    page.get_by_label("Laid out").select_option(label="all in one load, to save leads and tails")
    page.get_by_label("spares", exact=True).check()
    page.get_by_role("button", name="Lay it out").click()
    expect(page.get_by_role("heading", name="All in one load")).to_be_visible()
    expect(page.get_by_text("Randomisation is lost: with all prints in one load")).to_be_visible()
    expect(page.get_by_label("Candidate").locator("option:checked")).to_have_text("Tidemill")
    fits(page)
    page.get_by_text("Piece by piece").last.click()
    fits(page)
    href = page.get_by_role("link", name="Cut list (PDF)").get_attribute("href")
    assert href is not None
    answer = page.request.get(href)
    assert answer.headers["content-type"] == "application/pdf"

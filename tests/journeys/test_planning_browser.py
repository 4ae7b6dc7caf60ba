"""Planning a trial in Chromium: brief, seal, candidates, numbers, order; at a desk and on a phone."""

from __future__ import annotations

import pytest
from page_checks import everybody_can_use, fits
from playwright.sync_api import Page, expect
from visitors import DESK, PHONE, Visitors

from laydown.records.ledger import Records
from laydown.records.trial_facts import load_facts
from laydown.trials.seals import seal_holds
from served_bench import ServedBench
from stocked_room import TRIAL, stock_up

pytestmark = pytest.mark.browser

HOME = f"/trials/{TRIAL}"
PROFILE = bytes(36) + b"acsp" + bytes(88) + b"curves"


@pytest.fixture(params=[DESK, PHONE], ids=["desk", "phone"])
def page(request: pytest.FixtureRequest, visitors: Visitors, served: ServedBench, records: Records) -> Page:
    stock_up(records)
    return visitors.come(served.address, viewport=request.param)


def looks_right(page: Page) -> None:
    fits(page)
    if page.viewport_size == PHONE:  # what axe-core finds there it finds at a desk, and it takes its time
        everybody_can_use(page)


def test_from_brief_to_print_order(page: Page, records: Records) -> None:
    write_and_seal(page)
    name_candidates(page)
    set_recipe_and_take_it_over(page)
    choose_and_draw(page)
    for part in ("plan/material", "plan/calendar", "brief"):
        page.goto(f"{HOME}/{part}")
        looks_right(page)
    with records.look() as look:
        facts = load_facts(look, TRIAL)
    assert facts.brief is not None
    assert facts.plan is not None
    assert seal_holds(facts.brief)
    assert [one.name for one in facts.brief.gates] == ["No flakes"]
    assert [(one.name, one.weight) for one in facts.brief.criteria] == [
        ("Black", 30.0),
        ("Look in the display light", 30.0),
    ]
    assert [(one.name, one.house, one.finish) for one in facts.candidates] == [
        ("Fenland Rag", True, "uncoated"),
        ("Tidemill Rag", False, "uncoated"),
        ("Fenland Rag, coated", False, "coated"),
    ]
    assert facts.candidates[1].recipe == facts.candidates[0].recipe
    assert facts.plan.sheets_per_candidate == 4
    assert sum(sheet.use == "test" for sheet in facts.sheets) == 12


def write_and_seal(page: Page) -> None:
    page.goto(f"{HOME}/brief")
    looks_right(page)
    page.get_by_role("link", name="Write the brief").click()
    looks_right(page)
    page.get_by_label("The question, in one sentence").fill("Is there a rag as good as ours for less?")
    page.get_by_label("framed paper", exact=True).check()
    page.get_by_label("Criterion 1", exact=True).fill("Black")
    page.get_by_label("Weight 1", exact=True).fill("30")
    page.get_by_label("Finding 1", exact=True).select_option("Dmax visual")
    for part in ("gates", "criteria"):
        page.locator(f"#{part} summary").click()
    page.get_by_label("No flakes").check()
    page.get_by_label("Look in the display light").check()
    # More rows come with what was ticked; nothing typed is lost.
    page.locator("#criteria").get_by_role("button", name="Add what is ticked").click()
    expect(page.get_by_label("Criterion 2", exact=True)).to_have_value("Look in the display light")
    expect(page.locator("#criteria")).to_contain_text("50 %")
    # The Enter key keeps the draft and does not ask for rows.
    page.get_by_label("Sizes").press("Enter")
    expect(page.get_by_text("A draft, not sealed yet.")).to_be_visible()
    page.get_by_role("link", name="Read through and seal").click()
    looks_right(page)
    page.get_by_role("button", name="Seal this brief").click()
    expect(page.locator(".sealed")).to_contain_text("Sealed on 2 March 2026")


def name_candidates(page: Page) -> None:
    page.goto(f"{HOME}/plan")
    looks_right(page)
    page.get_by_role("link", name="Candidates").last.click()
    for medium, house in (("Fenland Rag", True), ("Tidemill Rag", False)):
        choice = page.get_by_label("From the stock room")
        value = page.locator(f"option:has-text('{medium}, lot L1, roll, ')").get_attribute("value")
        choice.select_option(value)
        page.get_by_label("Printer").select_option("Wide one")
        page.get_by_label("This is the house medium").set_checked(house)
        page.get_by_role("button", name="Add the candidate").click()
        expect(page.get_by_role("heading", name=medium)).to_be_visible()
    page.get_by_role("button", name="Add its coated arm Fenland Rag").click()
    expect(page.get_by_role("heading", name="Fenland Rag, coated")).to_be_visible()
    looks_right(page)


def set_recipe_and_take_it_over(page: Page) -> None:
    page.get_by_role("link", name="Fenland Rag", exact=True).click()
    looks_right(page)
    page.get_by_label("Media setting", exact=True).fill("Rag, heavy")
    page.get_by_label("Direction").select_option("one way")
    page.get_by_label("application").check()
    page.get_by_label("Its file").set_input_files(
        {"name": "rag.icc", "mimeType": "application/vnd.iccprofile", "buffer": PROFILE}
    )
    page.get_by_role("button", name="Keep the recipe").click()
    expect(page.get_by_text("rag.icc, kept")).to_be_visible()
    page.get_by_role("link", name="Candidates").first.click()
    page.get_by_role("link", name="Tidemill Rag", exact=True).click()
    page.get_by_role("link", name="Take a recipe over").click()
    page.get_by_role("button", name="Show what would change").click()
    expect(page.get_by_role("row", name="Direction not stated one way")).to_be_visible()
    looks_right(page)
    page.get_by_role("button", name="Take it over").click()
    expect(page.get_by_label("Media setting", exact=True)).to_have_value("Rag, heavy")


def choose_and_draw(page: Page) -> None:
    page.goto(f"{HOME}/plan")
    page.get_by_role("radio", name="4 sheets of each").check()
    page.get_by_label("Why so many").fill("Four tell the black we care about.")
    page.get_by_role("button", name="Keep", exact=False).first.click()
    page.get_by_role("link", name="On to the print order").click()
    looks_right(page)
    page.get_by_role("radio", name="Randomised, grouped within day").check()
    page.get_by_role("button", name="Draw the order").click()
    expect(page.locator(".turn")).to_have_count(12)
    drawn = page.locator(".sheet-code").all_inner_texts()
    looks_right(page)
    page.get_by_text("Draw again, while nothing is printed").click()
    page.get_by_label("Seed").fill("23")
    page.get_by_role("button", name="Draw again").click()
    expect(page.locator(".section-head")).to_contain_text("23")
    assert page.locator(".sheet-code").all_inner_texts() != drawn
    page.get_by_role("button", name="Undo").click()
    assert page.locator(".sheet-code").all_inner_texts() == drawn

"""A newcomer's own trial in Chromium: from the empty first page to an answer, by clicking alone."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from playwright.sync_api import FilePayload, Page, expect
from visitors import PATIENCE_MS

from laydown.records.ledger import Records
from laydown.trials.sheets import SheetEvent
from laydown.usecases.demo_trial import HOUSE, build_demo_trial
from ticking_clock import Clock

pytestmark = pytest.mark.browser

TRIAL = "Spring editions"
GLOSS = "Samphire Gloss"
SHEETS_EACH = 3
PRINTED = datetime(2026, 1, 12, 9, 30, tzinfo=UTC)  # the files of the demo were read on 13 January and later
READ = datetime(2026, 1, 20, 9, tzinfo=UTC)


@pytest.fixture(scope="module")
def demo_files() -> dict[str, bytes]:
    return build_demo_trial()


def test_a_trial_of_their_own_gets_an_answer(
    page: Page, records: Records, clock: Clock, demo_files: dict[str, bytes]
) -> None:
    clock.now = PRINTED
    page.goto("/")  # the one address that is typed
    begin_it(page)
    say_what_counts(page)
    for medium, lot in ((HOUSE, "FR-1"), (GLOSS, "SG-7")):
        book_in(page, medium, lot)
    add_a_printer(page)
    name_the_candidates(page)
    codes = draw_the_order(page)
    assert {medium: len(each) for medium, each in codes.items()} == {HOUSE: SHEETS_EACH, GLOSS: SHEETS_EACH}
    for medium in codes:
        print_all(page, medium, codes[medium])
    with records.look() as look:
        assert [one.kind for one in look.find(SheetEvent)] == ["printed"] * 2 * SHEETS_EACH
    clock.now = READ
    hand_in(page, codes, demo_files)
    read_the_answer(page)


def to_the_next_step(page: Page, station: str) -> None:
    """The first page says what to do next, and leads there."""
    page.get_by_role("link", name="Trials", exact=True).click()
    page.locator(".trial-line", has_text=TRIAL).locator(".next-link").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(station)


def begin_it(page: Page) -> None:
    page.get_by_role("link", name="Begin a trial").click()
    page.get_by_label("Name").fill(TRIAL)
    page.get_by_role("button", name="Begin").click()
    page.get_by_role("link", name="Go to Brief").click()


def say_what_counts(page: Page) -> None:
    page.get_by_role("link", name="Write the brief").click()
    page.get_by_label("The question, in one sentence").fill("Is the gloss blacker than our rag?")
    page.get_by_label("loose sheet", exact=True).check()
    page.get_by_label("Criterion 1", exact=True).fill("Black")
    page.get_by_label("Weight 1", exact=True).fill("1")
    page.get_by_label("Finding 1", exact=True).select_option("Dmax visual")
    page.get_by_role("button", name="Keep the draft").click()
    page.get_by_role("link", name="Read through and seal").click()
    page.get_by_role("button", name="Seal this brief").click()
    expect(page.get_by_role("status").first).to_contain_text("sealed the brief")


def book_in(page: Page, medium: str, lot: str) -> None:
    page.get_by_role("link", name="Stock room", exact=True).click()
    page.get_by_role("link", name="Book in a delivery").click()
    page.get_by_label("Name of the new medium").fill(medium)
    page.get_by_label("Lot or batch").fill(lot)
    page.get_by_label("Width", exact=True).fill("17 in")
    page.get_by_label("Length of a roll").fill("15 m")
    page.get_by_role("button", name="Book it in").click()
    expect(page.get_by_role("status").first).to_contain_text(f"1 roll of lot {lot} of {medium}")


def add_a_printer(page: Page) -> None:
    page.get_by_role("link", name="Stock room", exact=True).click()
    page.get_by_role("link", name="Printers", exact=True).click()
    page.get_by_role("link", name="Add a printer").click()
    page.get_by_label("Name").fill("Plover 24")
    page.get_by_role("button", name="Add").click()


def name_the_candidates(page: Page) -> None:
    to_the_next_step(page, "Plan")
    page.get_by_role("link", name="Candidates").last.click()
    for medium in (HOUSE, GLOSS):
        offered = page.get_by_label("From the stock room")
        roll = offered.locator("option", has_text=medium).filter(has_text="15 m").first
        offered.select_option(roll.get_attribute("value"))
        page.get_by_label("Printer").select_option("Plover 24")
        page.get_by_label("This is the house medium").set_checked(medium == HOUSE)
        page.get_by_role("button", name="Add the candidate").click()
        expect(page.get_by_role("heading", name=medium)).to_be_visible()


def draw_the_order(page: Page) -> dict[str, list[str]]:
    """The codes of the sheets of each medium."""
    to_the_next_step(page, "Plan")
    page.get_by_role("radio", name=f"{SHEETS_EACH} sheets of each").check()
    page.get_by_role("button", name="Keep this plan").click()
    page.get_by_role("link", name="On to the print order").click()
    page.get_by_role("radio", name="As listed").check()
    page.get_by_label("Printing days").fill("1")
    page.get_by_role("button", name="Draw the order").click()
    turns = page.locator(".turn")
    expect(turns).to_have_count(2 * SHEETS_EACH)
    codes: dict[str, list[str]] = {HOUSE: [], GLOSS: []}
    for turn in turns.all():
        medium = next(name for name in codes if name in turn.inner_text())
        codes[medium].append(turn.locator(".sheet-code").inner_text())
    return codes


def print_all(page: Page, medium: str, codes: list[str]) -> None:
    to_the_next_step(page, "Print")
    page.get_by_role("button", name=f"Begin at the printer with {medium}").first.click()
    for code in codes:
        row = page.locator(".sheet-here", has=page.get_by_text(code, exact=True))
        row.get_by_role("button", name="Printed now").click()
        expect(row.locator(".step-said")).to_contain_text("printed")
    page.wait_for_function("localStorage.length === 0")  # what is tapped is shown before it is kept
    page.get_by_role("button", name="End this sitting").click()
    page.get_by_role(
        "button", name="End it all the same"
    ).click()  # the checklist is followed in another story
    expect(page.get_by_role("heading", level=1)).to_have_text("Print")


def hand_in(page: Page, codes: dict[str, list[str]], demo_files: dict[str, bytes]) -> None:
    to_the_next_step(page, "Measure")
    files = [
        FilePayload(
            name=f"{code}.txt", mimeType="text/plain", buffer=demo_files[f"{medium}/sheet{number}-M1.txt"]
        )
        for medium, each in codes.items()
        for number, code in enumerate(each, 1)
    ]
    page.get_by_label("Drop measurement files here, or choose them").set_input_files(files)
    page.get_by_role("button", name="Hand in").click()
    expect(page.get_by_role("status").first).to_contain_text("received 6 readings")
    expect(page.locator(".question-card")).to_have_count(0)


def read_the_answer(page: Page) -> None:
    page.get_by_role("link", name="Compare the sheets").first.click()
    page.get_by_role("link", name="Show the comparison").click()
    expect(page.get_by_role("heading", name="The answer")).to_be_visible(timeout=PATIENCE_MS)
    expect(page.locator(".answer")).to_contain_text(f"{GLOSS} against {HOUSE}: better in")
    black = page.locator("tr[data-finding='dmax_visual']:not(.secondary) td")
    expect(black.first.locator(".call")).to_contain_text("reference")
    expect(black.last.locator(".call")).to_contain_text("better")
    page.get_by_role("link", name="Trials", exact=True).click()
    expect(page.locator(".trial-line", has_text=TRIAL)).to_contain_text("6 of 6 sheets measured")

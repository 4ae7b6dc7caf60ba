"""Planning a trial in Chromium: brief, seal, candidates, numbers, order; at a desk and on a phone.

Needs Chromium on the PATH or named by LAYDOWN_CHROMIUM; left out loudly where there is none.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, ConsoleMessage, Page, expect, sync_playwright

from laydown.records.trial_facts import load_facts
from laydown.trials.seals import seal_holds
from served_bench import ServedBench, served_bench
from stocked_room import TRIAL, stock_up

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
PATIENCE_MS = 90_000
PHONE = 390
PROFILE = bytes(36) + b"acsp" + bytes(88) + b"curves"


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
    with served_bench(tmp_path_factory.mktemp("planning")) as bench:
        yield bench


@pytest.fixture(params=[1280, PHONE], ids=["desk", "phone"])
def page(
    request: pytest.FixtureRequest, browser: Browser, served: ServedBench, empty_sqlite: Path, tmp_path: Path
) -> Iterator[Page]:
    """A page that must stay silent: no error, nothing refused, nothing asked of any other server."""
    served.fresh(empty_sqlite, tmp_path)
    stock_up(served.records)
    complaints: list[str] = []

    def on_console(message: ConsoleMessage) -> None:
        # That an answer says 422 is no complaint of the page: it shows why.
        if message.type == "error" and "422" not in message.text:
            complaints.append(message.text)

    def on_request(url: str) -> None:
        if urlsplit(url).scheme not in {"data", "blob"} and not url.startswith(served.address):
            complaints.append(f"asked elsewhere: {url}")

    context = browser.new_context(viewport={"width": request.param, "height": 900})
    context.set_default_timeout(PATIENCE_MS)
    page = context.new_page()
    page.on("console", on_console)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on("request", lambda asked: on_request(asked.url))
    yield page
    context.close()
    assert complaints == []


def looks_right(page: Page) -> None:
    """Nothing wider than the screen, and no violation that axe-core calls serious or critical."""
    page.wait_for_load_state("load")
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wide <= 0, f"{page.url} is {wide} px too wide"
    if page.viewport_size and page.viewport_size["width"] > PHONE:
        return  # what axe-core finds at a desk it finds on a phone, and it takes its time
    found = Axe().run(page).response["violations"]
    grave = [
        f"{v['id']}: {v['help']} {[n['target'] for n in v['nodes'][:3]]}"
        for v in found
        if v["impact"] in {"serious", "critical"}
    ]
    assert grave == [], page.url


def test_from_brief_to_print_order(page: Page, served: ServedBench) -> None:
    home = f"{served.address}trials/{TRIAL}"
    write_and_seal(page, home)
    name_candidates(page, home)
    set_recipe_and_take_it_over(page)
    choose_and_draw(page, home)
    for part in ("plan/material", "plan/calendar", "brief"):
        page.goto(f"{home}/{part}")
        looks_right(page)
    with served.records.look() as look:
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


def write_and_seal(page: Page, home: str) -> None:
    page.goto(f"{home}/brief")
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


def name_candidates(page: Page, home: str) -> None:
    page.goto(f"{home}/plan")
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


def choose_and_draw(page: Page, home: str) -> None:
    page.goto(f"{home}/plan")
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
    expect(page.locator(".section-head")).to_contain_text("seed 23")
    assert page.locator(".sheet-code").all_inner_texts() != drawn
    page.get_by_role("button", name="Undo").click()
    assert page.locator(".sheet-code").all_inner_texts() == drawn

"""Whole journeys through the workbench in Chromium: what a studio does on its first afternoon with it."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pypdf
import pytest
from page_checks import everybody_can_use, fits, overflow
from playwright.sync_api import Browser, Page, expect
from playwright.sync_api import Error as PlaywrightError
from visitors import PATIENCE_MS, PHONE, Visitors

from laydown.records.engine import sqlite_url
from laydown.records.opening import open_records
from laydown.usecases.demo_trial import HOUSE, build_demo_trial
from laydown.web.demo import demo_request
from served_bench import served_over

pytestmark = pytest.mark.browser

WIDTHS = (1440, 820, 390)


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A workbench with the demo on files, which is counted once for all journeys here."""
    data = tmp_path_factory.mktemp("data")
    records = open_records(sqlite_url(data / "records.sqlite"), str(data / "files"))
    with served_over(records, data, demo=lambda: demo_request(data)) as address:
        yield address
    records.close()


@pytest.fixture
def page(visitors: Visitors, address: str) -> Page:
    return visitors.come(address, viewport={"width": 1440, "height": 900})


def open_demo(page: Page) -> None:
    page.goto("/comparisons/demo", wait_until="domcontentloaded")
    expect(page.get_by_role("heading", name="The answer")).to_be_visible(timeout=PATIENCE_MS)


def scroll_through(page: Page) -> None:
    """Pass every figure, so that late ones are fetched."""
    height = int(page.evaluate("document.documentElement.scrollHeight"))
    for top in range(0, height, 800):
        page.evaluate(f"scrollTo({{top: {top}, behavior: 'instant'}})")
        page.wait_for_timeout(25)
    page.wait_for_load_state("networkidle")


@pytest.fixture(scope="module")
def trial_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two media of the invented trial, two sheets each, as a studio would keep them."""
    folder = tmp_path_factory.mktemp("studio") / "Spring trial"
    for path, content in build_demo_trial().items():
        medium, _, name = path.partition("/")
        if medium in {HOUSE, "Samphire Gloss"} and re.match(r"sheet[12]-M1", name):
            target = folder / medium / name
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(content)
    return folder


def test_the_demo_is_one_click_away_and_says_it_is_invented(page: Page) -> None:
    page.goto("/comparisons")
    page.get_by_role("link", name="The demo trial").click()
    expect(page.get_by_role("heading", name="The answer")).to_be_visible(timeout=PATIENCE_MS)
    expect(page.locator(".title .tag")).to_have_text("invented")
    expect(page.locator(".answer p").first).to_contain_text("Fenland Rag")
    scroll_through(page)
    broken = page.evaluate(
        "[...document.images].filter(i => i.checkVisibility() && !(i.complete && i.naturalWidth))"
        ".map(i => i.src)"
    )
    assert broken == []


def test_another_reference_changes_the_calls(page: Page) -> None:
    open_demo(page)
    cell = page.locator("tr[data-finding='dmax_visual']:not(.secondary) td")
    names = page.locator(".numbers thead").first.locator("th").all_inner_texts()[1:]
    gloss = next(i for i, name in enumerate(names) if "Samphire Gloss" in name)
    rag = next(i for i, name in enumerate(names) if "Fenland Rag" in name)
    expect(cell.nth(gloss).locator(".call")).to_contain_text("better")
    page.get_by_role("navigation", name="Compare against").get_by_role("link", name="Samphire Gloss").click()
    expect(cell.nth(gloss).locator(".call")).to_contain_text("reference")
    expect(cell.nth(rag).locator(".call")).to_contain_text("worse")
    expect(page.locator("#differences figure h3").first).to_contain_text("against Samphire Gloss")


def test_details_open_with_the_keyboard(page: Page) -> None:
    open_demo(page)
    row = page.locator("tr[data-finding='dmax_visual']:not(.secondary)")
    button = row.get_by_role("button", name="Details of")
    button.focus()
    page.keyboard.press("Enter")
    expect(button).to_have_attribute("aria-expanded", "true")
    details = page.locator(f"#{row.get_attribute('id')}-more")
    expect(details).to_contain_text("ISO 5-3")
    expect(details.get_by_role("table").first).to_contain_text("sheet1")
    page.keyboard.press("Space")
    expect(details).to_be_hidden()


def test_other_conditions_are_shown_when_asked_for(page: Page) -> None:
    open_demo(page)
    other = page.locator(".row.secondary")
    assert other.count() > 5
    expect(other.first).to_be_hidden()
    page.get_by_role("button", name="Also show other conditions").click()
    expect(other.first).to_be_visible()
    expect(other.first).to_contain_text("M2")


def test_gamuts_in_space_on_demand(page: Page) -> None:
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    open_demo(page)
    assert not [url for url in asked if "plotly" in url]  # nobody asked for it yet
    page.get_by_label("Solid").select_option("Samphire Gloss")
    page.get_by_label("Wire").select_option("sRGB")
    page.get_by_role("button", name="Show in space").click()
    expect(page.locator(".space-plot canvas").first).to_be_visible(timeout=PATIENCE_MS)
    expect(page.locator(".space-said")).to_contain_text("Samphire Gloss")
    expect(page.locator(".space-said")).to_contain_text("they share")
    eye = "document.querySelector('.space-plot')._fullLayout.scene.camera.eye.x"
    before = page.evaluate(eye)
    page.get_by_role("button", name="Turn left").click()
    page.wait_for_function(f"{eye} !== {before}")


def test_everything_can_be_taken_along(page: Page) -> None:
    open_demo(page)

    def take(link: Any) -> bytes:
        with page.expect_download() as download:
            link.click()
        return Path(download.value.path()).read_bytes()

    figure = page.locator("#tone figure").first
    assert take(figure.get_by_role("link", name="SVG")).startswith(b"<svg")
    assert take(figure.get_by_role("link", name="PNG")).startswith(b"\x89PNG\r\n")
    table = take(figure.get_by_role("link", name="CSV")).decode("utf-8-sig").splitlines()
    assert len(table) > 5
    assert table[0].count(",") >= 2
    told = json.loads(take(page.get_by_role("link", name="JSON")))
    assert told["invented"] is True
    assert len(told["candidates"]) == 5
    for name in ("PDF, A4", "PDF, US Letter"):
        dossier = pypdf.PdfReader(io.BytesIO(take(page.get_by_role("link", name=name, exact=True))))
        assert "Samphire Gloss" in dossier.pages[0].extract_text()


def test_a_folder_gets_an_answer(page: Page, trial_folder: Path) -> None:
    page.goto("/new")
    page.get_by_label("A folder").set_input_files(str(trial_folder))
    page.wait_for_url("**/arrange")
    expect(page.get_by_role("heading", name="Arrange the files")).to_be_visible()
    assert page.get_by_label("Name of the medium").count() == 2
    everybody_can_use(page)
    page.get_by_label("Title", exact=True).fill("Spring & <b>autumn</b>")
    page.get_by_role("group", name=re.compile("Fenland Rag")).get_by_label("House medium").check()
    page.get_by_role("button", name="Compare").click()
    page.wait_for_url("**/comparisons/*", timeout=PATIENCE_MS)
    expect(page.get_by_role("heading", level=1)).to_have_text("Spring & <b>autumn</b>")
    expect(page.locator(".answer")).to_contain_text("Samphire Gloss")
    expect(page.get_by_role("heading", name="The answer")).to_be_visible(timeout=PATIENCE_MS)
    page.goto("/comparisons")
    page.get_by_role("link", name="Delete Spring").click()
    page.get_by_role("button", name="Delete").click()
    expect(page.get_by_role("status")).to_contain_text("trash")
    page.get_by_role("button", name="Bring back").click()
    expect(page.get_by_role("link", name="Spring & <b>autumn</b>", exact=True)).to_be_visible()


DROP = """
([names, content]) => {
  const transfer = new DataTransfer();
  for (const name of names) transfer.items.add(new File([content], name, {type: 'text/plain'}));
  const zone = document.querySelector('.drop-zone');
  for (const kind of ['dragenter', 'dragover', 'drop']) {
    zone.dispatchEvent(new DragEvent(kind, {dataTransfer: transfer, bubbles: true, cancelable: true}));
  }
}
"""


def test_rubbish_gets_a_clear_sentence(page: Page) -> None:
    page.goto("/new")
    page.evaluate(DROP, [["holiday.txt", "shopping list.csv", "trial.zip"], "milk\neggs\n"])
    page.wait_for_url("**/arrange")
    expect(page.get_by_role("alert").first).to_contain_text("No file here can be used.")
    expect(page.locator(".refusal").first).to_contain_text("holiday.txt")
    expect(page.locator(".refusal").first).to_contain_text("does not look like measurements")
    expect(page.locator("#passed-over")).to_contain_text("trial.zip an archive; unpack it first")
    assert page.get_by_label("Name of the medium").count() == 0
    assert page.get_by_role("button", name="Compare").count() == 0
    everybody_can_use(page)
    page.goto("/comparisons")
    expect(page.get_by_role("heading", name="Not finished yet")).to_be_visible()


def test_without_scripts_the_answer_and_every_detail_are_there(
    visitors: Visitors, address: str, page: Page
) -> None:
    open_demo(page)
    still = visitors.come(address, java_script_enabled=False)
    still.goto("/comparisons/demo")
    expect(still.get_by_role("heading", name="The answer")).to_be_visible()
    expect(still.locator("tr.more").first).to_be_visible()
    still.goto("/new")
    expect(still.get_by_role("button", name="Upload")).to_be_visible()


@pytest.mark.parametrize("width", WIDTHS)
def test_no_page_is_wider_than_the_screen(page: Page, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    for path in ("", "comparisons", "new", "comparisons/demo/patches?medium=4"):
        page.goto(f"/{path}")
        fits(page)
    open_demo(page)
    for button in page.locator(".more-button:visible").all()[:4]:
        button.click()
    for details in page.locator(".medium").first.locator("summary").all():
        details.click()
    scroll_through(page)
    fits(page)
    cut = page.evaluate(
        "[...document.querySelectorAll('h1, h2, h3, .cell, .tabs a, .button')]"
        ".filter(e => e.checkVisibility() && getComputedStyle(e).display !== 'inline')"
        ".filter(e => e.scrollWidth > e.clientWidth + 1).map(e => e.textContent)"
    )
    assert cut == []


def test_marked_patches_read_well_on_a_phone(page: Page) -> None:
    page.set_viewport_size({"width": 390, "height": 900})
    open_demo(page)
    rows = page.locator("#patches .suspects tbody tr")
    assert rows.count() > 1
    for row in rows.all():
        reason = row.locator(".why").bounding_box()
        whole = row.bounding_box()
        assert reason is not None
        assert whole is not None
        assert 0 <= reason["x"] < reason["x"] + reason["width"] <= 390
        assert reason["height"] > 0.3 * whole["height"]  # not a tall, near-empty row
        expect(row.locator(".why")).to_contain_text(re.compile("Left out|Used as it stands"))


@pytest.mark.parametrize("width", [1440, 390])
@pytest.mark.parametrize(
    "path", ["", "comparisons", "new", "comparisons/demo", "comparisons/demo/patches?medium=4"]
)
def test_everybody_can_use_it(page: Page, path: str, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    if path.startswith("comparisons/"):
        open_demo(page)
    if path != "comparisons/demo":
        page.goto(f"/{path}")
    everybody_can_use(page)
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the content")).to_be_focused()
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"


@pytest.fixture
def unwatched(browser: Browser) -> Iterator[Visitors]:
    """Visitors whose pages may complain."""
    visitors = Visitors(browser)
    yield visitors
    visitors.leave()


def test_the_checks_themselves_bite(unwatched: Visitors, address: str) -> None:
    page, complaints = unwatched.come(address), unwatched.complaints
    page.goto("/")
    everybody_can_use(page)
    page.evaluate(
        "document.querySelector('main').insertAdjacentHTML('beforeend', '<img src=/static/mark.svg>')"
    )
    with pytest.raises(AssertionError, match="image-alt"):
        everybody_can_use(page)
    page.evaluate("document.body.insertAdjacentHTML('beforeend', '<p style=\"top: 0\">x</p>')")
    assert any("Content Security Policy" in complaint for complaint in complaints)
    page.evaluate("document.querySelector('main').style.width = '3000px'")
    assert overflow(page) > 0
    with pytest.raises(PlaywrightError):
        page.goto("http://127.0.0.1:9/elsewhere")
    assert any("asked elsewhere" in complaint for complaint in complaints)


def test_pages_about_trouble_can_be_used_too(unwatched: Visitors, address: str) -> None:
    page = unwatched.come(address, viewport=PHONE)
    page.goto("/nothing-here")
    expect(page.get_by_role("alert")).to_have_text("There is no such page.")
    fits(page)
    everybody_can_use(page)


def test_the_names_stay_in_view_down_the_table(page: Page) -> None:
    open_demo(page)
    page.locator("tr[data-finding='grey_balance']:not(.secondary)").scroll_into_view_if_needed()
    head = page.locator(".numbers thead").first.locator("th").nth(1)
    expect(head).to_be_in_viewport()
    box = head.bounding_box()
    assert box is not None
    assert box["y"] < 300


def test_it_prints_without_the_controls(page: Page) -> None:
    open_demo(page)
    page.emulate_media(media="print")
    for selector in (".top", ".gets.large", ".more-button >> nth=0", "form.space"):
        expect(page.locator(selector).first).to_be_hidden()
    expect(page.locator(".answer")).to_be_visible()
    assert len(pypdf.PdfReader(io.BytesIO(page.pdf(format="A4"))).pages) > 3

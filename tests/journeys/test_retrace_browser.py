"""A bad print on a telephone: from its sheet to its likely cause, what was tried, a file for the supplier."""

from __future__ import annotations

import re
import zipfile
from pathlib import Path

import pytest
from page_checks import GLOVE_PX, everybody_can_use, fits
from playwright.sync_api import Page, expect
from visitors import PHONE, Visitors

from laydown.records.ledger import Records
from laydown.trials.retracing import Retrace
from laydown.trials.sheets import Sheet
from laydown.usecases.trial.seed_demo import DEMO_TRIAL_ID, seed_demo
from served_bench import ServedBench

pytestmark = pytest.mark.browser

WIDTHS = (390, 820, 1280)


@pytest.fixture
def demo(records: Records) -> Records:
    seed_demo(records)
    return records


@pytest.fixture(params=[True, False], ids=["with scripts", "without scripts"])
def phone(visitors: Visitors, served: ServedBench, request: pytest.FixtureRequest) -> Page:
    return visitors.come(served.address, viewport=PHONE, has_touch=True, java_script_enabled=request.param)


def canvas_sheet(records: Records) -> Sheet:
    """A canvas with too much ink that nobody has retraced yet."""
    with records.look() as look:
        accused = look.get(Retrace, "demo-retrace").sheet_id
        arm = look.get(Sheet, accused or "").candidate_id
        own = look.find(Sheet, trial_id=DEMO_TRIAL_ID, candidate_id=arm, use="test")
        return next(one for one in own if one.id != accused)


def mark(page: Page, symptom: str, words: str) -> None:
    """Tap one of the three states under a picture, which must be large enough for a gloved finger."""
    page.wait_for_load_state("load")  # sizes are those of the style sheets, which may arrive after the words
    card = page.locator("fieldset.symptom").filter(has=page.locator(f'[name="s-{symptom}"]'))
    expect(card.locator(".symptom-picture > svg")).to_be_visible()
    choice = card.locator(".three label").filter(has=page.get_by_text(words, exact=True))
    box = choice.bounding_box()
    assert box is not None
    assert box["height"] >= GLOVE_PX
    choice.tap()


def chances(page: Page) -> dict[str, float]:
    """The causes that are shown, with their chances in percent, likeliest first."""
    found = {}
    for cause in page.locator("section:has(#causes) > .causes > .cause").all():
        name = re.sub(r"^\d+\s*", "", cause.locator("h3").inner_text()).strip()
        found[name] = float(re.sub(r"[^\d.]", "", cause.locator(".num").inner_text()))
    return found


def test_a_bad_print_is_retraced(phone: Page, demo: Records, tmp_path: Path) -> None:
    sheet = canvas_sheet(demo)
    phone.goto(f"/trials/{DEMO_TRIAL_ID}/sheets/{sheet.id}")
    phone.locator(f'a[href="/retraces/new?sheet={sheet.id}"]').first.tap()
    expect(phone.get_by_role("heading", name="What is wrong with it?")).to_be_visible()

    mark(phone, "mottle", "There")
    phone.get_by_label("Only those with these words").fill("bands")
    phone.get_by_role("button", name="Show", exact=True).tap()
    mark(phone, "regular-bands", "Not there")
    phone.get_by_label("Only those with these words").fill("")
    phone.get_by_role("button", name="Show", exact=True).tap()
    expect(phone.locator('[name="s-mottle"][value="present"]')).to_be_checked()  # nothing was lost
    mark(phone, "too-dark-for-client", "There")
    phone.get_by_role("button", name="Find likely causes").tap()

    expect(phone.get_by_role("heading", name="Likely causes")).to_be_visible()
    first = chances(phone)
    assert next(iter(first)) == "Total ink too high"
    for answered in (1, 2):
        phone.locator("#next .answers").first.locator("[value=no]").tap()
        expect(phone.locator("section:has(#answered) > .rows > li")).to_have_count(answered)
        expect(phone.get_by_role("button", name="Undo")).to_be_visible()
    then = chances(phone)
    assert next(iter(then)) == "Total ink too high"
    rivals = (sorted(first.values())[-2], sorted(then.values())[-2])
    assert then != first
    assert rivals[1] < rivals[0]  # it firms up: what might have been it instead falls behind

    phone.locator(".fixes li").first.get_by_role("button", name=re.compile("^Did not help")).tap()
    expect(phone.locator("#tried .rows li")).to_have_count(1)
    phone.get_by_label("What you learnt, in a few words").fill("Less ink is paler, and still cloudy.")
    phone.get_by_role("button", name="Still wrong").tap()
    expect(phone.get_by_text("Still wrong, closed")).to_be_visible()

    phone.get_by_role("link", name="Support file").tap()
    expect(phone.get_by_role("heading", name="Stays here")).to_be_visible()
    with phone.expect_download() as saving:
        phone.get_by_role("button", name="Save the support file").tap()
    saving.value.save_as(tmp_path / "support.zip")
    with zipfile.ZipFile(tmp_path / "support.zip") as archive:
        summary = archive.read("summary.txt").decode()
    assert "Less ink is paler, and still cloudy." in summary
    assert "it did not help" in summary
    assert "Fenland" not in summary


def test_every_page_fits_and_can_be_reached(page: Page, demo: Records) -> None:
    sheet = canvas_sheet(demo)
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        for address in (
            "/retraces",
            f"/retraces/new?sheet={sheet.id}",
            "/retraces/demo-retrace",
            "/retraces/demo-retrace/support",
            "/retraces/numbers",
        ):
            page.goto(address)
            fits(page)
            if width == WIDTHS[0]:  # what axe-core finds on a phone it finds at a desk, and it takes its time
                everybody_can_use(page)


def test_typing_shows_only_what_fits(page: Page, demo: Records) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto("/retraces/new")
    page.locator('[name="s-hook"][value="present"]').check(force=True)
    page.get_by_label("Only those with these words").fill("fish")
    expect(page.locator("fieldset.symptom:visible")).to_have_count(1)
    expect(page.locator("[data-count]")).to_contain_text("1 of 56")
    page.get_by_role("button", name="Find likely causes").click()
    expect(page.locator(".marked .there")).to_have_count(1)  # what is hidden is marked all the same

"""Gloss in Chromium: typed on a telephone beside the meter, undone, and readable by everybody."""

from __future__ import annotations

import pytest
from page_checks import everybody_can_use, fits, is_grey
from playwright.sync_api import Page, expect

from laydown.records.ledger import Records
from laydown.usecases.measuring.type_gloss import TypedGloss, type_gloss
from spring_trial import Spring, spring_trial

pytestmark = pytest.mark.browser


@pytest.fixture
def spring(records: Records) -> Spring:
    return spring_trial(records)


def test_a_place_after_the_other_is_typed_on_a_telephone(page: Page, spring: Spring) -> None:
    page.set_viewport_size({"width": 390, "height": 844})
    page.goto("/trials/spring/measure")
    page.get_by_role("link", name="Gloss", exact=True).click()
    page.get_by_label("Sheet").select_option(label="K2, Fenland Rag (house)")
    page.get_by_label("1. repeat").fill("2,9")
    page.get_by_label("2. repeat").fill("3.1")
    page.get_by_label("Meter").fill("borrowed meter")
    page.get_by_role("button", name="Keep the reading").click()
    expect(page.get_by_role("status").first).to_contain_text("sheet K2: paper white, 60°, 2.9 3.1 GU")
    expect(page.get_by_label("Meter")).to_have_value("borrowed meter")
    page.get_by_label("Where on it").select_option("black")
    page.get_by_label("1. repeat").fill("2.2")
    page.get_by_role("button", name="Keep the reading").click()
    expect(page.get_by_role("status").first).to_contain_text("sheet K2: black")
    assert [one.values for one in spring.facts.gloss] == [(2.9, 3.1), (2.2,)]
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("status").first).to_contain_text("undid")
    assert len(spring.facts.gloss) == 1


def test_its_pages_fit_and_can_be_used_by_all(page: Page, spring: Spring) -> None:
    for code, values in {"K2": (2.9, 3.1), "K3": (3.4,), "H5": (55.0, 57.0), "H6": (53.0,)}.items():
        for place in ("paper white", "black", "a place with a name of some length"):
            typed = TypedGloss(place=place, angle=60, values=values, instrument="borrowed meter")
            type_gloss(spring.records, f"s-{code}", typed, who="Ada")
    for address in ("trials/spring/gloss?sheet=s-K2", "trials/spring/sheets/s-K2"):
        for width in (1280, 820, 390):
            page.set_viewport_size({"width": width, "height": 900})
            page.goto(f"/{address}")
            fits(page)
        everybody_can_use(page)
        is_grey(page)

"""A day at the bench on a telephone: board, checklist, prints, a spoiled sheet, a coat; the network away."""

from __future__ import annotations

import re

import pytest
from page_checks import GLOVE_PX, everybody_can_use, fits
from playwright.sync_api import Page, Route, expect
from visitors import Visitors

from bench_trial import BenchTrial, make_bench_trial
from laydown.records.ledger import Records
from laydown.trials.sheets import BenchRun
from laydown.trials.stock import RollUse
from laydown.usecases.bench.begin_run import begin_run
from laydown.usecases.bench.print_sheet import print_sheet
from served_bench import ServedBench
from ticking_clock import Clock

pytestmark = pytest.mark.browser


@pytest.fixture
def trial(records: Records) -> BenchTrial:
    return make_bench_trial(records, sheets=3)


def looks_right(page: Page) -> None:
    fits(page)
    everybody_can_use(page)


def kept(records: Records) -> BenchRun:
    with records.look() as look:
        return look.find(BenchRun, order=("-begun_at",), limit=1)[0]


def all_sent(page: Page) -> None:
    """Wait until nothing waits on the telephone: what is tapped is shown before it is sent."""
    for _ in range(100):
        if page.evaluate("localStorage.length") == 0:
            return
        page.wait_for_timeout(100)
    raise AssertionError("answers still wait on the telephone")


def tap_through(page: Page, *, until: str) -> None:
    """Tap the row whose turn it is, again and again; write a number where one is wanted."""
    for _ in range(40):
        row = page.locator(".step.is-next")
        step = row.get_attribute("data-step")
        if step == until:
            return
        wanted = row.locator(".step-open > .step-note input")
        if wanted.count():
            wanted.fill("21" if step == "room-temperature" else "44")
        tap = row.locator(".step-tap")
        box = tap.bounding_box()
        assert box is not None
        assert box["height"] >= GLOVE_PX, step
        tap.tap()
        expect(page.locator(f"#step-{step}")).to_have_class(re.compile(r"\bdone\b"))
    raise AssertionError(f"{until} was never reached")


def test_a_day_at_the_bench(phone: Page, records: Records, trial: BenchTrial, clock: Clock) -> None:
    phone.goto("/board")
    expect(phone.get_by_text("No clock is running.")).to_be_visible()
    looks_right(phone)
    phone.get_by_role("link", name="Spring trial").first.tap()
    expect(phone.get_by_role("heading", name="Next: sheet K2")).to_be_visible()
    looks_right(phone)

    phone.get_by_role("button", name="Begin at the printer with Fenland Rag").first.tap()
    expect(phone.get_by_role("heading", name="Fenland Rag")).to_be_visible()
    looks_right(phone)
    tap_through(phone, until="print")
    assert (kept(records).room_c, kept(records).room_rh) == (21.0, 44.0)

    clock.advance(minutes=6)
    phone.locator("#sheet-s-K2 .step-tap").tap()
    expect(phone.locator("#sheet-s-K2 .step-said")).to_contain_text("printed")
    expect(phone.locator("#sheet-s-K2").get_by_text("Spoiled?")).to_be_visible()  # at once, not when reloaded
    for later in ("s-K3", "s-K4"):
        clock.advance(minutes=6)
        group = phone.locator("#sheets > details")
        if group.count() and group.get_attribute("open") is None:
            group.locator("> summary").tap()
        phone.locator(f"#sheet-{later} .step-tap").tap()
        expect(phone.locator(f"#sheet-{later} .step-said")).to_contain_text("printed")
    assert len(trial.facts(records).events) == 3

    spoiled = phone.locator("#sheet-s-K3")
    spoiled.get_by_text("Spoiled?").tap()
    spoiled.get_by_label("What is seen on it").fill("head strike")
    spoiled.get_by_role("button", name="It is spoiled").tap()
    expect(phone.get_by_role("status").filter(has_text="takes its place")).to_be_visible()
    assert trial.facts(records).sheet("s-C2").use == "test"
    phone.get_by_role("button", name="End this sitting").tap()
    expect(phone.get_by_role("alert")).to_contain_text("neither ticked nor skipped")
    phone.get_by_role("button", name="End it all the same").tap()
    expect(phone.get_by_role("heading", name="Print", exact=True)).to_be_visible()

    phone.goto("/board")
    expect(phone.locator(".sheet-row")).to_have_count(2)
    looks_right(phone)
    clock.advance(hours=25)
    phone.evaluate("document.dispatchEvent(new Event('visibilitychange'))")  # as when the telephone is woken
    expect(phone.locator("section[aria-labelledby=due] .sheet-row")).to_have_count(2)


def test_a_length_typed_with_a_print_shows_what_can_be_done_next(
    phone: Page, records: Records, trial: BenchTrial
) -> None:
    run = begin_run(records, trial.rag, who="Ada").thing
    phone.goto(f"/bench/{run.id}")
    row = phone.locator("#sheet-s-K2")
    row.get_by_text("At another time, or another length").tap()
    row.get_by_label("Length used").fill("51 cm")
    row.get_by_label("Length used").press("Enter")
    expect(row.get_by_text("Spoiled?")).to_be_visible()  # at once, not when the page is loaded again
    all_sent(phone)
    with records.look() as look:
        assert [use.length_mm for use in look.find(RollUse)] == [510.0]


def test_every_station_is_in_sight_on_a_telephone(phone: Page, trial: BenchTrial) -> None:
    phone.goto("/trials/trial/print")
    stations = phone.locator(".station").all()
    boxes = [box for box in (one.bounding_box() for one in stations) if box is not None]
    assert len(boxes) == 10
    assert all(box["x"] >= 0 and box["x"] + box["width"] <= 390 for box in boxes)
    assert all(one.locator("a").bounding_box()["height"] >= 44 for one in stations)


def test_a_slip_is_taken_back_at_once(phone: Page, records: Records, trial: BenchTrial) -> None:
    run = begin_run(records, trial.rag, who="Ada").thing
    phone.goto(f"/bench/{run.id}")
    phone.locator("#step-rested .step-other summary").filter(has_text="Skip").tap()
    phone.locator("#step-rested [name=why]").fill("open already")
    phone.get_by_role("button", name="Skip this step").tap()
    phone.locator("#steps-later > summary").tap()
    phone.locator("#step-gloves .step-tap").tap()
    expect(phone.locator("#steps-done > summary")).to_contain_text("1 done before")
    phone.locator("#steps-now #step-gloves").get_by_role("button", name="Take back").tap()
    expect(phone.locator("#steps-done")).to_be_hidden()
    all_sent(phone)
    assert [tick.step for tick in kept(records).ticks] == ["rested"]


def test_a_coat_is_put_on_and_the_board_follows(
    phone: Page, records: Records, trial: BenchTrial, clock: Clock
) -> None:
    run = begin_run(records, trial.canvas_coated, who="Ada").thing
    print_sheet(records, "s-T2", run_id=run.id, who="Ada")
    clock.advance(hours=25)
    phone.goto("/board?trial=trial")
    expect(phone.get_by_text("Coat it")).to_be_visible()
    phone.get_by_role("link", name="Settle: coat, hours, early readings").tap()
    expect(phone.get_by_role("heading", name="Settle", exact=True)).to_be_visible()
    looks_right(phone)
    expect(phone.get_by_role("note").filter(has_text="respirator")).to_be_visible()
    phone.locator(".choose-sheets label").filter(has_text="T2").tap()
    phone.get_by_label("Batch").fill("B-12")
    phone.get_by_role("button", name="These were coated").tap()
    expect(phone.get_by_role("status").filter(has_text="coated")).to_contain_text("Undo")
    phone.goto("/board?trial=trial")
    expect(phone.get_by_text("Coat drying")).to_be_visible()


def test_ticks_outlive_the_network_and_count_once(phone: Page, records: Records, trial: BenchTrial) -> None:
    run = begin_run(records, trial.rag, who="Ada").thing
    phone.goto(f"/bench/{run.id}")

    def lose_the_answer(route: Route) -> None:
        """The workbench does it, and its answer never comes back."""
        route.fetch()
        route.abort()

    phone.route("**/tick", lose_the_answer, times=1)
    phone.locator("#steps-later > summary").tap()
    phone.locator("#step-gloves .step-tap").tap()
    expect(phone.locator(".unsent")).to_contain_text("1 answer waits here")
    phone.route("**/tick", lambda route: route.abort())
    phone.locator("#step-nozzles .step-tap").tap()
    phone.locator("#step-dust .step-tap").tap()
    expect(phone.locator(".unsent")).to_contain_text("3 answers wait here")
    phone.reload()  # the telephone was put away and taken out again
    expect(phone.locator("#step-dust")).to_have_class(re.compile(r"\bdone\b"))
    phone.unroute_all()
    phone.evaluate("window.dispatchEvent(new Event('online'))")
    expect(phone.locator(".unsent")).to_be_hidden()
    all_sent(phone)
    assert sorted(tick.step for tick in kept(records).ticks) == ["dust", "gloves", "nozzles"]
    with records.look() as look:
        told = [one.words for one in look.entries(record_id=run.id) if one.action == "ticked"]
    assert len(told) == 3


def test_a_refused_answer_comes_back_to_its_row(phone: Page, records: Records, trial: BenchTrial) -> None:
    run = begin_run(records, trial.rag, who="Ada").thing
    phone.goto(f"/bench/{run.id}")
    row = phone.locator("#step-room-humidity")
    phone.locator("#steps-later > summary").tap()
    row.locator("[name=value]").fill("moist")
    row.locator(".step-tap").tap()
    expect(row.get_by_role("alert")).to_contain_text("moist")
    expect(row.locator(".step-tap")).to_be_visible()
    row.locator("[name=value]").fill("47")
    row.locator(".step-tap").tap()
    expect(row.locator(".step-said")).to_contain_text("47 %")
    row.get_by_role("button", name="Take back").tap()
    expect(row.locator(".step-tap")).to_be_visible()
    expect(phone.locator(".run-progress")).to_contain_text("0 of")
    all_sent(phone)
    assert kept(records).ticks == ()


@pytest.mark.parametrize("width", [820, 1280])
def test_every_page_fits_wider_screens_too(
    visitors: Visitors, served: ServedBench, records: Records, trial: BenchTrial, width: int
) -> None:
    run = begin_run(records, trial.rag, who="Ada", room_rh=48.0).thing
    print_sheet(records, "s-K2", run_id=run.id, who="Ada")
    page = visitors.come(served.address, viewport={"width": width, "height": 900})
    for address in (
        "/board",
        "/trials/trial/print",
        "/trials/trial/settle",
        "/trials/trial/sheets/s-K2",
        "/trials/trial/sheets/s-K2/drift",
        "/trials/trial/stickers",
        f"/bench/{run.id}",
        f"/bench/{run.id}/recipe",
    ):
        page.goto(address)
        fits(page)
        if width == 820:  # what axe-core finds there it finds on wider screens, and it takes its time
            everybody_can_use(page)

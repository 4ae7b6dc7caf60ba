"""The printing station, the page of a sitting and that of a sheet, met as by a browser without scripts."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
import pypdf
import pytest

from bench_trial import BenchTrial, make_bench_trial
from laydown.records.ledger import Records
from laydown.records.trial_facts import STUDIO_ID
from laydown.trials.sheets import BenchRun, SheetEvent
from laydown.trials.stock import Roll, RollUse
from laydown.trials.studio import Printer, Studio
from laydown.trials.trial import Candidate, Trial
from laydown.usecases.bench.begin_run import begin_run, set_run
from laydown.usecases.bench.print_sheet import print_sheet
from laydown.web.forms import TOKEN_HEADER
from page_reading import alert, classed, forms_of, tree, words
from served_bench import ServedBench, served_bench
from ticking_clock import Clock


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedBench]:
    with served_bench(tmp_path_factory.mktemp("bench")) as bench:
        yield bench


@pytest.fixture
def clock(served: ServedBench, empty_sqlite: Path, tmp_path: Path) -> Clock:
    return served.fresh(empty_sqlite, tmp_path)


@pytest.fixture
def records(served: ServedBench, clock: Clock) -> Records:
    return served.records


@pytest.fixture
def client(served: ServedBench) -> Iterator[httpx.Client]:
    with served.client() as client:
        yield client


@pytest.fixture
def trial(records: Records) -> BenchTrial:
    return make_bench_trial(records)


@pytest.fixture
def run(records: Records, trial: BenchTrial) -> BenchRun:
    return begin_run(records, trial.rag, who="Ada").thing


@pytest.fixture
def script(served: ServedBench) -> Iterator[httpx.Client]:
    """A client that asks as the page's script does."""
    with served.client(Accept="application/json") as client:
        yield client


def kept(records: Records, run: BenchRun) -> BenchRun:
    with records.look() as look:
        return look.get(BenchRun, run.id)


def events(records: Records, sheet: str) -> list[SheetEvent]:
    with records.look() as look:
        return list(look.find(SheetEvent, sheet_id=sheet, order=("at", "id")))


# ---------------------------------------------------------------- the printing station


def test_an_empty_trial_teaches_what_comes_first(client: httpx.Client, records: Records) -> None:
    with records.work("began", who="Ada") as work:
        work.add(Trial(id="bare", name="Bare", begun=records.now().date()))
    answer = client.get("/trials/bare/print")
    assert answer.status_code == 200
    assert "No candidates yet" in words(answer)


def test_the_next_sheet_its_medium_and_the_order_are_shown(client: httpx.Client, trial: BenchTrial) -> None:
    answer = client.get("/trials/trial/print")
    page = tree(answer)
    assert "Next: sheet K2" in words(answer)
    listed = [one.text for day in classed(page, "print-day") for one in classed(day, "sheet-code")]
    assert listed == ["K2", "R2", "T2", "X2", "K3", "R3", "T3", "X3"]
    assert [
        one.text for row in page.xpath("//*[@aria-current='step']") for one in classed(row, "sheet-code")
    ] == ["K2"]


def test_begin_at_the_printer_leads_to_the_checklist(client: httpx.Client, trial: BenchTrial) -> None:
    page = client.get("/trials/trial/print")
    fields = forms_of(page, "/trials/trial/runs")[0]
    assert fields["candidate"] == "rag"
    answer = client.post("/trials/trial/runs", data=fields)
    assert answer.status_code == 303
    opened = client.get(answer.headers["location"])
    assert re.search(r"<h1>\s*Fenland Rag", opened.text)
    assert "Undo" in words(opened)


def test_another_printer_roll_or_time_has_a_page_of_its_own(
    client: httpx.Client, records: Records, trial: BenchTrial, clock: Clock
) -> None:
    with records.work("bought", who="Ada") as work:
        work.add(Printer(id="narrow", name="South wall", widest_mm=400.0))
        work.change(replace(work.get(Roll, "r-rag"), width_mm=432.0))
        for number in range(30):
            work.add(Roll(id=f"h{number}", lot_id="l-rag", form="roll", code=f"H-{number}", width_mm=432.0))
        work.add(Roll(id="empty", lot_id="l-rag", form="roll", code="E", length_mm=1000.0))
        work.add(RollUse(id="use", roll_id="empty", at=work.now, length_mm=1000.0))
    clock.advance(hours=1)
    page = "/trials/trial/candidates/rag/begin"
    assert page in client.get("/trials/trial/print").text
    shown = client.get(page)
    offered = tree(shown).xpath("//select[@name='roll']/option/@value")
    assert (offered[:2], len(offered)) == (["", "r-rag"], 13)
    assert "19 more fit than are listed" in words(shown)
    found = client.get(page, params={"find": "h-29"})
    assert tree(found).xpath("//select[@name='roll']/option/@value") == ["", "r-rag", "h29"]
    assert "empty" not in tree(client.get(page, params={"find": "E"})).xpath("//option/@value")
    (form,) = forms_of(found, "/trials/trial/runs")
    refused = client.post("/trials/trial/runs", data=form | {"roll": "r-gloss", "printer": "narrow"})
    assert "not of the medium" in alert(refused)
    # As chosen, but what is wider than that printer is offered no more.
    assert forms_of(refused, "/trials/trial/runs")[0]["printer"] == "narrow"
    assert tree(refused).xpath("//select[@name='roll']/option/@value") == [""]
    told = form | {"roll": "h29", "begun": "2026-03-02T09:10"}
    run_id = client.post("/trials/trial/runs", data=told).headers["location"].split("/")[2].split("?")[0]
    with records.look() as look:
        run = look.get(BenchRun, run_id)
    assert (run.roll_id, run.begun_at) == ("h29", datetime(2026, 3, 2, 9, 10, tzinfo=UTC))


def test_the_printing_station_does_not_grow_with_the_stock_room(
    client: httpx.Client, records: Records, trial: BenchTrial, run: BenchRun
) -> None:
    addresses = ("/trials/trial/print", f"/bench/{run.id}")
    before = [len(client.get(address).content) for address in addresses]
    with records.work("bought", who="Ada") as work:
        for number in range(300):
            work.add(Roll(id=f"h{number}", lot_id="l-rag", form="roll", code=f"H-{number}"))
    after = [len(client.get(address).content) for address in addresses]
    assert after[0] == before[0]
    assert after[1] < before[1] + 3000
    assert "H-299" in client.get(addresses[1], params={"find": "h-299"}).text


def test_a_refused_beginning_says_why_on_the_page(
    client: httpx.Client, trial: BenchTrial, run: BenchRun
) -> None:
    answer = client.post("/trials/trial/runs", data={"candidate": "rag"})
    assert answer.status_code == 422
    assert "is open at North wall" in alert(answer)


def test_a_studio_that_works_in_inches_reads_fahrenheit(
    client: httpx.Client, records: Records, trial: BenchTrial
) -> None:
    with records.work("set", who="Ada") as work:
        work.change(replace(work.get(Studio, STUDIO_ID), units="inch"))
    answer = client.post("/trials/trial/runs", data={"candidate": "rag"})
    run_id = answer.headers["location"].split("/")[2].split("?")[0]
    client.post(f"/bench/{run_id}/tick", data={"step": "room-temperature", "what": "done", "value": "72"})
    with records.look() as look:
        assert look.get(BenchRun, run_id).room_c == pytest.approx((72 - 32) * 5 / 9, abs=0.05)
    opened = client.get(f"/bench/{run_id}")
    assert "72 °F" in words(opened)
    assert "64 °F to 75 °F" in words(opened)


def test_sheets_beside_the_order_are_added(client: httpx.Client, trial: BenchTrial) -> None:
    answer = client.post("/trials/trial/sheets", data={"candidate": "rag", "use": "setting"})
    assert answer.status_code == 303
    assert "setting, Fenland Rag" in words(client.get("/trials/trial/print"))
    assert client.post("/trials/trial/sheets", data={"candidate": "rag", "use": "test"}).status_code == 422


def test_labels_bear_codes_and_no_medium(client: httpx.Client, trial: BenchTrial) -> None:
    answer = client.get("/trials/trial/stickers")
    labels = classed(tree(answer), "sticker")
    assert len(labels) == 12
    text = " ".join(label.text_content() for label in labels)
    for name in ("Fenland", "Withy", "Samphire", "RA-77"):
        assert name not in text


def test_what_breaks_the_comparison_is_said_at_the_printer(
    client: httpx.Client, records: Records, trial: BenchTrial, run: BenchRun
) -> None:
    with records.work("set", who="Ada") as work:
        rag = work.get(Candidate, "rag")
        work.change(replace(rag, recipe=replace(rag.recipe, intent="perceptual")))
    text = words(client.get("/trials/trial/print"))
    assert "endering intent" in text


# ---------------------------------------------------------------- the checklist


def test_every_row_is_a_form_that_ticks(
    client: httpx.Client, records: Records, trial: BenchTrial, run: BenchRun
) -> None:
    """The whole list, by its own forms and nothing else; each answer leads to the next open step."""
    for _ in range(40):
        page = client.get(f"/bench/{run.id}")
        waiting = classed(tree(page), "step", "open")
        if not waiting:
            break
        (form,) = classed(waiting[0], "step-open", tag="form")
        fields = {name: value for name, value in form.form_values() if value is not None} | {"what": "done"}
        if form.xpath(".//*[@name='value'][@inputmode='decimal']"):
            fields["value"] = "48"
        answer = client.post(form.action, data=fields)
        assert answer.status_code == 303, words(answer)
        assert re.search(r"#(step-|sheets)", answer.headers["location"])
    assert not classed(tree(page), "step", "open")
    assert kept(records, run).room_c == 48.0


def test_a_tick_can_be_taken_back(client: httpx.Client, records: Records, run: BenchRun) -> None:
    client.post(f"/bench/{run.id}/tick", data={"step": "gloves", "what": "done"})
    page = client.get(f"/bench/{run.id}")
    (fields,) = [one for one in forms_of(page, f"/bench/{run.id}/untick") if one["step"] == "gloves"]
    answer = client.post(f"/bench/{run.id}/untick", data=fields)
    assert answer.headers["location"].endswith("#step-gloves")
    assert kept(records, run).ticks == ()


def test_a_refused_value_is_shown_where_it_was_typed(client: httpx.Client, run: BenchRun) -> None:
    answer = client.post(
        f"/bench/{run.id}/tick", data={"step": "room-temperature", "what": "done", "value": "warm"}
    )
    assert answer.status_code == 422
    row = tree(answer).get_element_by_id("step-room-temperature")
    assert "warm" in row.xpath("string(.//*[@role='alert'])")
    assert row.xpath(".//*[@name='value']")[0].value == "warm"


def test_a_refused_time_is_said_at_the_top_and_kept(client: httpx.Client, run: BenchRun) -> None:
    typed = {"when": "2026-02-01T09:00", "used": "51 cm"}
    answer = client.post(f"/bench/{run.id}/sheets/s-K2/printed", data=typed)
    assert answer.status_code == 422
    page = tree(answer)
    first = page.xpath("//*[contains(@class, 'trouble')]")[0]
    assert first.xpath(".//a")[0].get("href") == "#sheet-s-K2"
    row = page.get_element_by_id("sheet-s-K2")
    assert row.xpath(".//*[@name='when']")[0].value == typed["when"]
    assert row.xpath(".//*[@name='used']")[0].value == typed["used"]


def test_skipping_wants_a_reason(client: httpx.Client, records: Records, run: BenchRun) -> None:
    skip = {"step": "rested", "what": "skip"}
    assert client.post(f"/bench/{run.id}/tick", data=skip | {"why": ""}).status_code == 422
    assert client.post(f"/bench/{run.id}/tick", data=skip | {"why": "open already"}).status_code == 303
    assert kept(records, run).ticks[0].skipped


def test_cautions_stand_on_the_page(client: httpx.Client, records: Records, trial: BenchTrial) -> None:
    canvas = begin_run(records, trial.canvas, who="Ada").thing
    text = words(client.get(f"/bench/{canvas.id}"))
    for caution in ("keep hands, hair and sleeves out", "two people or a trolley", "cut-resistant glove"):
        assert caution in text


def test_rows_are_high_enough_for_gloves(client: httpx.Client) -> None:
    css = client.get("/static/bench.css").text
    (row,) = re.findall(r"^\.step-tap \{[^}]*min-height: ([0-9.]+)rem", css, re.M)
    assert float(row) * 16 >= 56


def test_a_script_gets_the_step_back_and_may_send_it_twice(
    script: httpx.Client, records: Records, run: BenchRun, clock: Clock
) -> None:
    at = (clock.now - timedelta(minutes=0)).isoformat()
    first = script.post(f"/bench/{run.id}/tick", data={"step": "gloves", "what": "done", "at": at})
    clock.advance(minutes=7)
    again = script.post(f"/bench/{run.id}/tick", data={"step": "gloves", "what": "done", "at": at})
    assert first.json()["state"] == "done"
    assert first.json()["ticked_at"] == again.json()["ticked_at"]
    assert len(kept(records, run).ticks) == 1


def test_a_script_is_refused_in_a_sentence(script: httpx.Client, run: BenchRun) -> None:
    answer = script.post(f"/bench/{run.id}/tick", data={"step": "room-humidity", "what": "done"})
    assert answer.status_code == 400
    assert "no number is given" in answer.json()["problem"]


def test_no_tick_without_the_word_of_the_session(
    served: ServedBench, records: Records, run: BenchRun
) -> None:
    with served.client(**{TOKEN_HEADER: "0" * 64}) as stranger:
        answer = stranger.post(f"/bench/{run.id}/tick", data={"step": "gloves", "what": "done"})
    assert answer.status_code == 403
    assert kept(records, run).ticks == ()


@pytest.mark.parametrize("address", ["/bench/nobody", "/bench/nobody.pdf", "/trials/trial/sheets/nobody"])
def test_what_is_not_there_says_so(client: httpx.Client, trial: BenchTrial, address: str) -> None:
    assert client.get(address).status_code == 404


# ---------------------------------------------------------------- printing


def test_printed_now_then_spoiled_and_replaced(
    client: httpx.Client, records: Records, trial: BenchTrial, run: BenchRun
) -> None:
    answer = client.post(f"/bench/{run.id}/sheets/s-K2/printed", data={})
    assert answer.headers["location"].endswith("#sheets")
    page = client.get(f"/bench/{run.id}")
    assert "Spoiled?" in words(page)
    (fields,) = forms_of(page, "/trials/trial/sheets/s-K2/spoil")
    assert client.post("/trials/trial/sheets/s-K2/spoil", data=fields | {"why": ""}).status_code == 422
    answer = client.post("/trials/trial/sheets/s-K2/spoil", data=fields | {"why": "banding"})
    assert answer.headers["location"].startswith(f"/bench/{run.id}")
    assert [event.kind for event in events(records, "s-K2")] == ["printed", "spoiled"]
    assert trial.facts(records).sheet("s-C2").place == 1
    (beside,) = classed(tree(client.get("/trials/trial/print")), "beside")
    rows = [" ".join(row.text_content().split()) for row in beside]
    assert rows[-1] == "×K2Fenland Rag; spoiled: banding; C2 takes its place"
    assert "spoiled banding; C2 takes its place" in words(client.get(f"/bench/{run.id}"))


def test_a_print_noted_later_has_its_own_time_and_length(
    client: httpx.Client, records: Records, trial: BenchTrial, run: BenchRun, clock: Clock
) -> None:
    clock.now = datetime(2026, 7, 1, 12, tzinfo=UTC)
    begun = begin_run(records, trial.gloss, who="Ada").thing
    clock.advance(hours=2)
    answer = client.post(
        f"/bench/{begun.id}/sheets/s-X2/printed", data={"when": "2026-07-01T13:30", "used": "51 cm"}
    )
    assert answer.status_code == 303
    (event,) = events(records, "s-X2")
    # The studio is in London, where it is an hour later than UTC in July.
    assert event.at == datetime(2026, 7, 1, 12, 30, tzinfo=UTC)
    with records.look() as look:
        assert look.get(RollUse, event.id).length_mm == 510.0


def test_a_print_out_of_turn_is_warned_about_and_allowed(
    client: httpx.Client, records: Records, trial: BenchTrial
) -> None:
    gloss = begin_run(records, trial.gloss, who="Ada").thing
    told = "Out of turn: K2 on Fenland Rag and 2 more come before it."
    assert told in words(client.get(f"/bench/{gloss.id}"))
    assert client.post(f"/bench/{gloss.id}/sheets/s-X2/printed", data={}).status_code == 303
    for address in (f"/bench/{gloss.id}", "/trials/trial/print", "/trials/trial/sheets/s-X2"):
        assert told in words(client.get(address)), address


def test_another_day_than_drawn_is_said_before_noted_and_shown_later(
    client: httpx.Client, records: Records, trial: BenchTrial
) -> None:
    with records.work("planned", who="Ada") as work:
        for sheet in trial.facts(records).sheets:
            if sheet.place > 4:
                work.change(replace(sheet, day=2))
    for candidate, code in (("rag", "K2"), ("canvas", "R2"), ("canvas-coated", "T2"), ("gloss", "X2")):
        run = begin_run(records, candidate, who="Ada").thing
        print_sheet(records, f"s-{code}", run_id=run.id, who="Ada")
    run = begin_run(records, "rag", who="Ada").thing
    ahead = "Drawn for day 2; 2 March is the day of day 1. Days are kept apart"
    (following,) = classed(tree(client.get("/trials/trial/print")), "next-print")
    assert ahead in " ".join(following.text_content().split())
    row = tree(client.get(f"/bench/{run.id}")).get_element_by_id("sheet-s-K3")
    assert ahead in " ".join(row.text_content().split())
    assert client.post(f"/bench/{run.id}/sheets/s-K3/printed", data={}).status_code == 303
    told = "Drawn for day 2, printed on 2 March, the day of day 1."
    for address in (
        f"/bench/{run.id}",
        "/trials/trial/print",
        "/trials/trial/sheets/s-K3",
    ):
        assert told in words(client.get(address)), address


def test_a_tablet_that_is_a_little_slow_prints_within_its_sitting(
    script: httpx.Client, records: Records, run: BenchRun
) -> None:
    before = (run.begun_at - timedelta(minutes=3)).isoformat()
    for _ in range(2):
        answer = script.post(f"/bench/{run.id}/sheets/s-K2/printed", data={"at": before})
        assert answer.json()["at"] == run.begun_at.isoformat()
    assert len(events(records, "s-K2")) == 1


def test_the_other_arm_of_the_load_goes_on_without_setting_up_again(
    client: httpx.Client, records: Records, trial: BenchTrial
) -> None:
    canvas = begin_run(records, trial.canvas, who="Ada").thing
    client.post(f"/bench/{canvas.id}/tick", data={"step": "gloves", "what": "done"})
    page = client.get(f"/bench/{canvas.id}")
    (fields,) = [one for one in forms_of(page, "/trials/trial/runs") if one.get("same_load")]
    opened = client.get(client.post("/trials/trial/runs", data=fields).headers["location"])
    assert "Withy Canvas, coated" in tree(opened).xpath("string(//h1)")
    assert "1 of " in words(opened)


# ---------------------------------------------------------------- as really set


def test_every_difference_to_plan_and_to_the_last_sitting_is_shown(
    client: httpx.Client, records: Records, trial: BenchTrial, run: BenchRun
) -> None:
    page = client.get(f"/bench/{run.id}/recipe")
    (fields,) = forms_of(page, f"/bench/{run.id}/recipe")[-1:]
    fields |= {"media_setting": "Velvet 1", "passes": "12"}
    answer = client.post(f"/bench/{run.id}/recipe", data=fields)
    assert answer.status_code == 303
    text = words(client.get(f"/bench/{run.id}"))
    assert "Not as planned" in text
    assert "Heavy rag 2 → Velvet 1" in text
    assert "not stated → 12" in text
    second = begin_run(records, trial.gloss, who="Ada").thing
    assert second
    third = begin_run(records, trial.rag, who="Ada").thing
    text = words(client.get(f"/bench/{third.id}"))
    assert "Everything as planned" in text
    assert "Not as in the last sitting" in text
    assert "Velvet 1 → Heavy rag 2" in text


def test_a_recipe_is_taken_over_from_an_earlier_sitting_only_when_kept(
    client: httpx.Client, records: Records, trial: BenchTrial, run: BenchRun
) -> None:
    with records.work("set", who="Ada") as work:
        work.change(replace(run, recipe=replace(run.recipe, passes=8, black_ink="photo")))
    later = begin_run(records, trial.canvas, who="Ada").thing
    page = client.get(f"/bench/{later.id}/recipe", params={"source": f"r:{run.id}"})
    assert "nothing is kept until you say so" in words(page)
    (said,) = classed(tree(page), "said")
    assert "To be checked before it is kept" in said.text_content()
    assert "Photo black on a medium for matte black" in said.text_content()
    assert "matte → photo" in words(page)
    assert kept(records, later).recipe.passes is None
    fields = forms_of(page, f"/bench/{later.id}/recipe")[-1]
    assert fields["passes"] == "8"
    assert client.post(f"/bench/{later.id}/recipe", data=fields).status_code == 303
    assert kept(records, later).recipe.passes == 8
    assert "photo black on a medium for matte black" in words(client.get(f"/bench/{later.id}")).lower()


def test_colour_managed_twice_is_said_at_once(client: httpx.Client, run: BenchRun) -> None:
    fields = forms_of(client.get(f"/bench/{run.id}/recipe"), f"/bench/{run.id}/recipe")[-1]
    fields["colour_managed_by"] = ["application", "driver"]
    answer = client.post(f"/bench/{run.id}/recipe", data=fields)
    page = client.get(answer.headers["location"])
    told = [one.text_content() for one in classed(tree(page), "warned", "grave")]
    assert any("Colour is managed 2 times" in one for one in told)


def test_a_refused_recipe_keeps_what_was_typed(client: httpx.Client, run: BenchRun) -> None:
    fields = forms_of(client.get(f"/bench/{run.id}/recipe"), f"/bench/{run.id}/recipe")[-1]
    answer = client.post(f"/bench/{run.id}/recipe", data=fields | {"passes": "many", "quality": "draft"})
    assert answer.status_code == 422
    assert forms_of(answer, f"/bench/{run.id}/recipe")[-1]["passes"] == "many"


def test_room_roll_and_remarks_are_corrected(client: httpx.Client, records: Records, run: BenchRun) -> None:
    set_run(records, run.id, who="Ada", room_c=21.0, room_rh=47.0)
    (fields,) = forms_of(client.get(f"/bench/{run.id}"), f"/bench/{run.id}/set")
    told = {"warmth": "23", "humidity": "52", "words": "Window open until ten."}
    assert client.post(f"/bench/{run.id}/set", data=fields | told).status_code == 303
    assert (kept(records, run).room_c, kept(records, run).room_rh) == (23.0, 52.0)
    assert "Window open until ten." in words(client.get(f"/bench/{run.id}"))
    assert client.post(f"/bench/{run.id}/set", data=fields | {"words": "old page"}).status_code == 422


def test_ending_asks_once_more_where_steps_are_open(
    client: httpx.Client, records: Records, run: BenchRun
) -> None:
    client.post(f"/bench/{run.id}/tick", data={"step": "gloves", "what": "done"})
    asked = client.post(f"/bench/{run.id}/end", data={})
    assert asked.status_code == 422
    assert re.match(r"2\d steps are neither ticked nor skipped: “Check that the medium", alert(asked))
    assert kept(records, run).ended_at is None
    (again, _) = forms_of(asked, f"/bench/{run.id}/end")
    assert client.post(f"/bench/{run.id}/end", data=again).status_code == 303
    page = client.get(f"/bench/{run.id}")
    (remarks,) = classed(tree(page), "run-remarks")
    assert remarks.text_content().startswith("Ended although 2")


def test_the_room_is_asked_for_once(client: httpx.Client, records: Records, run: BenchRun) -> None:
    def asked() -> tuple[set[str], set[str]]:
        page = tree(client.get(f"/bench/{run.id}"))
        steps = {one.get("data-step") for one in classed(page, "step", "open")}
        fields = set(page.xpath("//section[@id='room']//input/@name")) - {"csrf", "seen", "find"}
        return steps & {"room-temperature", "room-humidity"}, fields

    assert "warmth" not in client.get("/trials/trial/print").text
    assert asked() == ({"room-temperature", "room-humidity"}, set())
    client.post(f"/bench/{run.id}/tick", data={"step": "room-humidity", "what": "done", "value": "47"})
    assert asked() == ({"room-temperature"}, {"humidity"})


def test_what_is_done_folds_away_and_the_next_step_stands_open(
    client: httpx.Client, records: Records, run: BenchRun
) -> None:
    for step in ("dust", "gloves"):
        client.post(f"/bench/{run.id}/tick", data={"step": step, "what": "done"})
    page = tree(client.get(f"/bench/{run.id}"))
    parts = {
        name: page.get_element_by_id(name).xpath(".//li[@data-step]/@data-step")
        for name in ("steps-done", "steps-now", "steps-later")
    }
    # The step done last stays in sight, to be taken back if it was a slip.
    assert (parts["steps-done"], parts["steps-now"]) == (["dust"], ["gloves", "rested"])
    assert len(parts["steps-later"]) > 20
    for name in ("steps-done", "steps-later"):
        assert page.get_element_by_id(name).get("open") is None
    # A refusal is not hidden in a fold.
    refused = client.post(
        f"/bench/{run.id}/tick", data={"step": "room-humidity", "what": "done", "value": "wet"}
    )
    assert tree(refused).get_element_by_id("steps-later").get("open") is not None
    # The sheets are one tap away, and come right after the folded list.
    assert classed(page, "bench-bar")[0].xpath(".//a/@href") == ["#sheets"]
    order = page.xpath("//*[@id='steps-later' or @id='sheets' or @id='as-set']/@id")
    assert order == ["steps-later", "sheets", "as-set"]


def test_ending_leads_back_to_what_is_next(client: httpx.Client, records: Records, run: BenchRun) -> None:
    answer = client.post(f"/bench/{run.id}/end", data={"all_the_same": "yes"})
    assert answer.headers["location"].startswith("/trials/trial/print")
    assert kept(records, run).ended_at is not None
    page = client.get(f"/bench/{run.id}")
    assert not classed(tree(page), "step-open", tag="form")


# ---------------------------------------------------------------- on paper


@pytest.mark.parametrize("paper", ["a4", "us-letter"])
def test_the_list_on_paper_has_steps_cautions_and_sheets(
    client: httpx.Client, records: Records, trial: BenchTrial, paper: str
) -> None:
    with records.work("set", who="Ada") as work:
        work.change(replace(work.get(Studio, STUDIO_ID), paper=paper))
    answer = client.get("/trials/trial/candidates/canvas/checklist.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    pdf = pypdf.PdfReader(io.BytesIO(answer.content))
    wide = {"a4": 210 / 25.4 * 72, "us-letter": 8.5 * 72}[paper]
    assert float(pdf.pages[0].mediabox.width) == pytest.approx(wide, abs=1)
    text = " ".join(" ".join(one.extract_text() for one in pdf.pages).split())
    for told in ("Withy Canvas", "Put on clean gloves", "cut-resistant glove", "R2", "R3", "North wall"):
        assert told in text, told


def test_the_paper_of_a_sitting_shows_what_is_ticked(
    client: httpx.Client, run: BenchRun, clock: Clock
) -> None:
    clock.advance(microseconds=1_234)  # as clocks that nobody set give it
    client.post(f"/bench/{run.id}/tick", data={"step": "room-humidity", "what": "done", "value": "47"})
    pdf = pypdf.PdfReader(io.BytesIO(client.get(f"/bench/{run.id}.pdf").content))
    text = " ".join(" ".join(one.extract_text() for one in pdf.pages).split())
    assert "47, this computer" in text


# ---------------------------------------------------------------- one sheet


@pytest.fixture
def printed(records: Records, trial: BenchTrial, run: BenchRun) -> SheetEvent:
    return print_sheet(records, "s-K2", run_id=run.id, who="Ada", room_c=21.0, room_rh=44.0).thing


def test_a_sheet_shows_its_whole_identity(client: httpx.Client, printed: SheetEvent) -> None:
    text = words(client.get("/trials/trial/sheets/s-K2"))
    for told in (
        "Fenland Rag", "RA-77", "roll 1, 12 m", "North wall", "Heavy rag 2", "720 ppi", "one way",
        "rag-own", "9f9f9f9f", "relative colorimetric", "application", "1c1c1c1c",
        "print number in its sitting 1", "21 °C, 44 % RH", "serial not stated",
    ):  # fmt: skip
        assert told in text, told


def test_the_label_for_the_back_holds_code_lot_setting_and_time(
    client: httpx.Client, printed: SheetEvent
) -> None:
    (label,) = classed(tree(client.get("/trials/trial/sheets/s-K2")), "back-label")
    for told in ("K2", "lot RA-77", "setting Heavy rag 2, fine", "2 March 2026, 09:00"):
        assert told in label.text_content(), told


def test_a_wrong_time_is_corrected_and_both_stay_in_sight(
    client: httpx.Client, records: Records, printed: SheetEvent, clock: Clock
) -> None:
    clock.advance(hours=2)
    address = f"/trials/trial/sheets/s-K2/events/{printed.id}/correct"
    (fields,) = forms_of(client.get("/trials/trial/sheets/s-K2"), address)
    assert client.post(address, data=fields | {"why": "", "when": "2026-03-02T10:15"}).status_code == 422
    answer = client.post(address, data=fields | {"why": "wrong watch", "when": "2026-03-02T10:15"})
    assert answer.status_code == 303
    text = words(client.get("/trials/trial/sheets/s-K2"))
    assert "Printed 2 March 2026, 10:15" in text
    assert "before: 2 March 2026, 09:00; wrong watch" in text


def test_a_correction_that_cannot_be_is_refused_with_the_page(
    client: httpx.Client, records: Records, printed: SheetEvent
) -> None:
    address = f"/trials/trial/sheets/s-K2/events/{printed.id}/correct"
    answer = client.post(address, data={"why": "typo", "when": "2027-03-02T10:15", "seen": ""})
    assert answer.status_code == 422
    assert "in the future" in alert(answer)
    assert events(records, "s-K2") == [printed]


def test_a_time_that_was_left_as_it_is_does_not_move(
    client: httpx.Client, records: Records, printed: SheetEvent
) -> None:
    address = f"/trials/trial/sheets/s-K2/events/{printed.id}/correct"
    (fields,) = forms_of(client.get("/trials/trial/sheets/s-K2"), address)
    assert client.post(address, data=fields | {"why": "read wrongly", "humidity": "50"}).status_code == 303
    (event,) = events(records, "s-K2")
    assert (event.at, event.room_rh) == (printed.at, 50.0)


def test_the_minute_in_which_a_sitting_began_is_within_it(
    client: httpx.Client, records: Records, run: BenchRun
) -> None:
    address = f"/bench/{run.id}/sheets/s-K2/printed"
    assert client.post(address, data={"when": "2026-03-02T09:00"}).status_code == 303
    assert events(records, "s-K2")[0].at == run.begun_at


def test_what_did_not_happen_is_taken_back(
    client: httpx.Client, records: Records, printed: SheetEvent
) -> None:
    address = f"/trials/trial/sheets/s-K2/events/{printed.id}/take-back"
    assert client.post(address, data={"why": "it was K3"}).status_code == 303
    assert events(records, "s-K2") == []


def test_the_event_of_another_sheet_cannot_be_reached_through_this_one(
    client: httpx.Client, records: Records, printed: SheetEvent
) -> None:
    address = f"/trials/trial/sheets/s-K3/events/{printed.id}/take-back"
    assert client.post(address, data={"why": "it was K3"}).status_code == 404
    assert events(records, "s-K2") == [printed]


def test_the_length_it_took_is_corrected(client: httpx.Client, records: Records, printed: SheetEvent) -> None:
    (fields,) = forms_of(client.get("/trials/trial/sheets/s-K2"), "/trials/trial/sheets/s-K2/taken")
    assert fields["taken"] == "480 mm"
    client.post("/trials/trial/sheets/s-K2/taken", data=fields | {"taken": "52 cm"})
    with records.look() as look:
        assert look.get(RollUse, printed.id).length_mm == 520.0


def test_glazing_too_early_is_refused_and_allowed_with_a_reason(
    client: httpx.Client, records: Records, printed: SheetEvent
) -> None:
    address = "/trials/trial/sheets/s-K2/happened"
    assert client.post(address, data={"kind": "glazed"}).status_code == 422
    assert client.post(address, data={"kind": "glazed", "early_why": "fogging test"}).status_code == 303
    assert "Glazed early: fogging test" in words(client.get("/trials/trial/sheets/s-K2"))


def test_a_spoiled_sheet_offers_its_spare_and_a_retrace(
    client: httpx.Client, records: Records, trial: BenchTrial, printed: SheetEvent
) -> None:
    client.post("/trials/trial/sheets/s-K2/spoil", data={"why": "head strike"})
    page = client.get("/trials/trial/sheets/s-K2")
    assert tree(page).xpath("//a[@href='/retraces/new?sheet=s-K2']")
    assert client.post("/trials/trial/sheets/s-K2/replace", data={}).status_code == 303
    assert trial.facts(records).sheet("s-C2").use == "test"
    page = client.get("/trials/trial/sheets/s-K2")
    assert "its turn went to a spare" in words(page)
    assert forms_of(page, "/trials/trial/sheets/s-K2/replace") == []
    assert client.post("/trials/trial/sheets/s-K2/replace", data={}).status_code == 422


def test_a_sheet_is_reached_through_its_own_trial_only(client: httpx.Client, trial: BenchTrial) -> None:
    assert client.get("/trials/another/sheets/s-K2").status_code == 404

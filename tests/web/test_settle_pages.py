"""Board, settling station, drift and calendars, met as by a browser without scripts."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, timedelta
from pathlib import Path

import httpx
import icalendar
import lxml.etree
import pytest

from bench_trial import BenchTrial, make_bench_trial
from laydown.records.ledger import Records
from laydown.trials.measured import Reading
from laydown.trials.recipe import Coat
from laydown.trials.route import is_usable
from laydown.trials.trial import Candidate, Trial
from laydown.usecases.bench.begin_run import begin_run, end_run
from laydown.usecases.bench.coat_sheets import coat_sheets
from laydown.usecases.bench.print_sheet import print_sheet
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


def printed(records: Records, candidate: str, *codes: str) -> None:
    run = begin_run(records, candidate, who="Ada", room_rh=40.0).thing
    for code in codes:
        print_sheet(records, f"s-{code}", run_id=run.id, who="Ada")


def read(records: Records, code: str, *, age_hours: float, content: bytes = b"", name: str = "") -> Reading:
    with records.look() as look:
        (at,) = [
            one.at for one in BenchTrial().facts(records).events_of(f"s-{code}") if one.kind == "printed"
        ]
        assert look
    with records.work("read", who="Ada") as work:
        moment = at + timedelta(hours=age_hours)
        return work.add(
            Reading(
                id=records.new_id(), trial_id="trial", sheet_id=f"s-{code}", source="dropped",
                file_name=name or f"{code}-{age_hours:g}h.csv", file_sha256=work.keep_file(content),
                received_at=moment, measured_at=moment,
            )
        )  # fmt: skip


# ---------------------------------------------------------------- the board


def test_an_empty_board_teaches(client: httpx.Client, records: Records) -> None:
    assert "No trial is running" in words(client.get("/board"))
    make_bench_trial(records)
    page = client.get("/board")
    assert "No clock is running" in words(page)
    assert tree(page).xpath("//main//a[@href='/trials/trial/print']")


def test_what_may_be_done_is_said_in_words_and_shapes(
    client: httpx.Client, records: Records, trial: BenchTrial, clock: Clock
) -> None:
    printed(records, "gloss", "X2")
    clock.advance(hours=2)
    (row,) = classed(tree(client.get("/board")), "sheet-row")
    told = [" ".join(one.text_content().split()) for one in classed(row, "deed")]
    # Printed at 9:00 with a barrier layer: 48 h to cure, two weeks until it may be glazed.
    assert told == ["● Touch now", "○ Measure from Wed 4 Mar, 09:00", "○ Glaze from Mon 16 Mar, 09:00"]
    (bar,) = row.xpath(".//progress")
    assert (bar.get("max"), bar.get("value")) == ("2880", "120")


def test_what_can_be_done_now_stands_first(
    client: httpx.Client, records: Records, trial: BenchTrial, clock: Clock
) -> None:
    printed(records, "rag", "K2")
    clock.advance(hours=20)
    printed(records, "canvas", "R2")
    clock.advance(hours=5)
    page = tree(client.get("/board"))
    assert [one.text for one in classed(page, "sheet-code")] == ["K2", "R2"]
    (due,) = page.xpath("//section[@aria-labelledby='due']")
    assert "Measure it" in due.text_content()
    # It leads to where it is done, and nothing but open sittings stands before it.
    (deed,) = classed(page, "todo", tag="a")
    assert deed.get("href") == "/trials/trial/measure#s-s-K2"
    links = [link.get("href") for link in page.xpath("//main//a")]
    before = links[: links.index("/trials/trial/sheets/s-K2")]
    assert all(link.startswith("/bench/") for link in before)
    assert tree(client.get("/trials/trial/measure")).xpath("//*[@id='s-s-K2']")


def test_the_board_shows_one_trial_and_open_sittings(
    client: httpx.Client, records: Records, trial: BenchTrial
) -> None:
    with records.work("began", who="Ada") as work:
        work.add(Trial(id="other", name="Autumn trial", begun=date(2026, 3, 2)))
    printed(records, "rag", "K2")
    page = client.get("/board", params={"trial": "other"})
    assert not classed(tree(page), "sheet-row")
    page = client.get("/board", params={"trial": "trial"})
    assert len(classed(tree(page), "sheet-row")) == 1
    (sitting,) = classed(tree(page), "sitting", tag="a")
    assert "Fenland Rag at North wall (Spring trial)" in " ".join(sitting.text_content().split())


def test_the_board_goes_on_to_further_pages(client: httpx.Client, records: Records, clock: Clock) -> None:
    make_bench_trial(records, sheets=15)
    for candidate, letter in (("rag", "K"), ("canvas", "R"), ("gloss", "X")):
        printed(records, candidate, *(f"{letter}{number}" for number in range(2, 17)))
    first, second = (
        [row.get("id") for row in classed(tree(client.get(f"/board?page={number}")), "sheet-row")]
        for number in (1, 2)
    )
    assert (len(first), len(second)) == (40, 5)
    assert not set(first) & set(second)


def test_without_scripts_the_board_renews_itself(client: httpx.Client, trial: BenchTrial) -> None:
    assert tree(client.get("/board")).xpath("//noscript/meta[@http-equiv='refresh']")


# ---------------------------------------------------------------- settling


def test_a_trial_without_prints_says_what_will_happen(client: httpx.Client, trial: BenchTrial) -> None:
    assert "Nothing has been printed yet" in words(client.get("/trials/trial/settle"))


def coat_fields(client: httpx.Client) -> dict[str, object]:
    (fields,) = forms_of(client.get("/trials/trial/settle"), "/trials/trial/coat")
    return fields


def test_the_coating_form_comes_with_the_plan_and_the_caution(
    client: httpx.Client, records: Records, trial: BenchTrial, clock: Clock
) -> None:
    printed(records, "canvas-coated", "T2")
    page = client.get("/trials/trial/settle")
    assert (coat_fields(client)["product"], coat_fields(client)["coats"]) == ("Clear coat 5", "2")
    for told in ("data sheet", "respirator", "booth", "No sparks", "local fire"):
        assert told in words(page)
    assert "cures until tomorrow 09:00" in words(page)


def test_sheets_are_coated_and_their_clock_begins(
    client: httpx.Client, records: Records, trial: BenchTrial, clock: Clock
) -> None:
    printed(records, "canvas-coated", "T2", "T3")
    clock.advance(hours=25)
    told = {
        "sheet": ["s-T2", "s-T3"], "batch": "B-12", "dilution": "10 % water", "tool": "foam roller",
        "wet": "92,5", "flow": "24", "warmth": "22", "humidity": "45",
    }  # fmt: skip
    answer = client.post("/trials/trial/coat", data=coat_fields(client) | told)
    assert answer.status_code == 303
    facts = trial.facts(records)
    (event,) = facts.events_of("s-T3", "coated")
    assert event.coat == Coat(
        product="Clear coat 5", batch="B-12", dilution="10 % water", tool="foam roller", coats=2,
        wet_g_m2=92.5, flow_cup_seconds=24.0,
    )  # fmt: skip
    assert (event.room_c, event.room_rh) == (22.0, 45.0)
    page = client.get(answer.headers["location"])
    assert "Coat drying" in words(page)
    assert "Undo" in words(page)


def test_a_refused_coating_keeps_what_was_typed_and_ticked(
    client: httpx.Client, records: Records, trial: BenchTrial
) -> None:
    printed(records, "canvas-coated", "T2")
    told = {"sheet": ["s-T2"], "batch": "B-12"}
    answer = client.post("/trials/trial/coat", data=coat_fields(client) | told)
    assert answer.status_code == 422
    assert "had not cured" in alert(answer)
    (fields,) = forms_of(answer, "/trials/trial/coat")
    assert (fields["batch"], fields["sheet"]) == ("B-12", "s-T2")
    assert client.post("/trials/trial/coat", data=fields | {"early_why": "a test of it"}).status_code == 303


def test_hours_of_its_own_are_set_with_a_reason_and_shown(
    client: httpx.Client, records: Records, trial: BenchTrial
) -> None:
    printed(records, "rag", "K2")
    address = "/trials/trial/candidates/rag/hours"
    (fields,) = forms_of(client.get("/trials/trial/settle"), address)
    assert client.post(address, data=fields | {"cure": "6"}).status_code == 422
    answer = client.post(address, data=fields | {"cure": "6", "why": "at rest after 5 h in our test"})
    assert answer.status_code == 303
    text = words(client.get("/trials/trial/settle"))
    assert "Cure 6 h: set for this candidate" in text
    assert "at rest after 5 h in our test (this computer, today" in text
    stale = client.post(address, data=fields | {"cure": "7", "why": "from an old page"})
    assert stale.status_code == 422
    with records.look() as look:
        assert look.get(Candidate, "rag").cure_hours == 6


def test_the_candidate_of_another_trial_is_not_reached(client: httpx.Client, trial: BenchTrial) -> None:
    told = {"cure": "6", "why": "test"}
    assert client.post("/trials/elsewhere/candidates/rag/hours", data=told).status_code == 404


def test_an_early_reading_is_used_all_the_same_and_taken_back(
    client: httpx.Client, records: Records, trial: BenchTrial, clock: Clock
) -> None:
    printed(records, "rag", "K2")
    clock.advance(hours=3)
    reading = read(records, "K2", age_hours=2)
    address = "/trials/trial/early"
    page = client.get("/trials/trial/settle")
    assert "early, left out" in words(page)
    (fields,) = forms_of(page, address)
    assert (
        client.post(address, data=fields | {"reading": reading.id, "what": "use", "why": ""}).status_code
        == 422
    )
    assert client.post(address, data=fields | {"what": "use", "why": "our drift test"}).status_code == 303
    assert is_usable(trial.facts(records), reading_id=reading.id)
    page = client.get("/trials/trial/sheets/s-K2")
    assert "early, used all the same" in words(page)
    (fields,) = forms_of(page, address)
    answer = client.post(address, data=fields | {"what": "leave"})
    assert answer.headers["location"].startswith("/trials/trial/sheets/s-K2?")
    assert not is_usable(trial.facts(records), reading_id=reading.id)


def test_several_early_readings_are_let_in_by_one_act(
    client: httpx.Client, records: Records, trial: BenchTrial, clock: Clock
) -> None:
    printed(records, "rag", "K2", "K3")
    clock.advance(hours=3)
    two = [read(records, code, age_hours=2) for code in ("K2", "K3")]
    (fields,) = forms_of(client.get("/trials/trial/settle"), "/trials/trial/early")
    ticked = fields | {"reading": [one.id for one in two], "what": "use"}
    # Refused without a reason; the ticks stay.
    refused = client.post("/trials/trial/early", data=ticked)
    assert refused.status_code == 422
    assert len(tree(refused).xpath("//input[@name='reading'][@checked]")) == 2
    nothing = client.post("/trials/trial/early", data=fields | {"what": "use", "why": "our drift test"})
    assert "no reading was chosen" in alert(nothing)
    assert tree(nothing).xpath("//input[@id='why-use']/@value") == ["our drift test"]
    answer = client.post("/trials/trial/early", data=ticked | {"why": "our drift test"})
    assert answer.status_code == 303
    assert all(is_usable(trial.facts(records), reading_id=one.id) for one in two)
    entry = answer.headers["location"].partition("done=")[2].partition("#")[0]
    undone = client.post(
        f"/journal/{entry}/undo", data={"csrf": fields["csrf"], "back": "/trials/trial/settle"}
    )
    assert undone.status_code == 303
    assert not any(is_usable(trial.facts(records), reading_id=one.id) for one in two)


def test_hours_that_are_refused_stand_in_the_opened_form(
    client: httpx.Client, records: Records, trial: BenchTrial
) -> None:
    address = "/trials/trial/candidates/rag/hours"
    (fields,) = forms_of(client.get("/trials/trial/settle"), address)
    for typed, told in (
        (
            {"cure": "0", "why": "a test of ours"},
            "0 hours to cure cannot be. Write a number above 0, at most 8760",
        ),
        ({"cure": "9000", "why": "a test of ours"}, "9000 hours to cure cannot be"),
        ({"cure": "a day", "why": "a test of ours"}, '"a day" is not a number from 0.'),
        ({"cure": "1e7", "why": "a test of ours"}, "far too large"),
    ):
        answer = client.post(address, data=fields | typed)
        assert answer.status_code == 422
        assert told in alert(answer)
        assert "e+" not in alert(answer)
        (kept,) = forms_of(answer, address)
        assert {name: kept[name] for name in typed} == typed
        assert tree(answer).xpath("//li[@id='hours-rag']/details/@open")
        assert not tree(answer).xpath("//li[@id='hours-canvas']/details/@open")


def test_hours_say_what_the_humidity_of_the_room_was_taken_to_be(
    client: httpx.Client, records: Records, trial: BenchTrial, clock: Clock
) -> None:
    """One sheet of an arm was printed with a note and one the next day without: both are told, by code."""
    run = begin_run(records, "rag", who="Ada", room_rh=52.0).thing
    print_sheet(records, "s-K2", run_id=run.id, who="Ada")
    clock.advance(hours=26)
    end_run(records, run.id, who="Ada", all_the_same=True)
    bare = begin_run(records, "rag", who="Ada").thing
    print_sheet(records, "s-K3", run_id=bare.id, who="Ada")
    told = words(client.get("/trials/trial/settle"))
    assert "K2: Cure 48 h: 2 times the usual: the room was at 52 % RH, above 45 %." in told
    assert "K3: Cure 24 h: the usual time of this trial; room humidity not noted." in told
    assert "40 to 60 % relative humidity is good to print in. Above 45 %" in told
    assert "Times are those of Europe/London." in told


# ---------------------------------------------------------------- drift


def a_table(age: float) -> bytes:
    """An invented sheet of 20 greys that grow lighter by 2 L* as ``exp(-age)`` goes to nothing."""
    rows = ["SAMPLE_ID,R,G,B,L,a,b"]
    for n in range(20):
        light = 20 + 3.5 * n + 2 * 2.718281828**-age + 0.01 * ((n * 7 + int(age * 10)) % 5)
        rows.append(f"{n + 1},{12 * n},{12 * n},{12 * n},{light:.3f},0.4,-0.8")
    return "\n".join(rows).encode()


def test_one_reading_gives_no_curve_and_says_what_to_do(
    client: httpx.Client, records: Records, trial: BenchTrial, clock: Clock
) -> None:
    printed(records, "rag", "K2")
    read(records, "K2", age_hours=0, content=a_table(0))
    page = client.get("/trials/trial/sheets/s-K2/drift")
    assert page.status_code == 200
    assert "No curve yet" in words(page)
    assert not tree(client.get("/trials/trial/sheets/s-K2")).xpath("//a[contains(@href, 'drift')]")
    assert client.get("/trials/trial/sheets/s-K2/drift.svg").status_code == 400


def test_several_readings_give_verdict_curve_and_numbers(
    client: httpx.Client, records: Records, trial: BenchTrial, clock: Clock
) -> None:
    printed(records, "rag", "K2")
    clock.advance(hours=60)
    for age in (0.5, 1, 2, 8, 24, 48):
        read(records, "K2", age_hours=age, content=a_table(age))
    read(records, "K2", age_hours=30, content=b"nothing of the kind", name="letter.txt")
    assert tree(client.get("/trials/trial/sheets/s-K2")).xpath("//a[contains(@href, 'drift')]")
    page = client.get("/trials/trial/sheets/s-K2/drift")
    text = words(page)
    assert "Settled by 8 h (somewhere between 2 h and that)" in text
    assert "at rest before its 24 h of cure were over" in text
    assert "letter.txt" in text
    (drawing,) = tree(page).xpath("//main//img/@src")
    svg = client.get(drawing)
    assert svg.headers["content-type"] == "image/svg+xml"
    assert lxml.etree.fromstring(svg.content).tag.endswith("svg")
    numbers = client.get(drawing.replace("drift.svg", "drift.csv")).text.splitlines()
    assert len(numbers) == 1 + 6


# ---------------------------------------------------------------- calendars


def events_of(answer: httpx.Response) -> list[icalendar.Event]:
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    return list(icalendar.Calendar.from_ical(answer.content).walk("VEVENT"))


def test_the_board_goes_into_any_calendar(
    client: httpx.Client, records: Records, trial: BenchTrial, clock: Clock
) -> None:
    printed(records, "rag", "K2", "K3")
    clock.advance(hours=25)
    printed(records, "canvas-coated", "T2")
    clock.advance(hours=25)
    coat_sheets(records, "trial", ["s-T2"], Coat(product="Clear coat 5"), who="Ada")
    printed(records, "gloss", "X2")
    answer = client.get("/board.ics")
    told = {str(event["summary"]): event.decoded("dtstart") for event in events_of(answer)}
    assert set(told) == {
        "Withy Canvas, coated: T2 dry (Spring trial)",
        "Samphire Gloss: X2 cured (Spring trial)",
    }
    (coated,) = trial.facts(records).events_of("s-T2", "coated")
    wanted = (coated.at + timedelta(hours=24)).astimezone(UTC).replace(microsecond=0)
    assert told["Withy Canvas, coated: T2 dry (Spring trial)"] == wanted
    assert 'filename="laydown-board.ics"' in answer.headers["content-disposition"]


def test_the_calendar_of_a_trial_has_plan_and_clocks(
    client: httpx.Client, records: Records, trial: BenchTrial
) -> None:
    printed(records, "rag", "K2")
    summaries = [str(event["summary"]) for event in events_of(client.get("/trials/trial/calendar.ics"))]
    assert "Fenland Rag: K2 cured (Spring trial)" in summaries
    assert len(summaries) > 3


def test_an_empty_board_is_an_empty_calendar(client: httpx.Client, trial: BenchTrial) -> None:
    assert events_of(client.get("/board.ics")) == []

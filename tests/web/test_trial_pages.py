"""The first page, a trial at a glance, and the stations that are not there yet."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import httpx
import pytest
from filled_form import form_at, parsed, send, undo_on, words

from laydown.records.ledger import Records
from laydown.trials.measured import Doubt, Reading
from laydown.trials.seals import seal_of
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.stock import Medium
from laydown.trials.trial import Brief, Candidate, Trial
from laydown.usecases.trial.begin_trial import begin_trial
from laydown.usecases.trial.close_trial import close_trial
from laydown.usecases.trial.list_trials import PAGE_LENGTH, PUT_AWAY_SHOWN
from laydown.usecases.trial.remove_trial import remove_trial
from laydown.usecases.trial.seed_demo import DEMO_TRIAL_ID, seed_demo
from laydown.web.views.trial import SHEETS_SHOWN


@pytest.fixture(scope="module")
def demo_room(tmp_path_factory: pytest.TempPathFactory, reading_room: Any) -> Any:
    """The workbench that nobody changes, with the demo trial in it."""
    seed_demo(reading_room.records)
    return reading_room


def test_a_newcomer_is_told_what_to_do(client: httpx.Client) -> None:
    page = parsed(client.get("/"))
    assert len(page.xpath("//ol[contains(@class, 'five-lines')]/li")) == 5
    assert [words(one) for one in page.xpath("//ul[@class='ways-on']//*[self::a or self::button]")] == [
        "Open the demo trial", "Begin a trial", "Compare my files",
    ]  # fmt: skip
    addresses = page.xpath("//main//a/@href")
    assert {"/archives/take-in", "/studio", "/printers", "/stock", "/people"} < set(addresses)
    for address in addresses:
        assert client.get(address).status_code == 200


def test_a_newcomer_sees_what_to_do_before_what_it_is_like(client: httpx.Client) -> None:
    told = words(parsed(client.get("/")).xpath("//main")[0])
    assert told.index("Open the demo trial") < told.index("How a trial goes")


def test_the_demo_is_one_click_away_and_one_click_undone(client: httpx.Client) -> None:
    answer = send(client, "/", "/demo")
    assert answer.status_code == 303
    address = answer.headers["location"]
    page = parsed(client.get(address))
    assert words(page.xpath("//div[contains(@class, 'done')]/p")[0]) == "This computer opened the demo trial."
    assert page.xpath("//p[@class='trial-name']//span[@class='tag']/text()") == ["invented"]
    assert words(page.xpath("//section[@class='next-step']")[0]).startswith("Measure what is ready.")
    assert undo_on(client, address).status_code == 303
    assert "five-lines" in client.get("/").text


def test_a_trial_is_begun_on_the_page(client: httpx.Client) -> None:
    answer = send(client, "/trials/new", "/trials", name="Spring <b>", question="Which?", client="Ines")
    address = answer.headers["location"].partition("?")[0]
    page = parsed(client.get(address))
    assert words(page.xpath("//h1")[0]) == "Spring <b>"
    told = [words(one) for one in page.xpath("//section[@class='next-step']//*[self::p or self::a]")]
    assert told == ["Say what is sold and what counts.", "Nothing is fixed yet.", "Go to Brief"]
    assert [words(one) for one in page.xpath("//ol[@class='way']//span[@class='way-name']")] == [
        "Brief", "Plan", "Print", "Settle", "Measure", "Look", "Last", "Cost", "Decide", "Keep",
    ]  # fmt: skip
    for station in page.xpath("//ol[@class='way']//a/@href"):
        assert client.get(station).status_code == 200, station
    line = parsed(client.get("/")).xpath("//li[contains(@class, 'trial-line')]")[0]
    assert "Spring <b>" in words(line)
    assert line.xpath(".//a[@class='next-link']/@href") == [f"{address}/brief"]


def test_a_refused_form_keeps_what_was_typed(client: httpx.Client) -> None:
    send(client, "/trials/new", "/trials", name="Spring")
    answer = send(client, "/trials/new", "/trials", name="spring", question="Once more?", client="Ines")
    assert answer.status_code == 422
    page = parsed(answer)
    assert "there is a trial called “Spring” already" in words(page.xpath("//*[@role='alert']")[0])
    assert page.xpath("//input[@name='name']/@value") == ["spring"]
    assert page.xpath("//textarea[@name='question']/text()")[0].strip() == "Once more?"


def test_name_question_and_client_are_edited_unless_somebody_was_quicker(client: httpx.Client) -> None:
    home = send(client, "/trials/new", "/trials", name="Spring").headers["location"].partition("?")[0]
    old = form_at(client, f"{home}/edit", f"{home}/edit")
    done = send(client, f"{home}/edit", f"{home}/edit", name="Autumn")
    assert "changed the name of the trial “Spring”" in client.get(done.headers["location"]).text
    late = client.post(f"{home}/edit", data=old | {"name": "Winter"})
    assert late.status_code == 422
    assert "somebody else changed this" in late.text
    again = client.post(f"{home}/edit", data=dict(parsed(late).forms[-1].form_values()))
    assert again.status_code == 422  # sent once more unseen, it still overwrites nothing
    undo_on(client, done.headers["location"])
    assert words(parsed(client.get(home)).xpath("//h1")[0]) == "Spring"


def test_a_trial_is_closed_opened_removed_and_brought_back(client: httpx.Client) -> None:
    home = send(client, "/trials/new", "/trials", name="Spring").headers["location"].partition("?")[0]
    for deed, state in (("close", "closed since"), ("reopen", ""), ("remove", "in the trash since")):
        answer = send(client, home, f"{home}/{deed}")
        assert answer.status_code == 303, deed
        text = words(parsed(client.get(home)).xpath("//header[@class='trial-title']")[0])
        assert state in text
        assert ("since" in text) == bool(state)
    assert "No trial is running." in client.get("/").text
    assert "In the trash (1)" in client.get("/").text
    assert "in the trash" in words(parsed(client.get(home)).xpath("//p[@class='trial-name']")[0])
    undo_on(client, answer.headers["location"])
    assert "since" not in words(parsed(client.get(home)).xpath("//header[@class='trial-title']")[0])


def test_shelves_are_collapsed_and_have_pages_of_their_own(bench: Any, client: httpx.Client) -> None:
    trials = [begin_trial(bench.records, f"Trial {number:02}", who="A").thing for number in range(40)]
    for trial in trials[: PUT_AWAY_SHOWN + 1]:
        close_trial(bench.records, trial.id, who="A")
    remove_trial(bench.records, trials[-1].id, who="A")
    page = parsed(client.get("/"))
    assert len(page.xpath("//li[contains(@class, 'trial-line')]")) == PAGE_LENGTH
    assert [words(one) for one in page.xpath("//details/summary")] == ["Closed (9)", "In the trash (1)"]
    assert not page.xpath("//details[@open]")
    assert page.xpath("//details//a[starts-with(@href, '/?')]/@href") == ["/?shelf=closed"]
    rest = parsed(client.get(page.xpath("//a[@rel='next']/@href")[0]))
    assert len(rest.xpath("//li[contains(@class, 'trial-line')]")) == 40 - 9 - 1 - PAGE_LENGTH
    closed = parsed(client.get("/?shelf=closed"))
    assert len(closed.xpath("//ul[@class='put-away']/li")) == 9
    assert client.get("/?shelf=nothing").status_code == 422


def waiting(records: Records, now: datetime) -> None:
    """A running trial: sheets just cured, one of them read since, one waiting for its coat, one curing, and a
    reading that is asked about."""
    with records.work("filled", who="A") as work:
        work.add(Medium(id="m", name="Rag"))
        work.add(Trial(id="t", name="Spring", begun=date(2026, 1, 1)))
        for finish in ("uncoated", "coated"):
            work.add(Candidate(id=finish, trial_id="t", medium_id="m", name=f"Rag, {finish}", finish=finish,
                               cure_hours=24.0))  # fmt: skip
        ages = {"K7": 24.2, "K8": 24.3, "C2": 24.4, "E5": 2.0, "H3": 24.1}
        for code, age in ages.items():
            arm = "coated" if code == "C2" else "uncoated"
            work.add(Sheet(id=code, trial_id="t", candidate_id=arm, code=code, use="spare"))
            at = now - timedelta(hours=age)
            work.add(SheetEvent(id=f"p{code}", trial_id="t", sheet_id=code, at=at, kind="printed"))
        for number, sheet in enumerate(("K8", None)):
            asked = (Doubt(kind="x", words="w", question="q?"),) if sheet is None else ()
            work.add(Reading(id=f"r{number}", trial_id="t", sheet_id=sheet, source="dropped", file_name="f",
                             file_sha256="0" * 64, received_at=now, doubts=asked))  # fmt: skip


def test_what_waits_now_is_said_first(bench: Any, client: httpx.Client) -> None:
    now = datetime.now(UTC)
    waiting(bench.records, now)
    today = now.astimezone().date() == (now - timedelta(minutes=25)).astimezone().date()
    lines = [words(one) for one in parsed(client.get("/")).xpath("//section[@class='now']//li//p[1]")]
    assert lines[0] == "A reading with an open question and a file that waits for its sheet."
    if today:  # a clock that ended before midnight has not ended today
        assert lines[1:] == [
            "Sheet C2 on Rag, coated is cured since today.",
            "Sheets H3 and K7 on Rag, uncoated are ready since today.",
        ]
    assert "Next clock ends" in client.get("/").text


def test_the_overview_shows_candidates_sheets_and_notes(demo_room: Any) -> None:
    with demo_room.client() as client:
        page = parsed(client.get(f"/trials/{DEMO_TRIAL_ID}"))
    cards = {words(card.xpath(".//h3/a")[0]): card for card in page.xpath("//ul[@class='tiles']/li")}
    assert list(cards) == [
        "Fenland Rag (house)", "Tidemill Cotton", "Gullwing White", "Samphire Gloss", "Withy Canvas",
        "Withy Canvas, coated",
    ]  # fmt: skip
    assert "house medium" in words(cards["Fenland Rag (house)"])
    recipe, note = cards["Gullwing White"].xpath("p")[1:]
    assert words(recipe).endswith("head gap standard; profile: supplier")
    assert words(note).startswith("No own profile for this one yet")
    rows = page.xpath("//table//tbody/tr")
    assert len(rows) == 26
    places = [words(row.xpath("td")[1]) for row in rows]
    assert places[:2] == ["day 1, turn 1", "day 1, turn 2"]
    assert places[-1] == "spare"
    states = {words(row.xpath("th")[0]): [words(cell) for cell in row.xpath("td")[2:]] for row in rows}
    assert states["T5"] == ["spoiled", "–"]
    assert states["P8"] == ["cured", "2 in use, 4 left out"]
    assert states["C4"] == ["coated and dry", "–"]
    assert "Everything in this trial is invented" in words(page.xpath("//section[@id='notes']")[0])
    home = f"/trials/{DEMO_TRIAL_ID}"
    links = set(page.xpath("//ul[@class='whole']//a/@href"))
    assert links == {f"{home}/edit", f"/journal?trial={DEMO_TRIAL_ID}", f"{home}/archive"}


def test_every_link_of_the_overview_leads_somewhere(demo_room: Any) -> None:
    with demo_room.client() as client:
        page = parsed(client.get(f"/trials/{DEMO_TRIAL_ID}"))
        for link in sorted({one.partition("#")[0] for one in page.xpath("//main//a/@href") if one[0] == "/"}):
            assert client.get(link).status_code == 200, link


def test_many_sheets_are_paged(bench: Any, client: httpx.Client) -> None:
    with bench.records.work("filled", who="A") as work:
        work.add(Medium(id="m", name="Rag"))
        work.add(Trial(id="t", name="Spring", begun=date(2026, 1, 1)))
        work.add(Candidate(id="c", trial_id="t", medium_id="m", name="Rag"))
        for number in range(SHEETS_SHOWN + 7):
            work.add(
                Sheet(id=f"s{number}", trial_id="t", candidate_id="c", code=f"K{number}", place=number + 1)
            )
    codes = []
    for number in (1, 2):
        page = parsed(client.get(f"/trials/t?page={number}"))
        codes += [words(one) for one in page.xpath("//table//th[@scope='row']")]
    assert codes == [f"K{number}" for number in range(SHEETS_SHOWN + 7)]


def test_a_sealed_question_is_shown_and_not_asked_for(bench: Any, client: httpx.Client) -> None:
    trial = begin_trial(bench.records, "Spring", question="Which?", who="A").thing
    with bench.records.work("sealed", who="A") as work:
        brief = Brief(id="b", trial_id=trial.id, question="Which?")
        sealed = {"sealed_at": work.now, "sealed_by": "A", "seal": seal_of(brief, at=work.now, by="A")}
        work.add(Brief(id="b", trial_id=trial.id, question="Which?", **sealed))
    assert not parsed(client.get(f"/trials/{trial.id}/edit")).xpath("//textarea")
    home = f"/trials/{trial.id}"
    assert send(client, f"{home}/edit", f"{home}/edit", name="Late spring").status_code == 303


@pytest.mark.parametrize("station", ["look", "last", "cost", "decide", "keep"])
def test_later_stations_say_what_can_be_done_by_hand(demo_room: Any, station: str) -> None:
    with demo_room.client() as client:
        page = parsed(client.get(f"/trials/{DEMO_TRIAL_ID}/{station}"))
    assert "This station is not there yet." in words(page.xpath("//p[@class='intro']")[0])
    assert len(words(page.xpath("//section[contains(@class, 'by-hand')]")[0])) > 250
    # Nothing is pretended: only notes and files can be kept here.
    forms = page.xpath("//main//form")
    assert forms
    assert all(form.get("action").startswith(("/notes", "/attachments")) for form in forms)


@pytest.mark.parametrize("address", ["/trials/nobody", "/trials/nobody/edit", "/trials/nobody/look"])
def test_a_trial_that_is_not_there_is_not_found(client: httpx.Client, address: str) -> None:
    answer = client.get(address)
    assert answer.status_code == 404
    assert "there is no such trial" in answer.text


def test_forms_of_others_change_nothing(client: httpx.Client) -> None:
    own = {name: value for name, value in client.headers.items() if name != "x-csrf-token"}
    with httpx.Client(base_url=client.base_url, headers=own) as stranger:
        for address in ("/demo", "/trials", "/notes", "/stock/media", "/studio"):
            assert stranger.post(address, data={"name": "X", "csrf": "guess"}).status_code == 403, address
    assert "five-lines" in client.get("/").text

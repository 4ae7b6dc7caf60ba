"""Gloss as a browser without scripts meets it: typed in, undone, set aside, and shown beside results."""

from __future__ import annotations

import time
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import httpx
import pytest

from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.trial import Candidate, Trial
from laydown.usecases.demo_trial import HOUSE, build_demo_trial
from laydown.usecases.measuring.attach_readings import attach_readings
from page_reading import alert, tree, words
from served_bench import ServedBench, served_bench
from spring_trial import GLOSS, PRINTED, Spring, scans_of, spring_trial
from ticking_clock import Clock

STATION = "/trials/spring/gloss"
TYPED = {
    "sheet": "s-K2", "place": "paper white", "angle": "60", "direction": "along", "v1": "2,9", "v2": "3.1",
    "meter": "hand meter", "at": "2026-01-14T10:00",
}  # fmt: skip


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedBench]:
    with served_bench(tmp_path_factory.mktemp("gloss")) as bench:
        yield bench


@pytest.fixture
def clock(served: ServedBench, empty_sqlite: Path, tmp_path: Path) -> Clock:
    return served.fresh(empty_sqlite, tmp_path)


@pytest.fixture
def spring(served: ServedBench, clock: Clock) -> Spring:
    return spring_trial(served.records)


@pytest.fixture
def client(served: ServedBench) -> Iterator[httpx.Client]:
    with served.client() as client:
        yield client


def keep(client: httpx.Client, **changes: str) -> httpx.Response:
    return client.post(STATION, data={**TYPED, **changes})


def followed(client: httpx.Client, answer: httpx.Response) -> httpx.Response:
    assert answer.status_code == 303, answer.text
    return client.get(answer.headers["location"])


def finished(client: httpx.Client, address: str) -> httpx.Response:
    for _ in range(600):
        answer = client.get(address)
        if "data-progress=" not in answer.text:
            return answer
        time.sleep(0.05)
    raise AssertionError(f"{address} goes on working")


def test_a_reading_is_typed_with_comma_or_point_and_undone(client: httpx.Client, spring: Spring) -> None:
    shown = followed(client, keep(client))
    (kept,) = spring.facts.gloss
    assert (kept.sheet_id, kept.values, kept.direction) == ("s-K2", (2.9, 3.1), "along")
    assert kept.instrument == "hand meter"
    told = words(shown)
    assert "Paper white , 60°, along the feed, hand meter" in told
    assert "3.0 GU ± 0.1" in told
    page = tree(shown)
    assert page.xpath('string(//select[@name="sheet"]/option[@selected]/@value)') == "s-K2"
    assert page.xpath('string(//input[@name="meter"]/@value)') == "hand meter"  # at hand for the next one
    (entry,) = page.xpath('//form[contains(@action, "/undo")]/@action')
    client.post(entry, data={"back": STATION})
    assert spring.facts.gloss == ()


def test_the_sheets_page_has_its_own_form_and_comes_back_to_it(client: httpx.Client, spring: Spring) -> None:
    page = client.get("/trials/spring/sheets/s-K2")
    form = tree(page).xpath(f'//form[@action="{STATION}"]')[0]
    assert form.xpath('.//input[@name="sheet"]/@value') == ["s-K2"]
    assert form.xpath('.//input[@name="back"]/@value') == ["sheet"]
    answer = keep(client, back="sheet", place="other", other=" Deep  Shadow ")
    assert answer.headers["location"].startswith("/trials/spring/sheets/s-K2?done=")
    assert "Deep shadow , 60°" in words(followed(client, answer))
    assert spring.facts.gloss[0].place == "deep shadow"


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"sheet": ""}, "the sheet is missing"),
        ({"v1": "", "v2": ""}, "no value was typed"),
        ({"v1": "shiny"}, 'repeat 1: "shiny" is not a number'),
        ({"v1": "2500"}, "2500 GU cannot be: a meter shows 0 to 2000"),
        ({"v2": "-1"}, "-1 GU cannot be"),
        ({"angle": "50"}, "gloss is not read at 50°"),
        ({"angle": ""}, "gloss is not read at 0°"),
        ({"place": "other", "other": ""}, "the name of the place is missing"),
        ({"at": "2026-01-01T10:00"}, "cannot have been read then"),
        ({"direction": "up"}, 'how the meter lay: "up"'),
    ],
)
def test_a_refusal_keeps_what_was_typed(
    client: httpx.Client, spring: Spring, changes: dict[str, str], why: str
) -> None:
    answer = keep(client, **changes)
    assert answer.status_code == 422
    assert why in alert(answer)
    typed = {**TYPED, **changes}
    page = tree(answer)
    for name in ("v1", "v2", "meter", "at"):
        assert page.xpath(f'string(//input[@name="{name}"]/@value)') == typed[name]
    assert spring.facts.gloss == ()


def test_what_looks_mistyped_asks_once_more(client: httpx.Client, spring: Spring) -> None:
    asked = keep(client, v1="29", v2="31", v3="3,0")
    assert asked.status_code == 422
    assert "3 GU lies far from the other repeats (29 in the middle)" in alert(asked)
    assert tree(asked).xpath('//input[@name="confirmed"]')
    followed(client, keep(client, v1="29", v2="31", v3="3,0", confirmed="on"))
    assert spring.facts.gloss[0].values == (29.0, 31.0, 3.0)


def test_an_early_reading_is_marked_and_let_in_with_a_reason(client: httpx.Client, spring: Spring) -> None:
    shown = followed(client, keep(client, at="2026-01-12T12:00"))
    assert "read too early, not used" in words(shown)
    (kept,) = spring.facts.gloss
    seen = tree(shown).xpath(f'string(//form[contains(@action, "{kept.id}")]//input[@name="seen"]/@value)')
    change = f"{STATION}/{kept.id}/change"
    refused = client.post(change, data={"what": "use", "seen": seen})
    assert refused.status_code == 422
    assert "why is it used all the same" in alert(refused)
    used = followed(client, client.post(change, data={"what": "use", "seen": seen, "why": "borrowed meter"}))
    assert "early, used all the same" in words(used)
    stale = client.post(change, data={"what": "leave", "seen": seen})
    assert stale.status_code == 422  # the page it came from is no longer how things stand
    again = tree(used).xpath(f'string(//form[contains(@action, "{kept.id}")]//input[@name="seen"]/@value)')
    followed(client, client.post(change, data={"what": "leave", "seen": again}))
    assert spring.facts.gloss[0].early_used_at is None


def test_set_aside_and_back_again_from_the_sheet(client: httpx.Client, spring: Spring) -> None:
    followed(client, keep(client))
    (kept,) = spring.facts.gloss
    with spring.records.look() as look:
        seen = str(look.revision(type(kept), kept.id))
    change = f"{STATION}/{kept.id}/change"
    answer = client.post(change, data={"what": "set aside", "seen": seen, "why": "dust", "back": "sheet"})
    assert answer.headers["location"].startswith("/trials/spring/sheets/s-K2?done=")
    assert "Dust." in words(followed(client, answer))
    seen = str(int(seen) + 1)
    followed(client, client.post(change, data={"what": "bring back", "seen": seen}))
    assert spring.facts.gloss[0].set_aside_at is None


def test_another_trials_sheet_or_reading_is_not_found(client: httpx.Client, spring: Spring) -> None:
    followed(client, keep(client))
    (kept,) = spring.facts.gloss
    spring.keep(Trial(id="other", name="Other", begun=PRINTED.date()))
    assert client.post("/trials/other/gloss", data=TYPED).status_code == 404
    answer = client.post(f"/trials/other/gloss/{kept.id}/change", data={"what": "set aside", "why": "x"})
    assert answer.status_code == 404


def test_nothing_printed_teaches_and_a_closed_trial_only_shows(client: httpx.Client, spring: Spring) -> None:
    spring.keep(Trial(id="empty", name="Empty", begun=PRINTED.date()))
    assert "No sheet can be read yet" in words(client.get("/trials/empty/gloss"))
    assert "/trials/spring/gloss" in client.get("/trials/spring/measure").text
    followed(client, keep(client))
    client.post("/api/v1/trials/spring/close")
    closed = client.get(STATION)
    assert not tree(closed).xpath('//button[text()="Keep the reading"]')
    assert "3.0 GU" in words(closed)


def read_all(client: httpx.Client) -> None:
    values = {"K2": "2,9", "K3": "3,3", "K4": "2,8", "H5": "28", "H6": "26,5", "H7": "31"}
    for code, value in values.items():
        assert keep(client, sheet=f"s-{code}", v1=value, v2="").status_code == 303


def test_the_comparison_of_the_trial_shows_it_and_its_files_too(client: httpx.Client, spring: Spring) -> None:
    attach_readings(spring.records, "spring", scans_of(build_demo_trial(), conditions=("M1",)), who="Ada")
    address = "/comparisons/trial-spring-medium"
    assert not tree(finished(client, address)).xpath('//*[@id="gloss"]')
    read_all(client)
    shown = tree(finished(client, address))
    rows = [" ".join("".join(row.itertext()).split()) for row in shown.xpath('//*[@id="gloss"]//tbody/tr')]
    assert [row.startswith(name) for row, name in zip(rows, (HOUSE, GLOSS), strict=True)] == [True, True]
    assert "△ higher +25.5" in rows[1]
    told = client.get(f"{address}.json").json()["gloss"]
    assert told["quantities"][0]["differences"][0]["call"] == "higher"
    assert client.get(f"{STATION}.json").json() == told
    lots = finished(client, "/comparisons/trial-spring-lot")
    assert not tree(lots).xpath('//*[@id="gloss"]')


def test_the_coat_page_pairs_the_same_sheets(client: httpx.Client, spring: Spring) -> None:
    attach_readings(spring.records, "spring", scans_of(build_demo_trial(), conditions=("M1",)), who="Ada")
    spring.keep(
        Candidate(
            id="c-coat", trial_id="spring", medium_id="rag", name="Fenland Rag coated", finish="coated",
            twin_id="c-rag", position=2,
        )
    )  # fmt: skip
    for number in (1, 2):
        sheet = Sheet(id=f"s-L{number}", trial_id="spring", candidate_id="c-coat", code=f"L{number}")
        spring.keep(
            sheet,
            SheetEvent(id=f"p-L{number}", trial_id="spring", sheet_id=sheet.id, at=PRINTED, kind="printed"),
            SheetEvent(
                id=f"c-L{number}", trial_id="spring", sheet_id=sheet.id, at=PRINTED + timedelta(days=3),
                kind="coated",
            ),
        )  # fmt: skip
    keep(client, sheet="s-L1", v1="3", v2="")
    keep(client, sheet="s-L1", v1="31", v2="", at="2026-01-17T12:00")
    one = " ".join(finished(client, "/trials/spring/coat").text.split())
    assert "too few: none uncoated, 1 sheet coated" in one
    keep(client, sheet="s-L2", v1="3,4", v2="")
    keep(client, sheet="s-L2", v1="32", v2="", at="2026-01-17T12:00")
    shown = tree(finished(client, "/trials/spring/coat"))
    rows = [" ".join("".join(row.itertext()).split()) for row in shown.xpath("//tbody/tr")]
    (row,) = [row for row in rows if row.startswith("Gloss")]
    # 31 - 3 and 32 - 3.4: mean +28.3, scipy.stats.t.interval(0.95, 1, 28.3, 0.3) from 24.5 to 32.1.
    assert "+28.3 (+24.5 to +32.1) GU" in row
    assert "60°, along the feed, hand meter; the same 2 sheets before and after coating" in row
    assert "cannot tell yet" not in row


def test_a_program_does_the_same(client: httpx.Client, spring: Spring) -> None:
    body = {"place": "black", "angle": 60, "values": [2.0, 2.2], "measured_at": "2026-01-12T12:00:00Z"}
    made = client.post("/api/v1/sheets/s-K2/gloss", json=body)
    assert made.status_code == 201, made.text
    gloss_id = made.json()["thing"]["id"]
    (standing,) = client.get("/api/v1/trials/spring/gloss").json()
    assert (standing["state"], standing["reading"]["values"]) == ("early", [2.0, 2.2])
    for act, sent in (
        ("use-early", {"why": "borrowed"}),
        ("leave-out", None),
        ("set-aside", {"why": "dust"}),
        ("bring-back", None),
    ):
        answer = client.post(f"/api/v1/gloss/{gloss_id}/{act}", json=sent)
        assert answer.status_code == 200, answer.text
    refused = client.post("/api/v1/sheets/s-K2/gloss", json={**body, "values": [3000.0]})
    assert (refused.status_code, "cannot be" in refused.json()["problem"]) == (400, True)
    naive = client.post("/api/v1/sheets/s-K2/gloss", json={**body, "measured_at": "2026-01-14T12:00:00"})
    assert naive.status_code == 422
    client.post(f"/api/v1/journal/{made.json()['entry_id']}/undo")

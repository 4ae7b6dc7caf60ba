"""The measuring station and what belongs to it, met as by a browser without scripts."""

from __future__ import annotations

import re
import socket
import time
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import httpx
import numpy as np
import pytest

from laydown.compute.runner import SerialRunner
from laydown.records.trial_facts import STUDIO_ID
from laydown.science.readings import read_measurements
from laydown.trials.measured import Reading
from laydown.trials.sheets import Sheet, SheetEvent
from laydown.trials.studio import Studio
from laydown.trials.trial import Candidate, Criterion, Trial
from laydown.usecases.compare_media import compare_media
from laydown.usecases.demo_trial import HOUSE, build_demo_trial
from laydown.usecases.measuring.attach_readings import attach_readings
from laydown.usecases.measuring.mended_file import mended_file
from laydown.usecases.measuring.parsed_file import HandedIn
from laydown.usecases.measuring.trial_comparison import trial_request
from laydown.web.forms import TOKEN_HEADER
from laydown.web.trial_comparison import TrialComparisonId, trial_comparison_id
from page_reading import alert, classed, forms_of, tree, words
from served_bench import ServedBench, served_bench
from spring_trial import GLOSS, PRINTED, Spring, brief, scans_of, spring_trial
from ticking_clock import Clock

PLAIN = b"id,R,G,B,L,a,b\n1,255,255,255,95,0,1\n2,0,0,0,16,0,0\n3,255,0,0,48,66,45\n"
STATION = "/trials/spring/measure"


@pytest.fixture(scope="module")
def demo_files() -> dict[str, bytes]:
    return build_demo_trial()


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedBench]:
    with served_bench(tmp_path_factory.mktemp("measure")) as bench:
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


def hand_in(client: httpx.Client, *files: HandedIn, **fields: str) -> httpx.Response:
    return client.post(
        f"{STATION}/files",
        data=fields,
        files=[("files", (one.name, one.content, "application/octet-stream")) for one in files],
    )


def followed(client: httpx.Client, answer: httpx.Response) -> httpx.Response:
    assert answer.status_code == 303, answer.text
    shown = client.get(answer.headers["location"])
    assert shown.status_code == 200
    return shown


def undo_of(client: httpx.Client, answer: httpx.Response) -> httpx.Response:
    """Press the undo a page offers."""
    (action,) = {form.action for form in tree(answer).forms if "/undo" in (form.action or "")}
    (fields,) = forms_of(answer, action)
    return followed(client, client.post(action, data=fields))


def finished(client: httpx.Client, address: str) -> httpx.Response:
    """A page once its comparison is worked out."""
    for _ in range(1200):
        answer = client.get(address)
        if "data-progress=" not in answer.text:
            return answer
        time.sleep(0.05)
    raise AssertionError(f"{address} goes on working")


def test_an_empty_station_teaches(client: httpx.Client, spring: Spring) -> None:
    shown = client.get(STATION)
    assert shown.status_code == 200
    assert "Ready to be measured 6" in words(shown)
    assert "Not known yet. The first reading can tell" in words(shown)
    assert "Name the folder your instrument’s software exports to" in words(shown)
    codes = [item.text_content() for item in classed(tree(shown), "sheet-code")]
    assert codes == ["K2", "K3", "K4", "H5", "H6", "H7"]


def test_a_trial_without_prints_says_what_comes_first(client: httpx.Client, spring: Spring) -> None:
    from datetime import date

    spring.keep(Trial(id="new", name="New", begun=date(2026, 3, 1)))
    shown = words(client.get("/trials/new/measure"))
    assert "Nothing has been printed yet." in shown
    assert "Hand in" not in shown.split("Nothing has been printed yet.")[1]
    assert client.get("/trials/nowhere/measure").status_code == 404


def test_files_are_handed_in_and_taken_back(
    client: httpx.Client, spring: Spring, demo_files: dict[str, bytes]
) -> None:
    shown = followed(client, hand_in(client, *scans_of(demo_files)))
    assert "received 12 readings: K2 (2), K3 (2)" in words(shown)
    assert "Measured 6" in words(shown)
    lines = [" ".join(line.text_content().split()) for line in classed(tree(shown), "reading")]
    assert lines[0] == "scan K2-M1.txt M1; read Tue 13 Jan, 10:17, 25 h after printing ● used"
    assert "Every reading is of 703 patches. Times are those of Europe/London." in words(shown)
    assert "Ready to be measured 6" in words(undo_of(client, shown))
    assert spring.facts.readings == ()


def test_what_holds_for_many_readings_is_said_once_with_their_sheets(
    client: httpx.Client, spring: Spring
) -> None:
    """Files that state a time before the print; each is placed all the same, and the reason stands once."""
    old = [
        HandedIn(
            f"{code}.csv",
            f"CREATED: 2020-01-01T00:00:00Z\nid,R,G,B,L,a,b\n1,255,255,255,95,0,{number}\n"
            f"2,0,0,0,16,0,0\n3,255,0,0,48,66,45\n".encode(),
        )
        for number, code in enumerate(("K2", "K3", "K4", "H5"))
    ]
    told = words(followed(client, hand_in(client, *old)))
    said = "The time that its file states was not used: the sheet was not printed then."
    assert told.count(said) == 1
    assert f"{said} H5, K2, K3, K4" in told
    assert "UTC" not in told
    reading = next(one for one in spring.facts.readings if one.file_name == "K2.csv")
    alone = words(client.get(f"/trials/spring/readings/{reading.id}"))
    assert said in alone
    assert "1 January 2020, 00:00" in alone


def test_what_cannot_be_read_is_told_beside_what_was_kept(
    client: httpx.Client, spring: Spring, demo_files: dict[str, bytes]
) -> None:
    good = scans_of(demo_files, conditions=("M1",), sheets=1)[0]
    answer = hand_in(
        client, good, HandedIn("K3.txt", b"nothing"), HandedIn("photo.jpg", b"x"), HandedIn("K4.csv", b"")
    )
    assert answer.status_code == 422
    assert alert(answer).startswith("1 file was kept. 3 were not taken: photo.jpg: a picture;")
    assert "K3.txt: this text does not look like measurements" in alert(answer)
    assert "K4.csv: the file is empty." in alert(answer)
    assert [one.file_name for one in spring.facts.readings] == ["scan K2-M1.txt"]
    undo_of(client, answer)
    assert spring.facts.readings == ()


def test_a_file_again_is_noticed_and_changes_nothing(client: httpx.Client, spring: Spring) -> None:
    followed(client, hand_in(client, HandedIn("K2.csv", PLAIN)))
    again = hand_in(client, HandedIn("copy.csv", PLAIN))
    assert again.status_code == 422
    assert "Nothing was kept. 1 was not taken: copy.csv: this file is here already, as K2.csv" in alert(again)
    assert len(spring.facts.readings) == 1


def test_a_form_without_files_or_with_a_strange_time_is_shown_again(
    client: httpx.Client, spring: Spring
) -> None:
    nothing = client.post(f"{STATION}/files", data={"sheet": "order"})
    assert nothing.status_code == 422
    assert "no file was chosen" in alert(nothing)
    (chosen,) = tree(nothing).xpath("//select[@name='sheet']/option[@selected]/@value")
    assert chosen == "order"
    strange = hand_in(client, HandedIn("K2.csv", PLAIN), at="tomorrow")
    assert "is no time" in alert(strange)
    assert spring.facts.readings == ()


def test_a_form_from_elsewhere_is_refused(served: ServedBench, spring: Spring) -> None:
    with served.client(**{TOKEN_HEADER: "wrong"}) as stranger:
        answer = hand_in(stranger, HandedIn("K2.csv", PLAIN))
    assert answer.status_code == 403
    assert spring.facts.readings == ()


def test_a_drop_beyond_all_measure_is_refused_unread(served: ServedBench, spring: Spring) -> None:
    """Said before the first megabyte is received: only the head of the request is ever sent."""
    url = httpx.URL(served.address)
    head = (
        f"POST {STATION}/files HTTP/1.1\r\nHost: {url.host}:{url.port}\r\nOrigin: {str(url).rstrip('/')}\r\n"
        f"Content-Type: multipart/form-data; boundary=x\r\nContent-Length: {600 * 2**20}\r\n\r\n"
    )
    with socket.create_connection((url.host, url.port or 80), timeout=30) as line:
        line.sendall(head.encode())
        answer = line.recv(4096).decode()
    assert answer.startswith("HTTP/1.1 413")
    assert spring.facts.readings == ()


def test_a_waiting_file_gets_its_sheet(client: httpx.Client, spring: Spring) -> None:
    shown = followed(client, hand_in(client, HandedIn("export.csv", PLAIN)))
    assert "Waiting for their sheet 1" in words(shown)
    reading = spring.facts.readings[0]
    action = f"/trials/spring/readings/{reading.id}/change"
    (fields,) = forms_of(shown, action)
    placed = followed(client, client.post(action, data={**fields, "sheet": "s-K3", "what": "place"}))
    assert "Waiting for their sheet" not in words(placed)
    assert [one.file_name for one in spring.readings("K3")] == ["export.csv"]
    stale = client.post(action, data={**fields, "sheet": "s-K4", "what": "place"})
    assert stale.status_code == 422
    assert "somebody else changed this" in alert(stale)


def test_one_reading_is_looked_into_and_put_right(
    client: httpx.Client, spring: Spring, demo_files: dict[str, bytes]
) -> None:
    followed(client, hand_in(client, *scans_of(demo_files, conditions=("M1",), sheets=1)))
    reading = spring.readings("K2")[0]
    address = f"/trials/spring/readings/{reading.id}"
    shown = client.get(address)
    assert "Reading of sheet K2, Fenland Rag (house) : ● used" in words(shown)
    assert "Measuring condition M1 MEASUREMENT_SOURCE, line" in words(shown)
    assert "Lightest: patch" in words(shown)
    assert client.get(f"{address}/file").content == scans_of(demo_files)[0].content
    assert client.get(f"{address}/file?mended=true").status_code == 404
    assert client.get(f"/trials/elsewhere/readings/{reading.id}").status_code == 404
    with spring.records.work("set up", who="the tests") as work:  # as a watched folder may hold it
        work.change(replace(reading, file_name='day 1/a\r\nX-Evil: 1;"K2".txt'))
    saved = client.get(f"{address}/file")
    assert saved.status_code == 200
    assert saved.headers["content-disposition"].startswith('attachment; filename="a__X-Evil: 1;_K2_.txt"')
    assert "x-evil" not in saved.headers

    def send(**fields: str) -> httpx.Response:
        (held, *_) = forms_of(client.get(address), f"{address}/change")
        return client.post(f"{address}/change", data={"seen": held["seen"], **fields})

    aside = followed(client, send(what="set aside", why="a finger on it"))
    assert "× set aside" in words(aside)
    assert "a finger on it" in words(aside)
    back = followed(client, send(what="bring back"))
    assert "● used" in words(back)
    refused = send(what="set aside", why="")
    assert refused.status_code == 422
    assert "why is it set aside?" in alert(refused)
    early = followed(client, send(what="time", at="2026-01-12T12:00"))
    assert "○ read too early, not used" in words(early)
    assert "Use it all the same" in words(early)
    assert "cannot have been read then" in alert(send(what="time", at="2026-01-01T12:00"))
    assert "is not one of place" in alert(send(what="burn"))


def upside_down(file: HandedIn) -> HandedIn:
    tables = read_measurements(file.content, file=file.name).tables
    return HandedIn(file.name, mended_file(tables, np.arange(len(tables[0]))[::-1], words="read upside down"))


def test_a_question_is_asked_and_answered(
    client: httpx.Client, spring: Spring, demo_files: dict[str, bytes]
) -> None:
    files = scans_of(demo_files, conditions=("M1",))
    shown = followed(client, hand_in(client, *files[:2], upside_down(files[2])))
    assert "Questions 1" in words(shown)
    (card,) = classed(tree(shown), "question-card")
    assert "not used until answered" in card.text_content()
    reading = spring.readings("K4")[0]
    action = f"/trials/spring/readings/{reading.id}/answer"
    (fields,) = forms_of(shown, action)
    buttons = [button.get("value") for button in card.xpath(".//button")]
    assert [value.partition(":")[0] for value in buttons] == ["mend", "leave_out", "keep"]
    wrong = client.post(action, data={**fields, "answer": "burn: it"})
    assert wrong.status_code == 422
    assert "none of the answers" in alert(wrong)
    mended = followed(client, client.post(action, data={**fields, "answer": buttons[0]}))
    assert "Questions" not in words(mended)
    assert "answered “Turn the sheet round” about scan K4-M1.txt of sheet K4" in words(mended)
    own = client.get(f"/trials/spring/readings/{reading.id}")
    assert "Turn the sheet round." in words(own)
    assert client.get(f"/trials/spring/readings/{reading.id}/file?mended=true").status_code == 200
    assert "Questions 1" in words(undo_of(client, mended))


def test_the_chart_is_confirmed_or_given(
    client: httpx.Client, spring: Spring, demo_files: dict[str, bytes]
) -> None:
    shown = followed(client, hand_in(client, *scans_of(demo_files, conditions=("M1",), sheets=1)))
    assert "Do all sheets carry the chart of scan H5-M1.txt, 703 patches?" in words(shown)
    fields = next(form for form in forms_of(shown, "/trials/spring/chart") if "reading" in form)
    confirmed = followed(client, client.post("/trials/spring/chart", data=fields))
    assert "Every reading is held against scan H5-M1.txt ." in words(confirmed)
    other = HandedIn("target.txt", b"id,R,G,B\n" + b"".join(b"%d,%d,0,0\n" % (n, n) for n in range(30)))
    answer = client.post("/trials/spring/chart", files=[("files", (other.name, other.content))])
    assert "Questions 2" in words(followed(client, answer))
    refused = client.post(
        "/trials/spring/chart", files=[("files", ("x.txt", b"id,L,a,b\n1,95,0,1\n2,16,0,0\n"))]
    )
    assert "names no device values" in alert(refused)
    again = followed(client, client.post(f"{STATION}/check"))
    assert "Nothing new looks wrong." in words(again)


def test_the_watched_folder_and_what_it_could_not_read(
    client: httpx.Client, spring: Spring, tmp_path: Path
) -> None:
    from laydown.records.folder_watcher import FolderWatcher
    from laydown.usecases.measuring.watch_folder import look_round

    folder = tmp_path / "exports"
    with spring.records.work("set", who="Ada") as work:
        studio = work.get(Studio, STUDIO_ID)
        work.change(replace(studio, watched_folder=str(folder), watched_trial_id="spring"))
    assert f"There is no folder {folder} on this computer now." in words(client.get(STATION))
    folder.mkdir()
    (folder / "letter.txt").write_bytes(b"Dear Ada\n")
    look_round(spring.records, FolderWatcher(folder, still_seconds=0.0), "spring")
    shown = client.get(STATION)
    assert "Could not be read: letter.txt: this text does not look like measurements" in words(shown)
    (action,) = {form.action for form in tree(shown).forms if "/dismiss" in (form.action or "")}
    gone = followed(client, client.post(action))
    assert "Could not be read" not in words(gone).partition("Watched folder")[2]
    assert client.post(action).status_code == 404


def test_readings_are_typed_in(client: httpx.Client, spring: Spring) -> None:
    shown = client.get("/trials/spring/typed?sheet=s-K2")
    assert [field.get("name") for field in tree(shown).xpath("//table//input")] == ["white.V", "black.V"]
    assert len(tree(client.get("/trials/spring/typed?form=Lab")).xpath("//table//input")) == 33
    (fields,) = forms_of(shown, "/trials/spring/typed")
    typed = {**fields, "white.V": "0,07", "black.V": "1.62", "measurement": "M0", "at": "2026-02-01T10:00"}
    wrong = client.post("/trials/spring/typed", data={**typed, "black.V": "0.05"})
    assert wrong.status_code == 422
    assert "Were the two exchanged?" in alert(wrong)
    (again,) = forms_of(wrong, "/trials/spring/typed")
    assert (again["white.V"], again["black.V"], again["sheet"]) == ("0,07", "0.05", "s-K2")
    doubtful = client.post("/trials/spring/typed", data={**typed, "white.V": "0.5"})
    assert "please look again" in alert(doubtful)
    assert tree(doubtful).xpath("//input[@name='confirmed']")
    kept = followed(client, client.post("/trials/spring/typed", data=typed))
    assert (
        "K2 typed in.txt M0, typed in, 2 patches; read Sun 1 Feb, 10:00, 20 days after printing ● used"
        in words(kept)
    )
    nothing = client.post("/trials/spring/typed", data={**fields, "sheet": ""})
    assert "the sheet is missing" in alert(nothing)
    assert client.post("/trials/spring/typed", data={**typed, "sheet": "s-XX"}).status_code == 404


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("trial-k7x2-medium", TrialComparisonId("k7x2", "medium")),
        ("trial-k7x2-age-M1", TrialComparisonId("k7x2", "age", "M1")),
        ("trial-demo-2-lot-M0", TrialComparisonId("demo-2", "lot", "M0")),
        ("trial-k7x2-colour", None),
        ("trial--medium", None),
        ("0123456789abcdef", None),
        ("demo", None),
    ],
)
def test_the_id_of_a_trials_comparison(text: str, told: TrialComparisonId | None) -> None:
    assert trial_comparison_id(text) == told
    if told is not None:
        assert str(told) == text


def test_the_comparisons_of_the_trial(
    client: httpx.Client, spring: Spring, demo_files: dict[str, bytes]
) -> None:
    empty = client.get("/trials/spring/comparisons")
    assert "Nothing to compare yet." in words(empty)
    none = finished(client, "/comparisons/trial-spring-medium")
    assert none.status_code == 422
    assert "no reading can be used yet" in alert(none)
    followed(client, hand_in(client, *scans_of(demo_files)))
    chosen = client.get("/trials/spring/comparisons?condition=M2")
    assert "Fenland Rag (house) 3 sheets: K2, K3, K4" in words(chosen)
    (address,) = {a.get("href") for a in tree(chosen).xpath("//a[text()='Show the comparison']")}
    assert address == "/comparisons/trial-spring-medium-M2"
    shown = finished(client, address)
    assert shown.status_code == 200
    assert "Judged under M2, white backing, D50/2°." in words(shown)
    (back,) = tree(shown).xpath("//p[@class='over']/a")
    assert (back.text, back.get("href")) == ("Spring trial: measure", STATION)
    assert not tree(shown).xpath("//a[contains(@href, '/arrange')]")
    assert client.get("/trials/spring/comparisons?by=colour").status_code == 422
    assert client.get("/comparisons/trial-spring-colour").status_code == 404
    assert client.get("/comparisons/trial-nowhere-medium").status_code == 404


def test_every_page_of_a_comparison_takes_a_trials_and_all_say_the_same(
    client: httpx.Client, spring: Spring, demo_files: dict[str, bytes]
) -> None:
    followed(client, hand_in(client, *scans_of(demo_files, conditions=("M1",))))
    aside = spring.readings("K2")[0]
    with spring.records.work("set aside", who="Ada") as work:
        work.change(
            brief(criteria=(Criterion(name="deep black", weight=1.0, finding="dmax_visual"),), gates=())
        )
        work.change(replace(aside, set_aside_at=work.now, set_aside_why="smudged"))
    address = "/comparisons/trial-spring-medium"
    shown = finished(client, address)
    caution = "Left out: 1 reading set aside: K2 (smudged)."
    assert caution in words(shown)
    told = client.get(f"{address}.json").json()
    (criterion,) = classed(tree(shown), "criterion")
    sentences = told["brief"]["criteria"][0]["sentences"]
    assert sentences[0].startswith(f"Better than {HOUSE}: {GLOSS} by ")
    assert all(one in " ".join(criterion.text_content().split()) for one in sentences)
    assert caution in told["cautions"]
    assert told["house"] == HOUSE
    with spring.records.look() as look:
        request = trial_request(look, spring.facts, by="medium")
    direct = compare_media(request.files, options=request.options, runner=SerialRunner())
    values = {
        (f["id"], c["name"]): f["value"] for c in told["candidates"] for f in c["findings"] if f["primary"]
    }
    assert values == pytest.approx(
        {(f.id, c.name): f.value for c in direct.candidates for f in c.findings if f.primary}
    )
    pdf = client.get(f"{address}.pdf?paper=us-letter")
    assert pdf.content.startswith(b"%PDF")
    import io

    import pypdf

    text = " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf.content)).pages)
    assert "smudged" in re.sub(r"\s+", " ", text)
    assert "The brief calls differences from 0.03 D on ones that matter." in re.sub(r"\s+", " ", text)
    figure = next(src for src in tree(shown).xpath("//img/@src") if "/figures/" in src)
    assert client.get(figure).headers["content-type"] == "image/svg+xml"
    assert client.get(f"{address}/patches?medium=1").status_code == 200
    assert client.get(f"{address}/gamut?first={GLOSS}").status_code == 200


def test_a_result_follows_the_readings(
    client: httpx.Client, spring: Spring, demo_files: dict[str, bytes]
) -> None:
    followed(client, hand_in(client, *scans_of(demo_files, conditions=("M1",))))
    address = "/comparisons/trial-spring-medium"
    assert "3 sheets of each medium" in words(finished(client, address)).casefold()
    reading = spring.readings("H7")[0]
    client.post(f"/trials/spring/readings/{reading.id}/change", data={"what": "set aside", "why": "odd"})
    assert "2 to 3 sheets of each medium" in words(finished(client, address)).casefold()


@pytest.fixture
def coated(spring: Spring) -> Spring:
    arm = Candidate(
        id="c-coat", trial_id="spring", medium_id="rag", name="Fenland Rag coated", finish="coated",
        twin_id="c-rag", position=2,
    )  # fmt: skip
    spring.keep(
        arm,
        *(
            Sheet(id=f"s-L{n}", trial_id="spring", candidate_id="c-coat", code=f"L{n}", place=20 + n)
            for n in (2, 3, 4)
        ),
        *(
            SheetEvent(id=f"{kind}-L{n}", trial_id="spring", sheet_id=f"s-L{n}", at=at, kind=kind)
            for n in (2, 3, 4)
            for kind, at in (("printed", PRINTED), ("coated", PRINTED + timedelta(days=2)))
        ),
    )
    return spring


def test_what_the_coat_did(client: httpx.Client, coated: Spring, demo_files: dict[str, bytes]) -> None:
    nothing = finished(client, "/trials/spring/coat")
    assert nothing.status_code == 422
    assert "no coated sheet was measured" in alert(nothing)

    def read(source: str, at: str, finish: str) -> bytes:
        lines = demo_files[source].split(b"\n")
        kept = [
            line for line in lines if not line.startswith((b"CREATED", b"FINISH", b"PRINT_AGE", b"KEYWORD"))
        ]
        head = [b'CREATED\t"%s"' % at.encode(), b'KEYWORD\t"FINISH"', b'FINISH\t"%s"' % finish.encode()]
        return b"\n".join([kept[0], *head, *kept[1:]])

    drop = [
        HandedIn(f"L{n + 1} {when}.txt", read(f"{medium}/sheet{n}-M1.txt", at, finish))
        for n in (1, 2, 3)
        for when, medium, at, finish in (
            ("before", HOUSE, "2026-01-13T12:00:00Z", "uncoated"),
            ("after", GLOSS, "2026-01-17T12:00:00Z", "coated"),
        )
    ]
    attach_readings(coated.records, "spring", drop, who="Ada")
    with coated.records.work("answered", who="Ada") as work:
        for reading in work.find(Reading):
            answered = tuple(replace(one, answer="keep: Keep it as it is") for one in reading.doubts)
            work.change(replace(reading, doubts=answered))
    shown = finished(client, "/trials/spring/coat")
    assert shown.status_code == 200
    rows = [" ".join(" ".join(row.itertext()).split()) for row in tree(shown).xpath("//tbody/tr")]
    assert [row.split(" ")[0] for row in rows] == ["Dmax", "Gamut", "White", "White", "Gloss"]
    assert all("the same 3 sheets before and after coating" in row for row in rows[:4])
    assert "▲ better" in rows[0]
    assert rows[4] == "Gloss not read; type it in where there is a meter"
    assert "each is set against itself" in words(shown)


def test_progress_is_told_to_the_page_that_waits(client: httpx.Client, coated: Spring) -> None:
    told = client.get("/trials/spring/coat/progress").json()
    assert told["state"] in {"working", "failed"}
    finished(client, "/trials/spring/coat")
    assert client.get("/trials/spring/coat/progress").json()["next"] == "/trials/spring/coat"

"""Notes and files on pages, served so that they can do no harm; search; the studio's settings."""

from __future__ import annotations

from typing import Any

import httpx
import pytest
from filled_form import form_at, parsed, send, undo_on, words

from laydown.records.search_kinds import ALL_KINDS
from laydown.trials.remarks import Attachment
from laydown.trials.studio import Studio
from laydown.trials.trial import Trial
from laydown.usecases.trial.begin_trial import begin_trial
from laydown.usecases.trial.seed_demo import DEMO_TRIAL_ID, seed_demo
from laydown.web.disposition import disposition
from laydown.web.pages import attachments
from laydown.web.security import HEADERS
from laydown.web.views.search import passage

PNG = b"\x89PNG\r\n\x1a\n" + bytes(60)
SVG = b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>"


@pytest.fixture
def home(bench: Any) -> str:
    return f"/trials/{begin_trial(bench.records, 'Spring', who='A').thing.id}"


def attach(client: httpx.Client, home: str, *files: tuple[str, bytes], **told: str) -> httpx.Response:
    data = {"about": home.rpartition("/")[2], "back": home, "kind": "photograph", **told}
    return client.post("/attachments", data=data, files=[("files", file) for file in files])


def test_a_note_is_kept_and_undone(client: httpx.Client, home: str) -> None:
    answer = send(client, home, "/notes", words="Curled <i>badly</i>.\nFlattened.")
    assert answer.headers["location"].startswith(f"{home}?done=")
    note = parsed(client.get(home)).xpath("//p[@class='remark-words']")[0]
    assert note.text_content() == "Curled <i>badly</i>.\nFlattened."
    undo_on(client, answer.headers["location"].partition("#")[0])
    assert not parsed(client.get(home)).xpath("//p[@class='remark-words']")


def test_a_note_that_is_too_long_is_not_lost(client: httpx.Client, home: str) -> None:
    answer = send(client, home, "/notes", words="x" * 10_001)
    assert answer.status_code == 422
    assert "longer than 10000" in answer.text
    assert parsed(answer).xpath("//textarea[@name='words']/text()")[0].strip() == "x" * 10_001


@pytest.mark.parametrize(
    "back", ["https://evil.example/", "//evil.example", "/\\evil.example", "javascript:alert(1)"]
)
def test_nobody_is_led_elsewhere(client: httpx.Client, home: str, back: str) -> None:
    data = {"about": home.rpartition("/")[2], "back": back, "words": "Seen."}
    answer = client.post("/notes", data=data)
    assert answer.headers["location"].startswith("/?done=")


def test_pictures_are_shown_and_everything_else_is_saved(bench: Any, client: httpx.Client, home: str) -> None:
    answer = attach(
        client,
        home,
        ("wedge.png", PNG),
        ("drawing.svg", SVG),
        ("page.html", b"<!doctype html><script>"),
        ("fake.png", b"<html><script>alert(1)</script>"),
        words="Dark",
        private="on",
    )
    assert answer.status_code == 303
    page = parsed(client.get(home))
    assert len(page.xpath("//ul[@class='pictures']//img")) == 1
    assert len(page.xpath("//ul[@class='file-list']/li")) == 3
    assert len(page.xpath("//section[@id='notes']//span[.='private']")) == 4
    with bench.records.look() as look:
        kept = {one.name: one for one in look.find(Attachment)}
    contents = {"wedge.png": PNG, "drawing.svg": SVG}
    for name, one in kept.items():
        served = client.get(f"/attachments/{one.id}")
        picture = name == "wedge.png"
        assert served.headers["content-type"] == ("image/png" if picture else "application/octet-stream"), (
            name
        )
        assert served.headers["content-disposition"].startswith("inline" if picture else "attachment"), name
        assert served.headers["x-content-type-options"] == "nosniff"
        assert served.headers["content-security-policy"] == HEADERS["Content-Security-Policy"]
        assert served.content == contents.get(name, served.content)
    saved = client.get(f"/attachments/{kept['wedge.png'].id}?save=1")
    assert saved.headers["content-disposition"].startswith("attachment")
    undo_on(client, answer.headers["location"].partition("#")[0])
    assert client.get(f"/attachments/{kept['wedge.png'].id}").status_code == 404


def test_a_file_that_is_missing_is_said_on_a_page(bench: Any, client: httpx.Client, home: str) -> None:
    attach(client, home, ("wedge.png", PNG))
    with bench.records.look() as look:
        (kept,) = look.find(Attachment)
    bench.records.vault.discard(kept.sha256)
    answer = client.get(f"/attachments/{kept.id}")
    assert answer.status_code == 404
    assert "a kept file is missing" in answer.text
    assert "laydown restore" in answer.text


def test_a_file_is_named_as_it_was() -> None:
    told = disposition('Größe "1".png', shown=True)
    # RFC 8187, 3.2: percent-encoded UTF-8 after the charset.
    assert told == "inline; filename=\"Gr__e _1_.png\"; filename*=UTF-8''Gr%C3%B6%C3%9Fe%20%221%22.png"
    assert "\n" not in disposition("a\r\nSet-Cookie: x.png", shown=False)


def test_what_cannot_be_attached_says_why(bench: Any, client: httpx.Client, home: str) -> None:
    empty = attach(client, home, ("empty.png", b""), words="What I typed")
    assert empty.status_code == 422
    assert "empty.png: the file is empty" in empty.text
    assert parsed(empty).xpath("//input[@name='words']/@value") == ["What I typed"]
    none = client.post(
        "/attachments", data={"about": "x", "back": home, "kind": "other"}, files=[("other", ("", b""))]
    )
    assert none.status_code == 422
    assert "no file was chosen" in none.text


def test_more_than_can_be_meant_is_refused_before_it_is_received(
    client: httpx.Client, home: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    from laydown.kernel.constants import Constant

    monkeypatch.setattr(attachments, "LARGEST_POST", Constant(1000.0, "byte", "the test", "computed"))
    answer = attach(client, home, ("big.png", PNG * 100))
    assert answer.status_code == 413
    assert "together are larger" in answer.text


def test_search_leads_to_what_was_found(bench: Any, client: httpx.Client) -> None:
    seed_demo(bench.records)
    page = parsed(client.get("/search", params={"q": "withy"}))
    found = {
        words(one.xpath(".//h2")[0]): one.xpath(".//li//a/@href") for one in page.xpath("//main//section")
    }
    assert set(found) == {
        "Candidates and their recipes", "Sittings at a printer", "Media", "Bad prints", "Files"
    }  # fmt: skip
    assert found["Media"] == ["/stock/media/demo-medium-withy"]
    assert found["Files"] == [f"/trials/{DEMO_TRIAL_ID}/sheets/demo-sheet-C6#notes"]
    for links in found.values():
        for link in links:
            assert client.get(link.partition("#")[0]).status_code == 200 or link.startswith("/retraces/"), (
                link
            )
    sheet = parsed(client.get("/search", params={"q": "c6 saltmarsh"}))
    found = sheet.xpath("//section[@aria-labelledby='found-sheet']//li//a/@href")
    assert found == [f"/trials/{DEMO_TRIAL_ID}/sheets/demo-sheet-C6"]
    [spoiled] = parsed(client.get("/search", params={"q": "lid smear"})).xpath("//main//section//li")
    assert spoiled.xpath(".//a/@href") == [f"/trials/{DEMO_TRIAL_ID}/sheets/demo-sheet-T5"]
    assert "Sheet T5: spoiled" in words(spoiled)
    assert "a lid was opened while it printed" in words(spoiled)
    assert "10 February 2026" in words(spoiled)


def test_every_kind_of_find_leads_to_a_page(bench: Any, client: httpx.Client) -> None:
    seed_demo(bench.records)
    for kind in ALL_KINDS:
        links = set()
        for word in "aeio1":
            page = parsed(client.get("/search", params={"q": word, "kind": kind}))
            links |= {link.partition("#")[0] for link in page.xpath("//main//section//li//a/@href")}
        # Everybody in the demo sells without a name, and its sheets carry a chart of before there were forms.
        assert links or kind in {"supplier", "form"}, kind
        for link in sorted(links)[:3]:
            assert client.get(link).status_code == 200, link


def test_the_journal_is_searched_on_demand(bench: Any, client: httpx.Client, home: str) -> None:
    page = parsed(client.get("/search?q=began+spring"))
    assert not page.xpath("//main//section")
    page = parsed(client.get(page.xpath("//main//a[starts-with(., 'Look through the journal')]/@href")[0]))
    [entry] = page.xpath("//main//section//li//a")
    assert words(entry).startswith("A began")
    assert client.get(entry.get("href")).status_code == 200


def test_a_long_text_is_shown_where_the_word_stands() -> None:
    long = f"{'before ' * 30}the heron{' after' * 40}"
    assert "the heron after" in passage(long, ("HERON",))
    assert passage(long, ("HERON",)).startswith("… before")
    assert passage(long, ("before",)).startswith("before")
    assert passage("short\n text", ("text",)) == "short text"


def test_a_box_to_search_is_on_every_page(client: httpx.Client) -> None:
    for address in ("/", "/board", "/stock", "/comparisons", "/new", "/nothing-here"):
        [box] = parsed(client.get(address)).xpath("//header//form[@role='search']")
        assert (box.get("method"), box.get("action")) == ("get", "/search")
        assert box.xpath(".//input[@type='search']/@name") == ["q"]
    assert len(parsed(client.get("/search")).xpath("//form[@role='search']")) == 1  # its own, which is larger


def test_search_is_there_without_a_question_and_for_odd_ones(client: httpx.Client) -> None:
    assert "A sheet's code, why one was spoiled" in words(parsed(client.get("/search")))
    odd = client.get("/search", params={"q": "<script>alert('%')</script> & \"x\""})
    assert odd.status_code == 200
    assert "<script>alert" not in odd.text
    assert "Nothing holds" in odd.text
    assert client.get("/search", params={"q": "x", "kind": "secrets"}).status_code == 422


def test_one_kind_is_read_page_by_page(bench: Any, client: httpx.Client) -> None:
    with bench.records.work("filled", who="A") as work:
        for number in range(60):
            work.add(Trial(id=f"t{number:02}", name=f"Heron {number:02}", begun=work.now.date()))
    page = parsed(client.get("/search?q=heron"))
    assert len(page.xpath("//main//section//li")) == 8
    address, names = page.xpath("//a[.='Show all']/@href")[0], []
    while address:
        page = parsed(client.get(address))
        names += [words(one) for one in page.xpath("//main//section//li//a")]
        address = next(iter(page.xpath("//a[@rel='next']/@href")), "")
    assert names == [f"Heron {number:02}" for number in range(60)]


def test_the_studio_is_set_on_its_page(bench: Any, client: httpx.Client) -> None:
    zones = parsed(client.get("/studio")).xpath("//datalist[@id='zones']/option/@value")
    assert "Europe/Paris" in zones
    assert len(zones) > 300
    answer = send(
        client,
        "/studio",
        "/studio",
        name="Saltmarsh",
        time_zone="Pacific/Auckland",
        paper="us-letter",
        cure_hours="36,5",
        watched_folder="/data/out",
    )
    with bench.records.look() as look:
        studio = look.get(Studio, "studio")
    assert studio == Studio(id="studio", name="Saltmarsh", time_zone="Pacific/Auckland", paper="us-letter",
                            cure_hours=36.5, watched_folder="/data/out")  # fmt: skip
    undo_on(client, answer.headers["location"])
    with bench.records.look() as look:
        assert look.seek(Studio, "studio") is None


def test_settings_that_cannot_be_are_shown_again(client: httpx.Client) -> None:
    answer = send(client, "/studio", "/studio", name="Saltmarsh", time_zone="Mars/Olympus")
    assert answer.status_code == 422
    assert '"Mars/Olympus" is no time zone' in words(parsed(answer).xpath("//*[@role='alert']")[0])
    assert parsed(answer).xpath("//input[@name='name']/@value") == ["Saltmarsh"]
    assert send(client, "/studio", "/studio", cure_hours="-3").status_code == 422


def test_settings_of_two_owners_do_not_overwrite_each_other(bench: Any, client: httpx.Client) -> None:
    early = form_at(client, "/studio", "/studio")  # nothing is kept yet
    send(client, "/studio", "/studio", name="Saltmarsh")
    late = client.post("/studio", data=early | {"name": "Freshmarsh"})
    assert late.status_code == 422
    assert "somebody else changed this" in late.text
    with bench.records.look() as look:
        assert look.get(Studio, "studio").name == "Saltmarsh"


def test_a_watched_trial_is_chosen_among_the_running(bench: Any, client: httpx.Client, home: str) -> None:
    page = parsed(client.get("/studio"))
    assert page.xpath("//select[@name='watched_trial_id']/option/text()") == ["none", "Spring"]
    send(client, "/studio", "/studio", watched_trial_id=home.rpartition("/")[2])
    with bench.records.look() as look:
        assert look.get(Studio, "studio").watched_trial_id == home.rpartition("/")[2]

"""Long work shows how far it is, never blocks, and fails in words; results come as files."""

from __future__ import annotations

import io
import threading
import time
from typing import Any

import httpx
import pypdf
import pytest

from laydown.kernel.errors import RefusedInput
from laydown.report import to_json
from laydown.usecases.comparison import Comparison
from laydown.web.security import UNFORESEEN
from laydown.web.workroom import Workroom

DEMO = "/comparisons/demo"


def test_while_it_works_the_page_says_how_far_it_is(bench: Any, client: httpx.Client) -> None:
    bench.counter.may_go_on.clear()
    assert 'data-progress="/comparisons/demo/progress"' in client.get(DEMO).text
    for _ in range(200):
        now = client.get(f"{DEMO}/progress").json()
        if now["total"]:
            break
        time.sleep(0.02)
    assert now == {"state": "working", "what": "Reading files", "done": 1, "total": 2, "next": ""}
    assert client.get("/").status_code == 200  # other pages answer meanwhile
    bench.counter.may_go_on.set()
    assert "The answer" in bench.page(DEMO)
    assert client.get(f"{DEMO}/progress").json()["next"] == DEMO
    assert len(bench.counter.asked) == 1


def test_a_refusal_is_shown_as_it_was_said(bench: Any, client: httpx.Client) -> None:
    bench.counter.refusal = RefusedInput("the chart differs.", todo="Print one chart.", file="a.txt", line=7)
    for address in (f"{DEMO}.json", f"{DEMO}.pdf", DEMO, f"{DEMO}/figures/tone-neutral.svg"):
        answer = client.get(address)
        assert answer.status_code == 422
        assert "a.txt, line 7: the chart differs. Print one chart." in answer.text
    assert len(bench.counter.asked) == 1  # asking for it again does not try again by itself


def test_what_was_not_foreseen_ends_too(monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[Any] = []
    monkeypatch.setattr(threading, "excepthook", lambda told: seen.append(told.exc_type))

    def work(progress: Any) -> Comparison:
        raise ZeroDivisionError

    job = Workroom().ask("key", work)
    assert job.ended.wait(10)
    assert (job.state, job.error) == ("failed", UNFORESEEN)
    for _ in range(200):
        if seen:
            break
        time.sleep(0.01)
    assert seen == [ZeroDivisionError]  # and the terminal is told


def test_a_failed_job_is_tried_again_only_when_asked_to(comparison: Comparison) -> None:
    tries = []

    def work(progress: Any) -> Comparison:
        tries.append(1)
        raise RefusedInput("no.")

    room = Workroom()
    assert room.ask("key", work).ended.wait(10)
    assert room.ask("key", work).ended.wait(10)
    assert len(tries) == 1
    assert room.ask("key", work, again=True).ended.wait(10)
    assert len(tries) == 2


def test_only_the_last_results_are_kept(comparison: Comparison) -> None:
    room = Workroom(keep=2)

    def refuse(_: Any) -> Comparison:
        raise RefusedInput("no.")

    for key in "abcd":
        assert room.ask(key, refuse).ended.wait(10)
    assert room.known("a") is None
    assert room.known("d") is not None


def test_json_is_the_result(reading_room: Any, reader: httpx.Client, comparison: Comparison) -> None:
    reading_room.page(DEMO)
    assert reader.get(f"{DEMO}.json").json() == to_json(comparison)


@pytest.mark.parametrize(("paper", "size"), [("a4", (595.28, 841.89)), ("us-letter", (612, 792))])
def test_pdf_on_both_papers(
    reading_room: Any, reader: httpx.Client, paper: str, size: tuple[float, float]
) -> None:
    answer = reader.get(f"{DEMO}.pdf?paper={paper}")
    assert answer.headers["Content-Type"] == "application/pdf"
    first = pypdf.PdfReader(io.BytesIO(answer.content)).pages[0]
    assert (float(first.mediabox.width), float(first.mediabox.height)) == pytest.approx(size, abs=0.01)
    assert "Spring stock trial" in first.extract_text()


@pytest.mark.parametrize(
    "address",
    [
        "/nothing", f"{DEMO}/figures/nothing.svg", f"{DEMO}/figures/map-99-0.svg",
        f"{DEMO}/figures/facing-0-99.svg",
        f"{DEMO}/gamut?first=nobody", f"{DEMO}/patches?medium=99", f"{DEMO}/patches?medium=-1",
        f"{DEMO}/patches?sheet=99", "/comparisons/0123456789abcdef", "/uploads/0123456789abcdef/arrange",
    ],
)  # fmt: skip
def test_what_is_not_there_is_said_to_be_not_there(reader: httpx.Client, address: str) -> None:
    answer = reader.get(address)
    assert answer.status_code == 404
    assert 'role="alert"' in answer.text
    assert reader.get(address, headers={"Accept": "application/json"}).json()["problem"]


@pytest.mark.parametrize("width", [1, 340, 519, 99999])
def test_any_width_is_brought_to_a_known_one(reader: httpx.Client, width: int) -> None:
    assert reader.get(f"{DEMO}/figures/tone-neutral.svg?width={width}").status_code == 200


def test_gamut_bodies_of_media_and_references(reader: httpx.Client, comparison: Comparison) -> None:
    told = reader.get(
        f"{DEMO}/gamut", params={"first": comparison.candidates[1].name, "second": "sRGB"}
    ).json()
    kinds = [trace["type"] for trace in told["data"]]
    assert kinds == ["mesh3d", "scatter3d"]
    assert max(told["data"][0]["i"]) < len(told["data"][0]["x"])

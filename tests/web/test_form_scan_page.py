"""A scan handed in on the page: found, or refused in words; nothing of it is kept."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import httpx
import numpy as np
import pytest
from PIL import Image

from laydown.science.forms.compose_form import for_sheet
from laydown.science.forms.drawing import draw_bands
from laydown.science.forms.form_wish import FormWish
from laydown.usecases.forms.composed import composed
from laydown.usecases.forms.make_form import make_form
from page_reading import alert, words
from served_bench import ServedBench, served_bench
from spring_trial import Spring, spring_trial
from ticking_clock import Clock

PAGE = "/trials/spring/form-scan"
WISH = FormWish(code="F7K2", width_mm=210.0, length_mm=250.0, patches=90, parts=("edges",), scenes=())


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[ServedBench]:
    with served_bench(tmp_path_factory.mktemp("scan")) as bench:
        yield bench


@pytest.fixture
def clock(served: ServedBench, empty_sqlite: Path, tmp_path: Path) -> Clock:
    return served.fresh(empty_sqlite, tmp_path)


@pytest.fixture
def spring(served: ServedBench, clock: Clock) -> Spring:
    return spring_trial(served.records)


@pytest.fixture
def client(served: ServedBench, spring: Spring) -> Iterator[httpx.Client]:
    with served.client() as client:
        yield client


@pytest.fixture(scope="module")
def scan() -> bytes:
    """Page D1 of sheet K2, a little crooked, as a grey PNG of 200 ppi."""
    page = for_sheet(composed(WISH).pages[0].page, "K2")
    pixels = np.concatenate(list(draw_bands(page, ppi=200)))
    turned = Image.fromarray(pixels).convert("L").rotate(2.0, expand=True, fillcolor=255)
    made = BytesIO()
    turned.save(made, "PNG", dpi=(200, 200))
    return made.getvalue()


def hand_in(client: httpx.Client, content: bytes, name: str = "scan.png") -> httpx.Response:
    return client.post(PAGE, files={"files": (name, content, "image/png")}, data={"ppi": ""}, timeout=60)


def test_without_a_form_the_page_says_where_to_make_one(client):
    assert "This trial has no form yet" in words(client.get(PAGE))


def test_a_scan_is_found_with_its_sheet(client, served: ServedBench, scan: bytes):
    make_form(served.records, "spring", WISH, who="Ada")
    answer = hand_in(client, scan)
    assert answer.status_code == 200, answer.text
    told = words(answer)
    assert "Form F7K2, page D1, sheet K2" in told
    assert "Across the feed lengths are" in told
    assert "The scanner's own scale is in these figures" in told.replace("’", "'")
    assert "<svg" in answer.text


def test_what_is_no_scan_of_it_is_refused_in_words(client, served: ServedBench):
    make_form(served.records, "spring", WISH, who="Ada")
    blank = BytesIO()
    Image.new("L", (900, 1200), 240).save(blank, "PNG")
    refused = hand_in(client, blank.getvalue())
    assert refused.status_code == 422
    assert "no mark was found" in alert(refused)
    refused = hand_in(client, b"no picture at all")
    assert refused.status_code == 422
    assert "no picture that can be read" in alert(refused)
    nothing = client.post(PAGE, data={"ppi": ""})
    assert nothing.status_code == 422
    assert "No scan was chosen" in alert(nothing)

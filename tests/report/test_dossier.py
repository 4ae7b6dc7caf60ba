from __future__ import annotations

import io
import re
import time
import unicodedata
from dataclasses import replace
from typing import Any

import pytest
from pypdf import PdfReader

from laydown.report.dossier import dossier_pdf
from laydown.report.dossier_figures import dossier_figures
from laydown.report.dossier_view import LIFE_CAUTION, dossier_view
from laydown.report.json_view import to_json
from laydown.report.terminal import render_plain
from laydown.report.wording import ascii_text, number
from laydown.usecases.comparison import Comparison

WHEN = "2026-01-31T09:30:00+00:00"
HOSTILE = (
    'Rag #panic() $x$ *b* _i_ @ref <tag> "q" \\back `raw` // ~',
    '#import "x"',
    "= Heading",
    "/* no */ - a",
)


def squeezed(text: str) -> str:
    """Text without spaces, ligatures or hyphenation, so that line ends do not matter."""
    flat = unicodedata.normalize("NFKC", text)
    return re.sub(r"[\s\u00ad\u2010-]", "", flat)


@pytest.fixture(scope="module")
def made(comparison: Comparison) -> PdfReader:
    return PdfReader(io.BytesIO(dossier_pdf(comparison, made_at=WHEN)))


@pytest.fixture(scope="module")
def text(made: PdfReader) -> str:
    return "\n".join(page.extract_text() for page in made.pages)


def test_numbers_are_the_same_in_pdf_json_and_terminal(comparison: Comparison, text: str) -> None:
    pdf, terminal = squeezed(text), render_plain(comparison, width=200)
    checked = 0
    for candidate in to_json(comparison)["candidates"]:
        for finding in candidate["findings"]:
            if not finding["judged"]:
                continue
            value = number(finding["value"], finding["decimals"])
            row = candidate["name"] + value
            if finding["low"] is not None:
                low, high = (number(finding[end], finding["decimals"]) for end in ("low", "high"))
                row += f"{low} to {high}"
            assert squeezed(row) in pdf, (candidate["name"], finding["id"])
            assert re.search(rf"(?<![\d.,]){re.escape(ascii_text(value))} (\+/-|n=1)", terminal), finding[
                "id"
            ]
            checked += 1
    assert checked == 15 * 5


def test_differences_are_the_same_in_pdf_and_json(comparison: Comparison, text: str) -> None:
    pdf = squeezed(text)
    for item in to_json(comparison)["differences"]:
        if item["low"] is None:
            continue
        low, high = (number(item[end], item["decimals"], signed=True) for end in ("low", "high"))
        assert squeezed(f"{low} to {high}") in pdf


def test_every_part_is_there_with_problems_last(comparison: Comparison, text: str) -> None:
    places = [text.rindex(part) for part in ("Answer", "Method and sources", "What these results do not say")]
    assert places == sorted(places)
    last = squeezed(text[text.rindex("\nProblems") :])
    for problem in comparison.problems:
        assert squeezed(problem.what) in last
    flat = squeezed(text)
    for sentence in (comparison.question, *comparison.summary, *comparison.cautions, LIFE_CAUTION):
        assert squeezed(sentence) in flat
    for candidate in comparison.candidates:
        for finding in candidate.findings:
            assert squeezed(finding.label) in flat
    assert "Invented readings" in text


def test_pages_are_numbered_and_headed(made: PdfReader) -> None:
    total = len(made.pages)
    for place, page in enumerate(made.pages, start=1):
        words = page.extract_text()
        assert f"{place} of {total}" in words
        assert "31 January 2026, 09:30 UTC" in words
        if place > 1:
            assert "Spring stock trial" in words


def test_file_says_what_it_is(made: PdfReader) -> None:
    assert made.metadata is not None
    assert made.metadata.title == "Spring stock trial"
    root: Any = made.trailer["/Root"]
    assert root["/Lang"] == "en-GB"
    assert root["/MarkInfo"]["/Marked"]
    packet = root["/Metadata"].get_object().get_data()
    assert b"<pdfaid:part>2</pdfaid:part>" in packet
    assert b"<pdfuaid:part>1</pdfuaid:part>" in packet


def test_every_typeface_is_embedded(made: PdfReader) -> None:
    names = set()
    for page in made.pages:
        for font in page["/Resources"].get("/Font", {}).values():
            loaded = font.get_object()
            descriptor = loaded["/DescendantFonts"][0].get_object()["/FontDescriptor"]
            assert any(key.startswith("/FontFile") for key in descriptor)
            names.add(re.sub(r"^/[A-Z]{6}\+", "", loaded["/BaseFont"]))
    assert {n.split("-")[0] for n in names} <= {"LibertinusSerif", "DejaVuSansMono"}


def test_paper_and_speed_and_sameness(builder: Any) -> None:
    small = builder.build(builder.MEDIA[:2])
    begun = time.perf_counter()
    first = dossier_pdf(small, paper="us-letter", made_at=WHEN)
    assert time.perf_counter() - begun < 40.0  # about 1.5 s where nothing else runs
    assert dossier_pdf(small, paper="us-letter", made_at=WHEN) == first
    box = PdfReader(io.BytesIO(first)).pages[0].mediabox
    assert (round(box.width), round(box.height)) == (612, 792)


def test_hostile_names_are_printed_and_never_run(builder: Any) -> None:
    media = tuple(replace(builder.MEDIA[i], name=name) for i, name in enumerate(HOSTILE))
    hostile = replace(builder.build(media, house=HOSTILE[0]), title=HOSTILE[0], question=HOSTILE[2])
    pages = PdfReader(io.BytesIO(dossier_pdf(hostile, made_at="yesterday #x"))).pages
    found = squeezed("".join(page.extract_text() for page in pages))
    for name in HOSTILE:
        assert squeezed(name) in found
    assert squeezed("yesterday #x") in found


def test_a_name_in_another_script_still_makes_a_pdf(builder: Any) -> None:
    media = (replace(builder.MEDIA[0], name="和紙 310 🖨"), builder.MEDIA[1])
    made = dossier_pdf(builder.build(media, house=""), made_at=WHEN)
    assert made.startswith(b"%PDF")


def test_nothing_to_say_still_makes_a_pdf(builder: Any) -> None:
    empty = replace(builder.build((), house=""), summary=(), problems=(), cautions=(), overlaps=())
    assert "None was met" in "".join(
        page.extract_text() for page in PdfReader(io.BytesIO(dossier_pdf(empty, made_at=WHEN))).pages
    )


def test_one_value_found_in_different_places_is_one_row_naming_all_places(comparison: Comparison) -> None:
    first, *rest = comparison.candidates
    moved = replace(first, facts=(replace(first.facts[0], where="trial.json"), *first.facts[1:]))
    facts = dossier_view(replace(comparison, candidates=(moved, *rest)))["facts"]
    assert (facts[0]["where"], facts[0]["media"]) == ("trial.json; FILTER, line 6", "all")
    assert facts[1]["name"] != facts[0]["name"]


def test_different_values_of_one_condition_get_a_row_each(comparison: Comparison) -> None:
    first, *rest = comparison.candidates
    other = replace(first, facts=(replace(first.facts[0], value="M3"), *first.facts[1:]))
    facts = dossier_view(replace(comparison, candidates=(other, *rest)))["facts"]
    assert [row["value"] for row in facts[:2]] == ["M3", comparison.candidates[1].facts[0].value]
    assert facts[0]["media"] == first.name
    assert facts[2]["media"] == "all"


def test_suspicious_sheets_are_drawn(comparison: Comparison) -> None:
    drawn = dossier_figures(comparison)["patches"]
    assert len(drawn) == 4
    assert all("Ringed" in figure.caption for figure in drawn)

from __future__ import annotations

import io
import re
from dataclasses import replace
from typing import Any

import pytest
from rich.cells import cell_len
from rich.console import Console

from laydown.report.terminal import render_plain, render_rich
from laydown.report.text_page import TextPage, fit, wrapped
from laydown.report.wording import ascii_text, finding_row
from laydown.usecases.comparison import Comparison

HOSTILE = 'Rag [bold]#$*_@<b>"\\ \u202e\x1b[31m' + "long" * 30


def twelve(builder: Any) -> Comparison:
    media = [replace(builder.MEDIA[i % 5], name=f"{builder.MEDIA[i % 5].name} no. {i}") for i in range(12)]
    result = builder.build(tuple(media), house="")
    assert isinstance(result, Comparison)
    return result


@pytest.mark.parametrize("width", [40, 80, 120])
def test_no_line_is_wider_than_the_terminal(comparison: Comparison, builder: Any, width: int) -> None:
    hostile = replace(comparison, candidates=(replace(comparison.candidates[0], name=HOSTILE),))
    for each in (comparison, twelve(builder), hostile, builder.build((), house="")):
        text = render_plain(each, width=width)
        assert max(cell_len(line) for line in text.splitlines()) <= width
        assert text.isascii()
        assert "\x1b" not in text


def test_answer_comes_first_and_problems_last(comparison: Comparison) -> None:
    text = render_plain(comparison)
    headings = re.findall(r"^[A-Z][A-Z ]+$", text, flags=re.MULTILINE)
    assert headings[0] == "ANSWER"
    assert headings[-1] == "PROBLEMS"
    last = " ".join(text[text.index("\nPROBLEMS") :].split())
    for problem in comparison.problems:
        assert ascii_text(problem.what) in last


def test_invented_readings_say_so(comparison: Comparison) -> None:
    assert "INVENTED" in render_plain(comparison)
    assert "INVENTED" not in render_plain(replace(comparison, invented=False))


@pytest.mark.parametrize("width", [80, 140])
def test_every_finding_is_shown(comparison: Comparison, width: int) -> None:
    text = render_plain(comparison, width=width)
    for candidate in comparison.candidates:
        for finding in candidate.findings:
            row = finding_row(finding)
            assert ascii_text(f"{row.value} {row.half_width}") in text


def test_every_finding_of_twelve_media_is_shown_at_80(builder: Any) -> None:
    many = twelve(builder)
    text = render_plain(many)
    for candidate in many.candidates:
        row = finding_row(candidate.findings[0])
        assert ascii_text(f"{row.value} {row.half_width}") in text
    assert "too many to list" in text


def test_what_is_missing_is_a_dash(comparison: Comparison) -> None:
    first, *rest = comparison.candidates
    without = replace(first, findings=first.findings[1:])
    text = render_plain(replace(comparison, candidates=(without, *rest)))
    row = next(line for line in text.splitlines() if line.strip().startswith(first.findings[0].label))
    assert row.split()[2] == "-"


def test_calls_carry_mark_and_word(comparison: Comparison) -> None:
    text = render_plain(comparison)
    for start in ("+ better", "- worse", "^ higher", "v lower", "= same", "? cannot tell", "x refused"):
        assert re.search(rf"^  {re.escape(start)} +\S", text, flags=re.MULTILINE), start
    assert "About 5 sheets each would settle it." in " ".join(text.split())


def test_house_medium_limits_the_calls_and_says_so(comparison: Comparison) -> None:
    text = render_plain(comparison)
    assert "Plover Smooth 290 against Wren Rag 308" in text
    assert "Plover Smooth 290 against Tern Baryta 310" not in text
    assert "Only calls against the house medium are listed" in text


def test_few_pairs_are_all_listed(builder: Any) -> None:
    text = render_plain(builder.build(builder.MEDIA[1:4], house=""))
    assert text.count(" against ") >= 3


def test_rich_prints_the_same_words_on_a_console(comparison: Comparison) -> None:
    out = io.StringIO()
    console = Console(file=out, width=100, force_terminal=True, color_system=None)
    hostile = replace(comparison, title="[red]Trial[/red] :smile:")
    render_rich(hostile, console)
    text = re.sub(r"\x1b\[[0-9;]*m", "", out.getvalue())
    assert "[red]Trial[/red] :smile:" in text
    assert "±" in text or "+/-" in text
    assert max(cell_len(line) for line in text.splitlines()) <= 100


def test_columns_cut_wide_characters_by_cells() -> None:
    assert cell_len(fit("漢字漢字漢字", 7)) == 7
    assert all(cell_len(line) <= 10 for line in wrapped("漢字" * 20 + " abc", 10))


def test_lead_is_kept_and_text_lines_up_under_it() -> None:
    page = TextPage(20)
    page.text("one two three four five", lead="* ")
    assert str(page) == "  * one two three\n    four five\n"

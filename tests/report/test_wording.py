from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from laydown.report.wording import (
    CALL_MARKS,
    CALL_WORDS,
    REFUSED_MARK,
    ascii_text,
    call_mark,
    call_sentence,
    call_word,
    difference_text,
    display_name,
    finding_row,
    number,
    percent,
    short_names,
    symbols,
    what_would_settle,
)
from laydown.usecases.comparison import ComparedDifference, Comparison, Finding


def a_finding(**changes: Any) -> Finding:
    base = Finding(
        id="dmax_visual",
        label="Dmax",
        family="black",
        value=1.6521,
        low=1.6409,
        high=1.6633,
        n=3,
        sd=0.0045,
        unit="D",
        decimals=3,
        condition="M1",
        method="m",
        source="s",
        judged=True,
    )
    return replace(base, **changes)


def a_difference(**changes: Any) -> ComparedDifference:
    base = ComparedDifference(
        finding="dmax_visual",
        label="Dmax",
        unit="D",
        decimals=3,
        condition="M1",
        candidate="New",
        against="Old",
        difference=0.766,
        low=0.749,
        high=0.783,
        margin=0.05,
        margin_source="",
        call="better",
        sheets_needed=None,
        p_adjusted=0.001,
        real=True,
        refused=False,
        reason="",
    )
    return replace(base, **changes)


@pytest.mark.parametrize(
    ("value", "decimals", "signed", "shown"),
    [
        (1.6521, 3, False, "1.652"),
        (-4.6, 2, False, "−4.60"),
        (0.766, 3, True, "+0.766"),
        (-0.0004, 3, True, "0.000"),
        (0.0004, 3, True, "0.000"),
        (452310.2, 0, False, "452\u202f310"),
        (math.nan, 2, False, ""),
        (math.inf, 2, False, ""),
    ],
)
def test_numbers(value: float, decimals: int, signed: bool, shown: str) -> None:
    assert number(value, decimals, signed=signed) == shown


def test_a_finding_in_words() -> None:
    row = finding_row(a_finding())
    assert row.text == "1.652 (1.641 to 1.663) D"
    assert row.half_width == "± 0.011"
    assert row.n == "3 sheets"


def test_one_sheet_has_no_interval() -> None:
    row = finding_row(a_finding(low=math.nan, high=math.nan, n=1))
    assert row.half_width == "n=1"
    assert row.text == "1.652 D (no interval: one sheet)"


def test_what_was_not_found_says_so() -> None:
    assert finding_row(a_finding(value=math.nan, low=math.nan, high=math.nan, n=0)).text == "not found"


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({}, "Dmax: New is better than Old by 0.766 D (difference +0.766 (+0.749 to +0.783) D)."),
        (
            {"difference": -0.2, "low": -0.25, "high": -0.15, "call": "lower"},
            "Dmax: New is lower than Old by 0.200 D (difference −0.200 (−0.250 to −0.150) D).",
        ),
        (
            {"difference": 0.01, "low": -0.01, "high": 0.03, "call": "same"},
            (
                "Dmax: New and Old are the same within the margin that matters (± 0.050 D); "
                "difference +0.010 (−0.010 to +0.030) D."
            ),
        ),
        (
            {"difference": 0.04, "low": -0.01, "high": 0.09, "call": "cannot_tell", "sheets_needed": 5},
            (
                "Dmax: cannot tell New from Old yet (difference +0.040 (−0.010 to +0.090) D); "
                "about 5 sheets each would settle it."
            ),
        ),
        (
            {"refused": True, "call": "cannot_tell", "difference": math.nan, "reason": "One was coated."},
            "Dmax: New and Old were not compared. One was coated.",
        ),
    ],
)
def test_call_sentences(changes: dict[str, Any], sentence: str) -> None:
    assert call_sentence(a_difference(**changes)) == sentence


def test_unforeseeable_number_of_sheets_says_so() -> None:
    assert "cannot be foretold" in what_would_settle(a_difference(call="cannot_tell"))
    assert what_would_settle(a_difference()) == ""


def test_marks_and_words_differ_for_every_call() -> None:
    for plain in (False, True):
        marks = [pair[plain] for pair in (*CALL_MARKS.values(), REFUSED_MARK)]
        assert len(set(marks)) == len(marks)
    assert len(set(CALL_WORDS.values())) == len(CALL_WORDS)
    assert all(pair[1].isascii() for pair in (*CALL_MARKS.values(), REFUSED_MARK))
    refused = a_difference(refused=True)
    assert (call_word(refused), call_mark(refused, plain=True)) == ("refused", "x")


def test_every_call_in_the_result_can_be_said(comparison: Comparison) -> None:
    said = {call_sentence(d) for d in comparison.differences}
    assert len(said) == len(comparison.differences)
    for difference in comparison.differences:
        if math.isfinite(difference.difference) and difference.difference < -1:
            assert "−" in difference_text(difference)


def test_names_lose_control_and_direction_characters() -> None:
    assert display_name("a\u202eb\x00c\n  d\t") == "abc d"


@settings(deadline=None, max_examples=60)
@given(st.lists(st.text(min_size=1, max_size=40), min_size=1, max_size=12, unique_by=display_name))
def test_short_names_stay_short_and_different(names: list[str]) -> None:
    short = short_names(names, 12)
    assert all(len(label) <= 12 for label in short.values())
    assert len(set(short.values())) == len(names)


def test_short_names_of_near_twins() -> None:
    short = short_names(["Cotton Rag Smooth 300", "Cotton Rag Smooth 310"], 12)
    assert (
        set(short.values()) == {"Cotton R… (1)"[:12], "Cotton R… (2)"[:12]} or len(set(short.values())) == 2
    )


@settings(deadline=None, max_examples=60)
@given(st.text(max_size=60))
def test_ascii_text_is_ascii(text: str) -> None:
    assert ascii_text(text).isascii()


def test_ascii_text_keeps_the_sense() -> None:
    assert ascii_text("▲ −4.6 ± 0.1 ΔE00 at 2°, 452\u202f310") == "+ -4.6 +/- 0.1 dE00 at 2 deg, 452,310"


def test_symbols_and_percent() -> None:
    assert symbols("mean dE00 of patches; dEad stays") == "mean ΔE00 of patches; dEad stays"
    assert percent(0.9512) == "95 %"
    assert percent(math.nan) == ""


def test_reason_that_says_what_would_settle_is_not_said_twice() -> None:
    item = a_difference(
        call="cannot_tell", sheets_needed=7, reason="Chance could do it. About 7 sheets would settle it."
    )
    assert call_sentence(item).count("settle") == 1

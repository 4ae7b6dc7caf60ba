"""What a comparison says to a brief: the calls in plain words, and not a word more."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import jsonschema
import pytest

from laydown.report.brief_words import BriefWords, CriterionWords, brief_words
from laydown.report.dossier_view import dossier_view
from laydown.report.json_view import json_text, schema
from laydown.report.terminal import render_plain
from laydown.report.wording import ascii_text
from laydown.usecases.comparison import BriefAsked, BriefCriterion, ComparedDifference, Comparison

ASKED = BriefAsked(
    dated="sealed 5 February 2026",
    criteria=(
        BriefCriterion("deep black", 0.4, "dmax_visual", "0.05 D"),
        BriefCriterion("even greys", 0.1, "grey_balance"),
        BriefCriterion("thick", 0.1, "opacity"),
        BriefCriterion("white", 0.1, "white_b"),
        BriefCriterion("look in the gallery", 0.3),
    ),
    gates=("feeds without a strike", "no flakes"),
)
HOUSE, LONE = "Wren Rag 308", "Curlew Textured Cotton, Warm White 315"


def told(comparison: Comparison, asked: BriefAsked = ASKED) -> BriefWords:
    words = brief_words(replace(comparison, brief=asked))
    assert words is not None
    return words


def of(words: BriefWords, name: str) -> CriterionWords:
    return next(one for one in words.criteria if one.name == name)


def against_house(comparison: Comparison, finding: str) -> dict[str, ComparedDifference]:
    return {
        one.candidate: one
        for one in comparison.differences
        if one.finding == finding and one.against == comparison.house
    }


def with_difference(comparison: Comparison, name: str, finding: str, **changes: Any) -> Comparison:
    """The comparison with one difference to the house medium as the test wants it."""
    return replace(
        comparison,
        differences=tuple(
            replace(one, **changes)
            if (one.candidate, one.against, one.finding) == (name, HOUSE, finding)
            else one
            for one in comparison.differences
        ),
    )


def test_without_a_brief_there_is_nothing_to_answer(comparison: Comparison) -> None:
    assert brief_words(comparison) is None


def test_every_medium_is_told_once_under_its_own_call(comparison: Comparison) -> None:
    openings = {
        "better": f"Better than {HOUSE}: ", "worse": f"Worse than {HOUSE}: ",
        "higher": f"Higher than {HOUSE}: ", "lower": f"Lower than {HOUSE}: ",
        "same": f"The same as {HOUSE} within the margin", "cannot_tell": f"Cannot tell yet from {HOUSE}: ",
    }  # fmt: skip
    words = told(comparison)
    seen = set()
    for asked in ASKED.criteria[:4]:
        sentences = of(words, asked.name).sentences
        for name, difference in against_house(comparison, asked.finding).items():
            opening = openings[difference.call] if not difference.refused else f"Not compared with {HOUSE}: "
            (sentence,) = (one for one in sentences if name in one)
            assert sentence.startswith(opening)
            seen.add("refused" if difference.refused else difference.call)
    # The invented comparison has every kind that can stand against a house medium in these findings.
    assert seen >= {"better", "cannot_tell", "refused"}


def test_a_difference_is_told_with_its_interval_its_sheets_and_what_matters(comparison: Comparison) -> None:
    found = with_difference(
        comparison, "Tern Baryta 310", "dmax_visual",
        call="better", difference=0.09, low=0.06, high=0.12, margin=0.05,
    )  # fmt: skip
    black = of(told(found), "deep black")
    assert (black.share, black.measured_by.partition(";")[0]) == (
        "40 % of the weight",
        "Dmax visual, higher is better",
    )
    (sentence,) = (one for one in black.sentences if "Tern" in one)
    assert "Tern Baryta 310 by 0.060 to 0.120 D (n = 3 and 3 sheets)" in sentence
    assert "less than what matters" not in sentence.partition("Tern")[2].partition(";")[0]
    assert black.sentences[-1] == "The brief calls differences from 0.05 D on ones that matter."
    small = with_difference(found, "Tern Baryta 310", "dmax_visual", low=0.01, high=0.12)
    assert "by 0.010 to 0.120 D (n = 3 and 3 sheets), which may be less than what matters" in " ".join(
        of(told(small), "deep black").sentences
    )
    worse = with_difference(
        found, "Tern Baryta 310", "dmax_visual", call="worse", difference=-0.09, low=-0.12, high=-0.06
    )
    assert f"Worse than {HOUSE}: Tern Baryta 310 by 0.060 to 0.120 D" in " ".join(
        of(told(worse), "deep black").sentences
    )


def test_an_interval_that_holds_zero_is_not_told_as_a_least_amount(comparison: Comparison) -> None:
    found = with_difference(
        comparison, "Tern Baryta 310", "dmax_visual", call="better", difference=0.05, low=-0.01, high=0.11
    )
    (sentence,) = (one for one in of(told(found), "deep black").sentences if "Tern" in one)
    assert "Tern Baryta 310, difference +0.050 (\u22120.010 to +0.110) D" in sentence


def test_one_sheet_calls_nothing_and_says_so(comparison: Comparison) -> None:
    for one in told(comparison).criteria:
        mentioned = [sentence for sentence in one.sentences if LONE in sentence]
        assert all(sentence.startswith(("Cannot tell yet", "Not compared")) for sentence in mentioned)
    black = " ".join(of(told(comparison), "deep black").sentences)
    assert "with one sheet nothing is called" in black.partition(LONE)[2]


def test_what_nothing_speaks_to_is_not_yet_looked_at(comparison: Comparison) -> None:
    silent = told(comparison).silent
    assert silent[0] == "Not yet looked at: look in the gallery (30 %)."
    assert silent[1].startswith(
        "Must-haves: feeds without a strike, no flakes. Whether they are met cannot be"
    )
    assert silent[2] == "What is measured here carries 70 % of the weight. It is no decision."
    only = BriefAsked("not sealed yet", (BriefCriterion("black", math.nan, "no_such_finding"),))
    words = told(comparison, only)
    assert (words.criteria, words.silent) == ((), ("Not yet looked at: black.",))
    assert "not sealed yet" in words.about


def test_a_margin_of_the_catalogue_is_told_as_the_usual_one(comparison: Comparison) -> None:
    calls = {one.finding: one for one in comparison.by_finding}
    margin = calls["grey_balance"].margin
    last = of(told(comparison), "even greys").sentences[-1]
    assert margin is not None
    assert last.startswith("The brief names no difference that matters here; the usual one is ± ")
    assert "common practice" in last


def test_without_a_house_medium_pairs_are_told(builder: Any) -> None:
    few = told(builder.build(builder.MEDIA[1:4], house=""))
    assert len([one for one in of(few, "deep black").sentences if one.startswith("Dmax")]) == 3
    many = told(builder.build(house=""))
    assert "10 pairs are too many to tell" in of(many, "deep black").sentences[0]


def test_json_pdf_and_terminal_say_the_same(comparison: Comparison) -> None:
    asked = replace(comparison, brief=ASKED)
    words = told(comparison)
    data = json.loads(json_text(asked))
    assert [e.message for e in jsonschema.Draft202012Validator(schema()).iter_errors(data)] == []
    text = " ".join(render_plain(asked, 400).split())
    set_ = dossier_view(asked)["brief"]
    for place, one in enumerate(words.criteria):
        assert data["brief"]["criteria"][place]["sentences"] == list(one.sentences)
        assert set_["criteria"][place]["sentences"] == list(one.sentences)
        assert " ".join(ascii_text(one.sentences[-1]).split()) in text
    assert data["brief"]["silent"] == list(words.silent)
    assert "brief" not in json.loads(json_text(comparison))
    assert dossier_view(comparison)["brief"] is None


@pytest.mark.parametrize("name", ["Tern Baryta 310", "Heron Canvas 380"])
def test_the_house_medium_may_stand_on_either_side(comparison: Comparison, name: str) -> None:
    """A difference that is kept as house minus candidate is told as candidate minus house."""
    other = replace(
        comparison,
        differences=tuple(
            one.turned() if {one.candidate, one.against} == {name, HOUSE} else one
            for one in comparison.differences
        ),
    )
    assert told(other) == told(comparison)

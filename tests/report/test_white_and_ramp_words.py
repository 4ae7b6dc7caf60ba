"""What the figures of whites and ramps say: true in every mixture of conditions, in full words."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

import pytest

from laydown.kernel.errors import NotEnoughData
from laydown.report.figures import figure_svg, tone_curves, white_and_brightener
from laydown.usecases.comparison import Candidate, Comparison


def reread(comparison: Comparison, *conditions: dict[str, str]) -> Comparison:
    """The first media with other words for M1 and M2; where there is no word, the reading is gone."""

    def under(candidate: Candidate, words: dict[str, str]) -> Candidate:
        kept = [
            replace(f, condition=words[f.condition[:2]] + f.condition[2:])
            for f in candidate.findings
            if f.condition[:2] in words
        ]
        return replace(candidate, findings=tuple(kept))

    media = tuple(under(c, words) for c, words in zip(comparison.candidates, conditions, strict=False))
    return replace(comparison, candidates=media)


@pytest.mark.parametrize("lit", ["M1", "M0"])
def test_brightener_is_seen_under_either_condition_with_uv(comparison: Comparison, lit: str) -> None:
    figure = white_and_brightener(reread(comparison, *2 * [{"M1": lit, "M2": "M2"}]))
    assert f"with UV ({lit})" in figure.caption
    assert "cannot be seen" not in figure.caption
    assert "No arrow" not in figure.caption
    for row, candidate in zip(csv.DictReader(io.StringIO(figure.csv)), comparison.candidates, strict=False):
        whites = {f.condition[:2]: f.value for f in candidate.findings if f.id == "white_b"}
        assert row["condition"] == lit
        assert float(row["b*"]) == pytest.approx(whites["M1"])
        assert float(row["b*_M2"]) == pytest.approx(whites["M2"])


def test_media_without_an_arrow_are_named(comparison: Comparison) -> None:
    figure = white_and_brightener(reread(comparison, {"M1": "M1", "M2": "M2"}, {"M1": "M1"}))
    assert f"No arrow for {comparison.candidates[1].name}" in figure.caption
    assert "its length is what brightener adds" in figure.caption
    assert "cannot be compared" not in figure.caption


def test_m0_of_one_and_m2_of_another_show_no_brightener(comparison: Comparison) -> None:
    figure = white_and_brightener(reread(comparison, {"M1": "M0"}, {"M2": "M2"}))
    first, second = (c.name for c in comparison.candidates[:2])
    assert "No sheet was read both with UV (M1 or M0) and without (M2)" in figure.caption
    assert "Only one" not in figure.caption
    assert f"cannot be compared: {first} M0; {second} M2." in figure.caption
    assert figure.title == "White"
    assert figure_svg(figure).startswith("<svg")


def test_other_sheets_or_another_backing_make_no_arrow(comparison: Comparison) -> None:
    medium = comparison.candidates[0]
    elsewhere = tuple(
        replace(f, per_sheet=tuple((f"other {s}", v) for s, v in f.per_sheet))
        if f.condition.startswith("M2")
        else f
        for f in medium.findings
    )
    black = tuple(
        replace(f, condition=f.condition.replace("white backing", "black backing"))
        if f.condition.startswith("M2")
        else f
        for f in medium.findings
    )
    for findings in (elsewhere, black):
        figure = white_and_brightener(replace(comparison, candidates=(replace(medium, findings=findings),)))
        assert "cannot be seen" in figure.caption


def test_a_white_under_no_stated_condition_is_still_drawn(comparison: Comparison) -> None:
    figure = white_and_brightener(reread(comparison, {"M1": "condition not stated"}))
    row = next(csv.DictReader(io.StringIO(figure.csv)))
    assert row["condition"].startswith("condition not stated")
    with pytest.raises(NotEnoughData):
        white_and_brightener(reread(comparison, {}))


@pytest.mark.parametrize(
    ("name", "word"), [("C", "cyan"), ("K", "black"), ("R", "red"), ("Orange", "Orange")]
)
def test_ramps_are_named_in_full(comparison: Comparison, name: str, word: str) -> None:
    media = tuple(
        replace(c, tones=tuple(replace(t, name=name) for t in c.tones[:1])) for c in comparison.candidates
    )
    figure = tone_curves(replace(comparison, candidates=media), name=name)
    assert figure.title == f"Tone, {word} ramp"
    assert f"down the {word} ramp" in figure.alt_text
    assert figure.id == f"tone-{name}"

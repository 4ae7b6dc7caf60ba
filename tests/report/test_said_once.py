from __future__ import annotations

from dataclasses import replace

from laydown.report.said_once import assumption_sentences, coverage_rows, margins_by_source, notes, preferred
from laydown.report.wording import percent
from laydown.usecases.comparison import Comparison


def test_assumptions_are_said_once_and_name_their_findings(comparison: Comparison) -> None:
    shared = "One spread is used (largest-variance test, p = {}). With few sheets that cannot be seen well."
    raised = "The spread of Rag (house) was raised to what the resolution (0.05 D) can hide."
    odd = f"Each uses its own spread. {raised}"
    texts = [shared.format("0.2"), shared.format("0.04"), shared.format("1"), odd]
    calls = [replace(c, assumption=t) for c, t in zip(comparison.by_finding, texts, strict=False)]
    told = assumption_sentences(calls)
    assert told[0] == f"Unless named below: {shared.format('0.04 to 1')}"
    assert told[1] == f"{calls[3].label}: Each uses its own spread."
    assert told[2].endswith("The spread of Rag (house) was raised to what the resolution can hide.")
    assert assumption_sentences(calls[:3])[0].startswith("Every finding: ")


def test_notes_are_said_once(comparison: Comparison) -> None:
    told = notes(comparison.candidates)
    assert sum("ink limit is set too high" in note for note in told) == 1
    assert any(note.startswith("Curlew") and "nearly every finding" in note for note in told)
    everyone = tuple(
        replace(c, findings=(replace(c.findings[0], note="Same."), *c.findings[1:]))
        for c in comparison.candidates
    )
    assert f"All media, {everyone[0].findings[0].label}: Same." in notes(everyone)


def test_coverage_has_a_row_for_each_gamut(comparison: Comparison) -> None:
    rows = coverage_rows(comparison.overlaps, [c.name for c in comparison.candidates])
    assert [row.name for row in rows] == ["sRGB", comparison.house]
    assert rows[1].coverage[0] == "–"
    assert rows[0].coverage[0] == percent(comparison.overlaps[0].coverage)


def test_every_finding_has_its_preference_and_margin_once(comparison: Comparison) -> None:
    labels = [label for group in preferred(comparison.by_finding).values() for label in group]
    assert sorted(labels) == sorted(c.label for c in comparison.by_finding)
    decimals = {d.finding: d.decimals for d in comparison.differences}
    margins = margins_by_source(comparison.by_finding, decimals)
    assert list(margins) == ["common practice, no source"]
    assert "Dmax visual ± 0.050 D" in margins["common practice, no source"]

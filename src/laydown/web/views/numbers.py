"""The table of numbers: a row for each finding under a condition, a cell for each candidate."""

from __future__ import annotations

from dataclasses import dataclass

from laydown.report.wording import (
    call_mark,
    call_sentence,
    call_word,
    difference_text,
    display_name,
    finding_row,
    has_interval,
    margin_text,
    number,
    preference_words,
    unit_words,
    what_would_settle,
)
from laydown.science.findings.metric import FAMILY_TITLES
from laydown.usecases.comparison import CallsByFinding, ComparedDifference, Comparison, Finding
from laydown.web.views.against import differences_against


@dataclass(frozen=True, slots=True)
class CellView:
    """One candidate's value, and its call against the chosen candidate (empty words where there is none)."""

    candidate: str
    found: bool
    value: str
    half_width: str
    n: str
    note: str
    letters: str
    kind: str
    mark: str
    word: str
    difference: str
    settle: str
    sentence: str


@dataclass(frozen=True, slots=True)
class SheetValues:
    """What each sheet of a candidate gave, and its interval."""

    candidate: str
    interval: str
    values: tuple[tuple[str, str], ...]
    note: str


@dataclass(frozen=True, slots=True)
class RowView:
    """One finding under one condition."""

    key: str
    finding: str
    label: str
    unit: str
    shows_unit: bool
    condition: str
    secondary: bool
    wanted: str
    margin: str
    margin_source: str
    assumption: str
    method: str
    source: str
    cells: tuple[CellView, ...]
    sheets: tuple[SheetValues, ...]


@dataclass(frozen=True, slots=True)
class FamilyView:
    """The rows of one family of findings."""

    id: str
    title: str
    rows: tuple[RowView, ...]


def families_of(comparison: Comparison, against: str) -> tuple[FamilyView, ...]:
    """Every finding, by family, called against one candidate."""
    differences = differences_against(comparison, against)
    calls = {item.finding: item for item in comparison.by_finding}
    rows: dict[str, list[RowView]] = {}
    first_of: dict[str, str] = {}
    for place, (finding_id, condition) in enumerate(_row_keys(comparison)):
        found = [_find(c.findings, finding_id, condition) for c in comparison.candidates]
        known = next(f for f in found if f is not None)
        is_judged = any(f is not None and f.judged for f in found)
        row = _row(
            f"row-{place}", comparison, found, known, against,
            differences=differences if is_judged else {},
            calls=calls.get(finding_id) if is_judged else None,
            secondary=not is_judged and first_of.setdefault(finding_id, condition) != condition,
        )  # fmt: skip
        first_of.setdefault(finding_id, condition)
        rows.setdefault(known.family, []).append(row)
    order = [*FAMILY_TITLES, *(family for family in rows if family not in FAMILY_TITLES)]
    titles = {str(family): title for family, title in FAMILY_TITLES.items()}
    return tuple(FamilyView(f, titles.get(f, f), tuple(rows[f])) for f in order if f in rows)


def _row_keys(comparison: Comparison) -> list[tuple[str, str]]:
    """Finding and condition of every row: the called condition of a finding before its others."""
    seen: dict[str, dict[str, bool]] = {}
    for candidate in comparison.candidates:
        for finding in candidate.findings:
            conditions = seen.setdefault(finding.id, {})
            conditions[finding.condition] = conditions.get(finding.condition, False) or finding.judged
    return [
        (finding_id, condition)
        for finding_id, conditions in seen.items()
        for condition in sorted(conditions, key=lambda c: (not conditions[c], c != comparison.condition, c))
    ]


def _find(findings: tuple[Finding, ...], finding_id: str, condition: str) -> Finding | None:
    return next((f for f in findings if f.id == finding_id and f.condition == condition), None)


def _row(
    key: str,
    comparison: Comparison,
    found: list[Finding | None],
    known: Finding,
    against: str,
    *,
    differences: dict[tuple[str, str], ComparedDifference],
    calls: CallsByFinding | None,
    secondary: bool,
) -> RowView:
    cells = tuple(
        _cell(candidate.name, finding, against, differences.get((known.id, candidate.name)), calls)
        for candidate, finding in zip(comparison.candidates, found, strict=True)
    )
    sheets = tuple(
        _sheets(c.name, f) for c, f in zip(comparison.candidates, found, strict=True) if f is not None
    )
    return RowView(
        key=key,
        finding=known.id,
        label=known.label,
        unit=unit_words(known.unit),
        shows_unit=unit_words(known.unit) not in known.label.split(),
        condition=known.condition,
        secondary=secondary,
        wanted=preference_words(calls) if calls else "",
        margin=margin_text(calls.margin, known.decimals, known.unit) if calls else "",
        margin_source=calls.margin_source if calls else "",
        assumption=calls.assumption if calls else "",
        method=known.method,
        source=known.source,
        cells=cells,
        sheets=sheets,
    )


def _cell(
    candidate: str,
    finding: Finding | None,
    against: str,
    difference: ComparedDifference | None,
    calls: CallsByFinding | None,
) -> CellView:
    words = finding_row(finding) if finding is not None else None
    kind = mark = word = spoken = settle = sentence = ""
    if difference is not None:
        kind = "refused" if difference.refused else difference.call.replace("_", "-")
        mark, word = call_mark(difference), call_word(difference, short=True)
        spoken, settle = difference_text(difference), what_would_settle(difference)
        sentence = call_sentence(difference)
    elif candidate == against and calls is not None:
        kind, mark, word = "reference", "•", "reference"
    return CellView(
        candidate=display_name(candidate),
        found=words is not None,
        value=words.value if words else "",
        half_width=words.half_width if words else "",
        n=f"n={finding.n}" if finding is not None and has_interval(finding) else "",
        note=words.note if words else "",
        letters=calls.letters.get(candidate, "") if calls else "",
        kind=kind,
        mark=mark,
        word=word,
        difference=spoken,
        settle=settle,
        sentence=sentence,
    )


def _sheets(candidate: str, finding: Finding) -> SheetValues:
    values = tuple(
        (name, number(value, finding.decimals) or "not found") for name, value in finding.per_sheet
    )
    row = finding_row(finding)
    return SheetValues(display_name(candidate), row.interval, values, row.note)

"""The page of one comparison: the answer, the candidates, the numbers, the figures, the doubts."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlencode

from laydown.kernel.problems import Problem
from laydown.report.brief_words import BriefWords, brief_words
from laydown.report.gloss_words import GlossResults, gloss_results
from laydown.report.wording import (
    CALL_MARKS,
    CALL_WORDS,
    REFUSED_MARK,
    assumed,
    display_name,
    number,
    percent,
    sheets_of,
    sheets_words,
)
from laydown.usecases.comparison import Candidate, Comparison, Overlap, StatedFact, Swatch
from laydown.usecases.measuring.gloss_comparison import GlossComparison
from laydown.web.figure_shelf import FigureShelf, page_figures
from laydown.web.views.against import against_of, differences_against
from laydown.web.views.figure_groups import FigureGroup, FigureView, figure_groups, figure_view
from laydown.web.views.numbers import FamilyView, families_of
from laydown.web.views.patches import SuspectView, suspects_of

_SAYS_HOUSE = re.compile(r"\bhouse\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class SwatchView:
    """A measured colour, and whether a screen can show it."""

    name: str
    hex: str
    lab: str
    clipped: bool


@dataclass(frozen=True, slots=True)
class CandidateView:
    """One medium as it is shown at the top of its column; no tag where its name says "house" itself."""

    index: int
    name: str
    house_tag: bool
    chosen: bool
    sheets: str
    files: tuple[tuple[str, tuple[str, ...], str], ...]
    facts: tuple[StatedFact, ...]
    swatches: tuple[SwatchView, ...]
    has_gamut: bool
    has_patches: bool


@dataclass(frozen=True, slots=True)
class ChoiceView:
    """A link that chooses the candidate to compare against."""

    name: str
    href: str
    chosen: bool
    house_tag: bool


@dataclass(frozen=True, slots=True)
class OverlapView:
    """How two gamuts meet, in words."""

    candidate: str
    other: str
    shared: str
    volume: str
    other_volume: str
    coverage: str
    condition: str


@dataclass(frozen=True, slots=True)
class BodyView:
    """A gamut body that can be chosen for the view in space."""

    value: str
    name: str


@dataclass(frozen=True, slots=True)
class ProblemView:
    """A problem of an input: what it is, where, what to do."""

    severity: str
    place: str
    what: str
    todo: str


@dataclass(frozen=True, slots=True)
class WayBack:
    """The trial a comparison is of, and where it was asked for."""

    name: str
    href: str


@dataclass(frozen=True, slots=True)
class ComparisonView:
    """Everything the page of one comparison shows."""

    id: str
    title: str
    question: str
    invented: bool
    deletable: bool
    brief: BriefWords | None
    answer: tuple[str, ...]
    condition: str
    basis: str
    against: str
    choices: tuple[ChoiceView, ...]
    marks: tuple[tuple[str, str], ...]
    candidates: tuple[CandidateView, ...]
    any_clipped: bool
    families: tuple[FamilyView, ...]
    of_findings: Mapping[str, tuple[FigureView, ...]]
    secondary_rows: int
    refusals: tuple[str, ...]
    figures: tuple[FigureGroup, ...]
    bodies: tuple[BodyView, ...]
    body_first: str
    body_second: str
    overlaps: tuple[OverlapView, ...]
    suspects: tuple[SuspectView, ...]
    assumptions: tuple[tuple[str, str], ...]
    cautions: tuple[str, ...]
    problems: tuple[ProblemView, ...]
    version: str
    back: WayBack | None
    gloss: GlossResults | None


def comparison_view(
    comparison_id: str,
    shelf: FigureShelf,
    *,
    asked: str,
    deletable: bool,
    back: WayBack | None = None,
    gloss: GlossComparison | None = None,
) -> ComparisonView:
    """The whole page, from the comparison and its figures; ``back`` leads to the trial it is of."""
    comparison = shelf.comparison
    against = against_of(comparison, asked)
    figures = page_figures(shelf, against)
    drawn = {figure.id: figure_view(comparison_id, figure) for figure in figures}
    families = families_of(comparison, against)
    bodies = _bodies(comparison)
    first, second = _first_pair(comparison, bodies, against)
    return ComparisonView(
        id=comparison_id,
        title=display_name(comparison.title) or "Comparison",
        question=comparison.question,
        invented=comparison.invented,
        deletable=deletable,
        brief=brief_words(comparison),
        answer=comparison.summary,
        condition=comparison.condition,
        basis=_basis(comparison),
        against=display_name(against),
        marks=(
            *((CALL_MARKS[call][0], words) for call, words in CALL_WORDS.items()),
            (REFUSED_MARK[0], "refused"),
        ),
        choices=_choices(comparison_id, comparison, against),
        candidates=tuple(_candidate(i, c, against) for i, c in enumerate(comparison.candidates)),
        any_clipped=any(s.clipped for c in comparison.candidates for s in c.swatches),
        families=families,
        of_findings={
            finding: tuple(drawn[k] for k in (f"intervals-{finding}", f"differences-{finding}") if k in drawn)
            for finding in {row.finding for family in families for row in family.rows}
        },
        secondary_rows=sum(row.secondary for family in families for row in family.rows),
        refusals=_refusals(comparison, against),
        figures=figure_groups(comparison_id, shelf, figures),
        bodies=bodies,
        body_first=first,
        body_second=second,
        overlaps=tuple(_overlap(item) for item in comparison.overlaps),
        suspects=suspects_of(comparison),
        assumptions=tuple(
            (text, ", ".join(labels)) for text, labels in assumed(comparison.by_finding).items()
        ),
        cautions=comparison.cautions,
        problems=tuple(_problem(item) for item in comparison.problems),
        version=comparison.version,
        back=back,
        gloss=gloss_results(gloss) if gloss else None,
    )


def _basis(comparison: Comparison) -> str:
    sheets, alpha = sheets_of(comparison), percent(comparison.alpha)
    if all(len(c.sheets) < 2 for c in comparison.candidates):
        return f"{sheets[:1].upper()}{sheets[1:]}, so there are no intervals and no calls."
    said = f"{sheets[:1].upper()}{sheets[1:]}. Intervals at {percent(comparison.confidence)}."
    if not comparison.comparisons:
        return said
    together = (
        "the one comparison made"
        if comparison.comparisons == 1
        else f"all {comparison.comparisons} comparisons made together"
    )
    return (
        f"{said} “Better”, “worse”, “higher” and “lower” allow for {together} (error rate {alpha}); "
        f"each “same” is held to an error rate of {alpha} by itself."
    )


def _refusals(comparison: Comparison, against: str) -> tuple[str, ...]:
    """Each reason for which a medium could not be compared, once, with the findings it holds for."""
    labels: dict[tuple[str, str], list[str]] = {}
    findings = {calls.finding for calls in comparison.by_finding}
    for (finding, candidate), difference in differences_against(comparison, against).items():
        if difference.refused and finding in findings:
            labels.setdefault((candidate, difference.reason), []).append(difference.label)
    return tuple(
        f"{display_name(candidate)}: {reason} "
        f"({'every finding' if len(held) == len(findings) else ', '.join(held)})"
        for (candidate, reason), held in labels.items()
    )


def _choices(comparison_id: str, comparison: Comparison, against: str) -> tuple[ChoiceView, ...]:
    return tuple(
        ChoiceView(
            display_name(c.name),
            f"/comparisons/{comparison_id}?{urlencode({'against': c.name})}#numbers",
            c.name == against,
            _needs_tag(c),
        )
        for c in comparison.candidates
    )


def _candidate(index: int, candidate: Candidate, against: str) -> CandidateView:
    return CandidateView(
        index=index,
        name=display_name(candidate.name),
        house_tag=_needs_tag(candidate),
        chosen=candidate.name == against,
        sheets=sheets_words(len(candidate.sheets)),
        files=tuple((s.name, s.files, f"{number(s.patches, 0)} patches") for s in candidate.sheets),
        facts=candidate.facts,
        swatches=tuple(
            SwatchView(s.name, s.hex, " ".join(number(v, 1) for v in s.lab), s.clipped)
            for s in _ends_first(candidate.swatches)
        ),
        has_gamut=candidate.gamut is not None,
        has_patches=bool(candidate.patch_maps),
    )


def _needs_tag(candidate: Candidate) -> bool:
    return candidate.house and not _SAYS_HOUSE.search(candidate.name)


def _ends_first(swatches: tuple[Swatch, ...]) -> tuple[Swatch, ...]:
    """The lightest and the darkest before all others: they are looked at first, and shown larger."""
    by_lightness = sorted(swatches, key=lambda s: s.lab[0])
    ends = [by_lightness[-1], by_lightness[0]] if len(swatches) > 1 else []
    return (*ends, *(s for s in swatches if s not in ends))


def _bodies(comparison: Comparison) -> tuple[BodyView, ...]:
    media = [BodyView(c.name, display_name(c.name)) for c in comparison.candidates if c.gamut is not None]
    return (*media, *(BodyView(name, name) for name in comparison.references))


def _first_pair(comparison: Comparison, bodies: tuple[BodyView, ...], against: str) -> tuple[str, str]:
    """What is compared against as the solid and the widest gamut as the net: the larger must be the net."""
    media = [c for c in comparison.candidates if c.gamut is not None and c.name != against]
    values = [body.value for body in bodies]
    widest = max(media, key=lambda c: c.gamut.volume if c.gamut else 0.0, default=None)
    first = against if against in values else (values[0] if values else "")
    second = widest.name if widest else next((v for v in values if v != first), "")
    return first, second


def _overlap(item: Overlap) -> OverlapView:
    return OverlapView(
        display_name(item.candidate),
        display_name(item.other),
        number(item.shared, 0),
        number(item.volume, 0),
        number(item.other_volume, 0),
        percent(item.coverage),
        item.condition,
    )


def _problem(item: Problem) -> ProblemView:
    return ProblemView(item.severity, item.place(), item.what, item.todo)

"""Choosing what a trial's sheets are compared by, and seeing what goes in before it is worked out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from laydown.trials.facts import TrialFacts
from laydown.usecases.measuring.sorting import By
from laydown.usecases.measuring.trial_comparison import TrialRequest, conditions_of
from laydown.web.trial_comparison import TrialComparisonId
from laydown.web.views.trial_frame import TrialFrame, trial_frame

WAYS: Mapping[By, tuple[str, str]] = {
    "medium": ("By medium", "Which medium is better? Settled sheets, each medium in its finish."),
    "lot": ("By lot", "Do two lots of a medium differ?"),
    "finish": ("By finish", "What does a coat change? Coated and uncoated twins side by side."),
    "age": ("By age", "How do prints change after printing? Early readings are in here."),
}


@dataclass(frozen=True, slots=True)
class WayView:
    """One way to compare."""

    name: str
    words: str
    href: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class MediumView:
    """A medium of the comparison and its sheets; no tag where its name says "house" itself."""

    name: str
    house_tag: bool
    sheets: str


@dataclass(frozen=True, slots=True)
class TrialComparisonsView:
    """The page. ``href`` opens the comparison, "" where there is nothing to compare."""

    frame: TrialFrame
    trial_id: str
    by: By
    ways: tuple[WayView, ...]
    condition: str
    conditions: tuple[str, ...]
    media: tuple[MediumView, ...]
    cautions: tuple[str, ...]
    href: str
    pdf_href: str
    nothing: str


def trial_comparisons_view(
    facts: TrialFacts, told: TrialRequest, wanted: TrialComparisonId, *, now: datetime
) -> TrialComparisonsView:
    """The page for one way of comparing."""
    base = f"/trials/{facts.trial.id}/comparisons"
    conditions = conditions_of(told.found)
    condition = wanted.condition if wanted.condition in conditions else ""
    address = str(TrialComparisonId(wanted.trial_id, wanted.by, condition))
    count = len(told.found.media)
    return TrialComparisonsView(
        frame=trial_frame(facts, now=now, here="measure"),
        trial_id=facts.trial.id,
        by=wanted.by,
        ways=tuple(
            WayView(name, words, f"{base}?by={by}", by == wanted.by) for by, (name, words) in WAYS.items()
        ),
        condition=condition,
        conditions=conditions,
        media=tuple(
            MediumView(
                name,
                _needs_tag(name, told.found.house),
                _sheets([one.sheet.code for one in held if one.sheet]),
            )
            for name, held in told.found.media.items()
        ),
        cautions=told.options.cautions,
        href=f"/comparisons/{address}" if count else "",
        pdf_href=f"/comparisons/{address}.pdf" if count else "",
        nothing="" if count else _nothing(wanted.by),
    )


def _needs_tag(name: str, house: str) -> bool:
    return name == house and "house" not in name.casefold()


def _sheets(codes: list[str]) -> str:
    different = list(dict.fromkeys(codes))
    count = "1 sheet" if len(different) == 1 else f"{len(different)} sheets"
    return f"{count}: {', '.join(different)}"


def _nothing(by: By) -> str:
    if by == "finish":
        return "No medium of this trial was measured both coated and uncoated."
    return "No reading can be used yet. The measuring page says what each waits for."

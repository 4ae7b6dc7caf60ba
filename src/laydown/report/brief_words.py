"""What a comparison says to the criteria of a trial's brief, in plain words made from its calls."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from laydown.report.wording import (
    call_sentence,
    difference_text,
    display_name,
    has_interval,
    margin_text,
    number,
    percent,
    preference_words,
    unit_words,
    what_would_settle,
)
from laydown.science.deciding.types import Call
from laydown.science.findings.catalogue import METRICS
from laydown.usecases.comparison import BriefCriterion, CallsByFinding, ComparedDifference, Comparison

MOST_PAIRS = 6
_TOLD_APART: tuple[Call, ...] = ("better", "worse", "higher", "lower")


@dataclass(frozen=True, slots=True)
class CriterionWords:
    """What is said to one criterion: how much it counts, what it is measured by, and the sentences."""

    name: str
    share: str
    measured_by: str
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BriefWords:
    """What a comparison says to a brief: criterion by criterion, then what it says nothing about."""

    about: str
    criteria: tuple[CriterionWords, ...]
    silent: tuple[str, ...]


def brief_words(comparison: Comparison) -> BriefWords | None:
    """The answer to the brief, or None where the comparison is not asked for one.

    Parameters
    ----------
    comparison
        The result. Its calls are put into words; nothing is called anew.

    Returns
    -------
    BriefWords or None
        Sentences that claim no more than the calls do.
    """
    asked = comparison.brief
    if asked is None:
        return None
    calls = {item.finding: item for item in comparison.by_finding}
    spoken = [one for one in asked.criteria if one.finding in calls]
    return BriefWords(
        about=(
            f"To what the brief asks, {asked.dated}. Amounts are intervals at "
            f"{percent(comparison.confidence)}, each for itself."
        ),
        criteria=tuple(_criterion(comparison, one, calls[one.finding]) for one in spoken),
        silent=tuple(_silent(comparison, spoken)),
    )


def _silent(comparison: Comparison, spoken: Sequence[BriefCriterion]) -> Iterator[str]:
    """What no measured finding speaks to: other criteria, must-haves, the rest of the weight."""
    assert comparison.brief is not None
    rest = [one for one in comparison.brief.criteria if one not in spoken]
    if rest:
        yield f"Not yet looked at: {', '.join(_with_share(one) for one in rest)}."
    if comparison.brief.gates:
        names = ", ".join(display_name(one) for one in comparison.brief.gates)
        yield (
            f"Must-haves: {names}. Whether they are met cannot be told from readings; each is looked at by "
            "itself, and a medium that fails one is out, whatever else it does well."
        )
    share = sum(one.share for one in spoken)
    if rest and all(math.isfinite(one.share) for one in comparison.brief.criteria):
        yield f"What is measured here carries {percent(share)} of the weight. It is no decision."


def _with_share(criterion: BriefCriterion) -> str:
    name = display_name(criterion.name)
    return f"{name} ({percent(criterion.share)})" if math.isfinite(criterion.share) else name


def _criterion(comparison: Comparison, asked: BriefCriterion, calls: CallsByFinding) -> CriterionWords:
    own = [item for item in comparison.differences if item.finding == asked.finding]
    house = comparison.house
    if house:
        own = [item.turned() if item.candidate == house else item for item in own]
        told = list(_against(comparison, [item for item in own if item.against == house], calls))
    else:
        told = list(_between(own))
    return CriterionWords(
        name=display_name(asked.name),
        share=f"{percent(asked.share)} of the weight" if math.isfinite(asked.share) else "",
        measured_by=f"{calls.label}, {preference_words(calls)}; {calls.condition}",
        sentences=(*told, _matters(asked, calls)),
    )


def _between(differences: Sequence[ComparedDifference]) -> Iterator[str]:
    """Every pair where no house medium is named; too many are left to the numbers."""
    if len(differences) > MOST_PAIRS:
        yield f"No house medium is named, and {len(differences)} pairs are too many to tell; see the numbers."
        return
    yield from (call_sentence(item) for item in differences)


def _against(
    comparison: Comparison, differences: Sequence[ComparedDifference], calls: CallsByFinding
) -> Iterator[str]:
    """One sentence for each call: better than the house medium by how much, the same, not to be told."""
    house = display_name(comparison.house)
    for call in _TOLD_APART:
        held = [item for item in differences if item.call == call and not item.refused]
        if held:
            told = "; ".join(_by_how_much(comparison, item) for item in held)
            yield f"{call.capitalize()} than {house}: {told}."
    same = [item for item in differences if item.call == "same" and not item.refused]
    if same:
        margin = margin_text(same[0].margin, same[0].decimals, calls.unit)
        told = "; ".join(f"{display_name(item.candidate)} ({_n(comparison, item)})" for item in same)
        yield f"The same as {house} within the margin that matters, {margin}: {told}."
    unsure = [item for item in differences if item.call == "cannot_tell" and not item.refused]
    if unsure:
        told = "; ".join(
            f"{display_name(item.candidate)} ({_why_unsure(comparison, item)})" for item in unsure
        )
        yield f"Cannot tell yet from {house}: {told}."
    refused = [item for item in differences if item.refused]
    if refused:
        told = "; ".join(f"{display_name(item.candidate)} ({item.reason.rstrip('.')})" for item in refused)
        yield f"Not compared with {house}: {told}."


def _by_how_much(comparison: Comparison, item: ComparedDifference) -> str:
    unit, name = unit_words(item.unit), display_name(item.candidate)
    if not has_interval(item):
        return f"{name} by {number(abs(item.difference), item.decimals)} {unit} ({_n(comparison, item)})"
    least, most = sorted((abs(item.low), abs(item.high)))
    if item.low < 0 < item.high:  # an ordinary interval that holds zero has no least amount
        return f"{name}, difference {difference_text(item)} ({_n(comparison, item)})"
    amount = f"{number(least, item.decimals)} to {number(most, item.decimals)} {unit}"
    small = item.margin is not None and least < item.margin
    perhaps = ", which may be less than what matters" if small else ""
    return f"{name} by {amount} ({_n(comparison, item)}){perhaps}"


def _why_unsure(comparison: Comparison, item: ComparedDifference) -> str:
    counts = _counts(comparison, item)
    known = difference_text(item)
    if 1 in counts:
        why = "with one sheet nothing is called"
    else:
        why = what_would_settle(item) or item.reason.rstrip(".")
    return "; ".join(
        part for part in (_n(comparison, item), f"difference {known}" if known else "", why) if part
    )


def _counts(comparison: Comparison, item: ComparedDifference) -> tuple[int, ...]:
    """From how many sheets the finding of either medium comes."""
    found = (comparison.candidate(name).finding(item.finding) for name in (item.candidate, item.against))
    return tuple(one.n for one in found if one is not None)


def _n(comparison: Comparison, item: ComparedDifference) -> str:
    """Such as "n = 3 and 4 sheets"."""
    counts = _counts(comparison, item)
    told = " and ".join(str(one) for one in counts)
    return f"n = {told} sheet{'' if counts and max(counts) == 1 else 's'}"


def _matters(asked: BriefCriterion, calls: CallsByFinding) -> str:
    if asked.matters:
        return f"The brief calls differences from {asked.matters} on ones that matter."
    if calls.margin is None:
        return "No difference that matters is set, so nothing can be called the same."
    usual = margin_text(calls.margin, METRICS[calls.finding].decimals, calls.unit)
    return (
        f"The brief names no difference that matters here; the usual one is {usual} ({calls.margin_source})."
    )

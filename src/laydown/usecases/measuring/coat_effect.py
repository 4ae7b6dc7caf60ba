"""What a coat did to a medium: black, colour range, white and gloss of coated against uncoated prints.

Where the same sheets were read before and after coating, each sheet is set against itself; else the coated
arm against the uncoated one.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from laydown.science.deciding.paired import judge_paired
from laydown.science.deciding.types import Quantity
from laydown.science.findings.catalogue import METRICS
from laydown.trials.facts import TrialFacts
from laydown.usecases.comparison import ComparedDifference, Comparison, Finding
from laydown.usecases.measuring.gloss_of_coat import GlossChange, gloss_changes
from laydown.usecases.measuring.sorting import BEFORE, arm_name

FINDINGS = ("dmax_visual", "gamut_volume", "white_l", "white_b")
FEWEST_PAIRS = 2
BETWEEN_ARMS = "between the coated and the uncoated arm"


@dataclass(frozen=True, slots=True)
class CoatChange:
    """One finding before and after the coat, the change with its call, and how it was got.

    ``difference`` is None where nothing can be said; ``how`` then says why.
    """

    finding: str
    label: str
    before: Finding | None
    after: Finding | None
    difference: ComparedDifference | None
    paired: bool
    how: str


@dataclass(frozen=True, slots=True)
class CoatEffect:
    """What the coat did to one medium; ``candidate`` is the coated arm, ``gloss`` what a gloss meter told."""

    candidate: str
    coat: str
    changes: tuple[CoatChange, ...]
    gloss: tuple[GlossChange, ...]


def coat_effects(facts: TrialFacts, comparison: Comparison) -> tuple[CoatEffect, ...]:
    """What the coats of a trial did, from the comparison of its coated and uncoated prints."""
    coated = [one for one in facts.candidates if one.finish == "coated"]
    there = {medium.name for medium in comparison.candidates}
    gloss = gloss_changes(facts)
    effects = []
    for arm in coated:
        after = arm_name(arm)
        twin = next((one for one in facts.candidates if one.id == arm.twin_id), None)
        bare = arm_name(twin) if twin else ""
        if after not in there and arm.id not in gloss:
            continue
        changes = tuple(
            _change(
                comparison,
                finding,
                after=after,
                before=BEFORE.format(name=after),
                bare=bare,
                judged=len(coated),
            )
            for finding in FINDINGS
        )
        product = arm.coat.product if arm.coat else ""
        effects.append(CoatEffect(arm.name, product, changes, gloss.get(arm.id, ())))
    return tuple(effects)


def _change(
    comparison: Comparison, finding: str, *, after: str, before: str, bare: str, judged: int
) -> CoatChange:
    label = METRICS[finding].label
    now = _finding(comparison, after, finding)
    same_sheets = _finding(comparison, before, finding)
    pairs = list(_pairs(same_sheets, now))
    if len(pairs) >= FEWEST_PAIRS and now is not None and same_sheets is not None:
        told = _paired(comparison, finding, pairs, now, names=(after, before), judged=judged * len(FINDINGS))
        how = f"the same {len(pairs)} sheets before and after coating"
        return CoatChange(finding, label, same_sheets, now, told, True, how)
    arm = _finding(comparison, bare, finding)
    difference = _between(comparison, finding, after, bare)
    if difference is None:
        missing = "it was not measured on both" if now is None or arm is None else "it cannot be compared"
        return CoatChange(finding, label, arm, now, None, False, missing)
    return CoatChange(finding, label, arm, now, difference, False, BETWEEN_ARMS)


def _finding(comparison: Comparison, medium: str, finding: str) -> Finding | None:
    """The finding of a medium under the condition that is judged."""
    for candidate in comparison.candidates:
        if candidate.name == medium:
            return next((one for one in candidate.findings if one.id == finding and one.primary), None)
    return None


def _pairs(before: Finding | None, after: Finding | None) -> Iterator[tuple[float, float]]:
    """Values of the sheets that have both, by their names."""
    if before is None or after is None or before.condition != after.condition:
        return
    later = dict(after.per_sheet)
    for sheet, value in before.per_sheet:
        if np.isfinite(value) and np.isfinite(later.get(sheet, np.nan)):
            yield value, later[sheet]


def _paired(
    comparison: Comparison,
    finding: str,
    pairs: Sequence[tuple[float, float]],
    after: Finding,
    *,
    names: tuple[str, str],
    judged: int,
) -> ComparedDifference:
    metric = METRICS[finding]
    calls = next((one for one in comparison.by_finding if one.finding == finding), None)
    before, later = (np.array(values) for values in zip(*pairs))
    margin = calls.margin if calls else None
    quantity = Quantity(
        finding,
        metric.unit,
        preference=metric.preference,
        margin=margin,
        resolution=metric.resolution,
    )
    told = judge_paired(
        before,
        later,
        quantity,
        names=names,
        judged=judged,
        alpha=comparison.alpha,
        confidence=comparison.confidence,
    )
    return ComparedDifference(
        finding=finding,
        label=metric.label,
        unit=metric.unit,
        decimals=metric.decimals,
        condition=after.condition,
        candidate=names[0],
        against=names[1],
        difference=told.difference,
        low=told.low,
        high=told.high,
        margin=told.margin,
        margin_source=calls.margin_source if calls else "",
        call=told.call,
        sheets_needed=None,
        p_adjusted=told.p_adjusted,
        real=told.real,
        refused=False,
        reason=told.reason,
    )


def _between(comparison: Comparison, finding: str, after: str, bare: str) -> ComparedDifference | None:
    """The difference between two arms, coated minus uncoated."""
    for item in comparison.differences:
        if item.finding == finding and (item.candidate, item.against) == (after, bare):
            return item
        if item.finding == finding and (item.candidate, item.against) == (bare, after):
            return item.turned()
    return None

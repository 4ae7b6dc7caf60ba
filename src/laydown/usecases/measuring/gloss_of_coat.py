"""What a coat did to gloss: the same sheets before and after where that can be, else arm against arm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from laydown.science.deciding.apart import judge_apart
from laydown.science.deciding.paired import judge_paired
from laydown.science.deciding.types import Difference
from laydown.trials.facts import TrialFacts
from laydown.trials.trial import Candidate
from laydown.usecases.comparison import ComparedDifference, Finding
from laydown.usecases.measuring.gloss_findings import (
    ALPHA,
    CONFIDENCE,
    condition_of,
    finding_of,
    level_of,
    quantity_of,
    told_difference,
)
from laydown.usecases.measuring.gloss_of_sheets import GlossOfSheet, Under, gloss_of_sheets
from laydown.usecases.measuring.sorting import BEFORE, arm_name
from laydown.usecases.measuring.standings import gloss_standings

FEWEST = 2  # sheets, so that there is a spread


@dataclass(frozen=True, slots=True)
class GlossChange:
    """Gloss under one ``Under`` before and after the coat; ``difference`` is None where one sheet is all.

    ``paired`` says that the same ``pairs`` sheets were read before and after.
    """

    under: Under
    before: Finding | None
    after: Finding
    difference: ComparedDifference | None
    paired: bool
    pairs: int


@dataclass(frozen=True, slots=True)
class _Asked:
    """What stands against what: sheets of the coated arm, and those before the coat or of the bare arm.

    ``beside`` are all sheets in the state of ``before``.
    """

    arm: Candidate
    under: Under
    after: tuple[GlossOfSheet, ...]
    before: tuple[GlossOfSheet, ...]
    beside: Sequence[GlossOfSheet]
    against: str
    paired: bool

    @property
    def judged(self) -> bool:
        return min(len(self.after), len(self.before)) >= FEWEST


def gloss_changes(facts: TrialFacts) -> dict[str, tuple[GlossChange, ...]]:
    """What coats did to gloss, by the id of the coated candidate; those without gloss are left out.

    The calls allow for every change of gloss judged here together.
    """
    standings = gloss_standings(facts)
    used = gloss_of_sheets(one for one in standings if one.used)
    # A reading of wet ink is no "before": the coat would be given what the cure did.
    bare = gloss_of_sheets(
        one for one in standings if one.state == "other finish" and one.age and not one.age.early
    )
    asked = [
        told for arm in facts.candidates if arm.finish == "coated" for told in _asked(facts, arm, used, bare)
    ]
    judged = max(1, sum(one.judged for one in asked))
    found: dict[str, tuple[GlossChange, ...]] = {}
    for one in asked:
        found[one.arm.id] = (*found.get(one.arm.id, ()), _change(one, judged=judged))
    return found


def _asked(
    facts: TrialFacts, arm: Candidate, used: Sequence[GlossOfSheet], bare: Sequence[GlossOfSheet]
) -> list[_Asked]:
    after = _of(used, arm)
    twin = next((one for one in facts.candidates if one.id == arm.twin_id), None)
    found = []
    for under in dict.fromkeys(one.under for one in after):
        own = {one.sheet.id: one for one in after if one.under == under}
        before = {one.sheet.id: one for one in _of(bare, arm) if one.under == under}
        both = [sheet_id for sheet_id in own if sheet_id in before]
        name = arm_name(arm)
        if len(both) >= FEWEST:
            pair = [tuple(held[sheet_id] for sheet_id in both) for held in (own, before)]
            found.append(_Asked(arm, under, pair[0], pair[1], bare, BEFORE.format(name=name), True))
        else:
            others = tuple(one for one in _of(used, twin) if one.under == under) if twin else ()
            found.append(
                _Asked(arm, under, tuple(own.values()), others, used, arm_name(twin) if twin else "", False)
            )
    return found


def _of(sheets: Sequence[GlossOfSheet], candidate: Candidate) -> list[GlossOfSheet]:
    return [one for one in sheets if one.candidate_id == candidate.id]


def _change(asked: _Asked, *, judged: int) -> GlossChange:
    under = asked.under
    difference = None
    if asked.judged:
        told = _judged(asked, judged=judged)
        condition = condition_of(under, [*asked.after, *asked.before])
        difference = told_difference(under, told, condition=condition)
    return GlossChange(
        under=under,
        before=finding_of(under, asked.before) if asked.before else None,
        after=finding_of(under, asked.after),
        difference=difference,
        paired=asked.paired,
        pairs=len(asked.after) if asked.paired else 0,
    )


def _judged(asked: _Asked, *, judged: int) -> Difference:
    quantity = quantity_of(asked.under, level=level_of(asked.under, asked.before, asked.beside))
    before, after = ([one.value for one in held] for held in (asked.before, asked.after))
    names = (arm_name(asked.arm), asked.against)
    if asked.paired:
        return judge_paired(
            before, after, quantity, names=names, judged=judged, alpha=ALPHA, confidence=CONFIDENCE
        )
    return judge_apart(
        after, before, quantity, names=names, judged=judged, alpha=ALPHA, confidence=CONFIDENCE
    )

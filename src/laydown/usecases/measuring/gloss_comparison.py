"""Gloss of a trial's media: means over sheets with intervals, and the house medium against the others.

Gloss is judged apart from what files tell: its readings are no files, and its calls allow for the
comparisons of gloss alone.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from laydown.science.deciding.apart import judge_apart
from laydown.trials.facts import TrialFacts
from laydown.trials.trial import Candidate
from laydown.usecases.comparison import ComparedDifference, Finding
from laydown.usecases.measuring.gloss_cautions import gloss_cautions
from laydown.usecases.measuring.gloss_findings import (
    ALPHA,
    CONFIDENCE,
    condition_of,
    finding_id,
    finding_of,
    level_of,
    quantity_of,
    told_difference,
)
from laydown.usecases.measuring.gloss_of_sheets import GlossOfSheet, Under, gloss_of_sheets
from laydown.usecases.measuring.standings import gloss_standings


@dataclass(frozen=True, slots=True)
class GlossMedium:
    """Gloss of one medium under one ``Under``; ``repeat_sd`` is how repeats on a sheet scatter (GU)."""

    name: str
    house: bool
    finding: Finding
    repeat_sd: float


@dataclass(frozen=True, slots=True)
class GlossQuantity:
    """One place at one angle: every medium read there, and differences (to the house medium, if any)."""

    id: str
    label: str
    condition: str
    media: tuple[GlossMedium, ...]
    differences: tuple[ComparedDifference, ...]


@dataclass(frozen=True, slots=True)
class GlossComparison:
    """The whole answer about gloss; no quantities where nothing was read that may be compared.

    ``comparisons`` is how many differences were judged together.
    """

    house: str
    confidence: float
    alpha: float
    comparisons: int
    quantities: tuple[GlossQuantity, ...]
    cautions: tuple[str, ...]

    @property
    def told(self) -> bool:
        """Whether there is anything to show: a number, or why a reading is left out."""
        return bool(self.quantities or self.cautions)


def compare_gloss(facts: TrialFacts) -> GlossComparison:
    """Compare the gloss of a trial's media, each in its finish, at one place and angle at a time."""
    standings = gloss_standings(facts)
    sheets = gloss_of_sheets(one for one in standings if one.used)
    grouped: dict[Under, list[GlossOfSheet]] = defaultdict(list)
    for read in sheets:
        grouped[read.under].append(read)
    pairs = [
        (under, one, other)
        for under, held in grouped.items()
        for one, other in _pairs(facts.candidates, held)
    ]
    judged = sum(_is_judged(grouped[under], one, other) for under, one, other in pairs)
    differences: dict[Under, list[ComparedDifference]] = defaultdict(list)
    for under, one, other in pairs:
        differences[under].append(_difference(under, grouped[under], sheets, one, other, judged=judged))
    return GlossComparison(
        house=next((one.name for one in facts.candidates if one.house), ""),
        confidence=CONFIDENCE,
        alpha=ALPHA,
        comparisons=judged,
        quantities=tuple(
            GlossQuantity(
                id=finding_id(under),
                label=under.label,
                condition=condition_of(under, held),
                media=tuple(
                    _medium(one, under, own) for one in facts.candidates if (own := _of_arm(held, one))
                ),
                differences=tuple(differences[under]),
            )
            for under, held in grouped.items()
        ),
        cautions=gloss_cautions(facts, standings, sheets),
    )


def _of_arm(held: Sequence[GlossOfSheet], candidate: Candidate) -> list[GlossOfSheet]:
    return [one for one in held if one.candidate_id == candidate.id]


def _pairs(
    candidates: Sequence[Candidate], held: Sequence[GlossOfSheet]
) -> list[tuple[Candidate, Candidate]]:
    """Every other medium against the house; where that was not read or there is none, each against each."""
    there = [one for one in candidates if _of_arm(held, one)]
    house = next((one for one in there if one.house), None)
    if house is None:
        return [(second, first) for first, second in combinations(there, 2)]
    return [(one, house) for one in there if one.id != house.id]


def _is_judged(held: Sequence[GlossOfSheet], one: Candidate, other: Candidate) -> bool:
    enough = min(len(_of_arm(held, one)), len(_of_arm(held, other))) > 1
    return enough and one.finish == other.finish


def _difference(
    under: Under,
    held: Sequence[GlossOfSheet],
    every: Sequence[GlossOfSheet],
    one: Candidate,
    other: Candidate,
    *,
    judged: int,
) -> ComparedDifference:
    first, second = _of_arm(held, one), _of_arm(held, other)
    condition = condition_of(under, [*first, *second])
    told = judge_apart(
        [sheet.value for sheet in first],
        [sheet.value for sheet in second],
        quantity_of(under, level=level_of(under, second, every)),
        names=(one.name, other.name),
        judged=max(1, judged),
        alpha=ALPHA,
        confidence=CONFIDENCE,
    )
    if one.finish != other.finish:
        nan = float("nan")
        told = replace(
            told, difference=nan, low=nan, high=nan, call="cannot_tell", p_adjusted=nan, p_equivalence=nan,
            real=False, refused=True, reason=f"unlike finish: {one.finish} against {other.finish}",
        )  # fmt: skip
    return told_difference(under, told, condition=condition)


def _medium(candidate: Candidate, under: Under, own: Sequence[GlossOfSheet]) -> GlossMedium:
    spreads = [one.sd for one in own if np.isfinite(one.sd)]
    return GlossMedium(
        name=candidate.name,
        house=candidate.house,
        finding=finding_of(under, own),
        repeat_sd=float(np.sqrt(np.mean(np.square(spreads)))) if spreads else float("nan"),
    )

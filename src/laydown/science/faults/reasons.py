"""Why a cause stands where it stands: what was marked, answered and found, one by one."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.kernel.constants import Constant
from laydown.science.faults.evidence import Evidence
from laydown.science.faults.model import FaultModel
from laydown.science.faults.network import Answer, Mark, Question, check_question, symptom_question

_BANDS = "Kass & Raftery, J. Am. Stat. Assoc. 90 (1995) 773-795, bands for a Bayes factor"
CLEAR = Constant(3.0, "likelihood ratio", _BANDS, "from memory")
STRONG = Constant(20.0, "likelihood ratio", _BANDS, "from memory")
VERY_STRONG = Constant(150.0, "likelihood ratio", _BANDS, "from memory")
MENTIONED = Constant(
    1.2, "likelihood ratio", "our judgement: weaker than this moves nobody", "common practice, no source"
)


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing that speaks for a cause (``ratio`` above 1) or against it (below 1).

    ``id`` is that of the symptom, check or evidence. ``ratio`` is how many times likelier it is with the
    cause than without, the other causes being as common as they usually are. ``words`` say what it is,
    ``numbers`` the chances behind it, ``strength`` how much weight it has.
    """

    kind: Literal["symptom", "answer", "evidence"]
    id: str
    words: str
    numbers: str
    ratio: float
    strength: str


def reasons_of(
    model: FaultModel,
    marks: Mapping[str, Mark],
    *,
    answers: Mapping[str, Answer],
    evidence: Sequence[Evidence],
) -> tuple[tuple[Reason, ...], ...]:
    """What speaks for and against each cause, the weightiest first.

    Each reason is weighed by itself, with all other causes at their priors. Reasons therefore do not multiply
    to the ranking: two symptoms explained by one rival cause count for less together, which only the
    ranking knows.

    Parameters
    ----------
    model : FaultModel
        A whole model.
    marks, answers, evidence
        As in `rank`.

    Returns
    -------
    tuple of tuple of Reason
        One for each cause of the model, in its order.

    Checked against
    ---------------
    Ratios worked by hand on a small network (``test_rank.py``).
    """
    prior = np.array([model.priors[cause] for cause in model.causes])
    found: list[list[Reason]] = [[] for _ in model.causes]
    for kind, known, words, chances in _told(model, marks, answers, prior):
        ratios = chances[0] / chances[1]
        for place in _worth_saying(ratios):
            numbers = (
                f"so in {chances[0][place]:.0%} of prints with this cause, in {chances[1][place]:.0%} without"
            )
            found[place].append(_reason(kind, known, words, numbers, float(ratios[place])))
    places = {cause: place for place, cause in enumerate(model.causes)}
    for piece in evidence:
        for cause, ratio in model.speaks.get(piece.id, piece.ratios).items():
            for _ in _worth_saying(np.array([ratio])):
                numbers = (
                    f"{max(ratio, 1.0 / ratio):.3g} times likelier {'with' if ratio > 1 else 'without'} it"
                )
                found[places[cause]].append(_reason("evidence", piece.id, piece.words, numbers, ratio))
    return tuple(tuple(sorted(some, key=lambda reason: -abs(math.log(reason.ratio)))) for some in found)


def in_general(question: Question, prior: Floats) -> tuple[Floats, Floats]:
    """P(yes) with and without each cause, all other causes being at their priors.

    Parameters
    ----------
    question : Question
        Of N causes.
    prior : (N,) array
        Their priors.

    Returns
    -------
    two (N,) arrays
        With the cause, and without it.

    Checked against
    ---------------
    Enumeration of small networks (``test_rank.py``).
    """
    both = question.passes * (1.0 - question.trigger)
    passing, missing = 1.0 + prior * (question.passes - 1.0), 1.0 + prior * (both - 1.0)
    passed = passing.prod() / passing
    missed = (1.0 - question.leak) * missing.prod() / missing
    return question.passes * passed - both * missed, passed - missed


def _told(
    model: FaultModel, marks: Mapping[str, Mark], answers: Mapping[str, Answer], prior: Floats
) -> Iterable[tuple[Literal["symptom", "answer"], str, str, tuple[Floats, Floats]]]:
    for symptom, described in model.symptoms.items():
        mark = marks.get(symptom, "not looked at")
        if mark != "not looked at":
            chances = in_general(symptom_question(model, symptom), prior)
            yield "symptom", symptom, f"{mark}: {described.name}", _turned(chances, mark == "present")
    for check, done in model.checks.items():
        answer = answers.get(check, "unsure")
        if answer != "unsure":
            chances = in_general(check_question(model, check), prior)
            yield (
                "answer",
                check,
                f"{done.question} {answer.capitalize()}.",
                _turned(chances, answer == "yes"),
            )


def _turned(chances: tuple[Floats, Floats], yes: bool) -> tuple[Floats, Floats]:
    return chances if yes else (1.0 - chances[0], 1.0 - chances[1])


def _worth_saying(ratios: Floats) -> list[int]:
    return [int(place) for place in np.flatnonzero(np.abs(np.log(ratios)) >= math.log(MENTIONED.value))]


def _reason(
    kind: Literal["symptom", "answer", "evidence"], known: str, words: str, numbers: str, ratio: float
) -> Reason:
    size = max(ratio, 1.0 / ratio)
    side = "for" if ratio > 1.0 else "against"
    if size < CLEAR.value:
        strength = f"a little {side} it"
    elif size < STRONG.value:
        strength = f"clearly {side} it"
    elif size < VERY_STRONG.value:
        strength = f"strongly {side} it"
    else:
        strength = f"very strongly {side} it"
    return Reason(kind, known, words, numbers, ratio, strength)

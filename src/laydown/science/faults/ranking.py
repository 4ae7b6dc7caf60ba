"""Ranks the causes of a bad print, and says which check to do next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from laydown.kernel.arrays import Bools, Floats
from laydown.kernel.constants import Constant
from laydown.science.faults.evidence import Evidence
from laydown.science.faults.foretelling import Foretold, expected_gain, foretell
from laydown.science.faults.model import Cause, Check, FaultModel
from laydown.science.faults.network import Answer, Mark, check_question, gather
from laydown.science.faults.open_questions import still_open
from laydown.science.faults.posterior import posterior
from laydown.science.faults.reasons import Reason, reasons_of

WORTH_DOING = Constant(
    0.005, "bit", "our judgement: a check that tells less is not offered", "common practice, no source"
)
LEADING = Constant(
    0.5,
    "of the first",
    "our judgement: causes half as likely as the first are led with it",
    "common practice, no source",
)
MOST_LEADING = 3
_SAME = 12  # chances that agree to this many digits are ties, told apart by their place in the model
_CHANGES = 3


@dataclass(frozen=True, slots=True)
class RankedCause:
    """A cause with its chance now and before anything was known, and what speaks for and against it."""

    cause: Cause
    probability: float
    prior: float
    prior_from: str
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class Change:
    """How the chance of one cause would change."""

    cause: str
    name: str
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class Outcome:
    """One answer to a check: its chance, the largest changes it would bring, and these in words."""

    answer: Literal["yes", "no"]
    probability: float
    changes: tuple[Change, ...]
    words: str


@dataclass(frozen=True, slots=True)
class NextCheck:
    """A check worth doing, how much it is expected to tell, and what each answer would mean."""

    check: Check
    gain_bits: float
    bits_per_minute: float
    if_yes: Outcome
    if_no: Outcome


@dataclass(frozen=True, slots=True)
class Ranking:
    """Causes by chance; checks by what they are expected to tell per minute; what is still open.

    Chances do not add up to 1: several causes may be at work, or none that is listed. ``leading`` are the ids
    whose fixes to try first, empty where nothing was raised above how common it is anyway.
    ``exact_forecast`` is False where the forecasts of ``next_checks`` are rough (see `foretell`); the
    chances of the causes are exact always.
    """

    causes: tuple[RankedCause, ...]
    leading: tuple[str, ...]
    next_checks: tuple[NextCheck, ...]
    still_open: tuple[str, ...]
    exact_forecast: bool
    numbers_from: str


def rank(
    model: FaultModel,
    marks: Mapping[str, Mark],
    *,
    answers: Mapping[str, Answer] | None = None,
    evidence: Sequence[Evidence] = (),
) -> Ranking:
    """Rank the causes of a bad print by their chance, and order the checks that would tell most.

    A help for looking in the right place first. The chances are only as good as the priors and strengths of
    the model, which are judgement until a studio writes in its own: read them as an order, not as a
    measurement.

    Parameters
    ----------
    model : FaultModel
        A whole model, as from `packaged_faults` or `with_overrides`.
    marks : mapping of symptom id to mark
        ``"present"``, ``"absent"`` or ``"not looked at"``; symptoms not named were not looked at.
    answers : mapping of check id to answer
        ``"yes"``, ``"no"`` or ``"unsure"``; unsure changes nothing.
    evidence : sequence of Evidence
        What is known from records and measurements.

    Returns
    -------
    Ranking
        Every cause of the model, and every check worth doing that is not answered.

    Raises
    ------
    RefusedInput
        For ids that are not in the model.
    TooLarge
        For more symptoms and answers than can be weighed exactly.

    Notes
    -----
    Binary noisy-OR network, causes independent beforehand: P(symptom) = 1 - (1 - leak) prod(1 - strength).
    Time grows with 2 to the number of present symptoms and telling answers; eight and five take some 40 ms.

    References
    ----------
    J. Pearl (1988) for noisy OR; D. Heckerman (1989) for the exact sum.

    Checked against
    ---------------
    Enumeration, a case worked by hand, and every row of the trade's list of symptoms (``test_rank.py``,
    ``test_fault_rows.py``).
    """
    answers = answers or {}
    known = gather(model, marks=marks, answers=answers, evidence=evidence)
    chances = posterior(known).chances
    prior = np.array([model.priors[cause] for cause in model.causes])
    counted = _in_play(model, marks, chances, prior)
    unanswered = [check for check in model.checks if answers.get(check, "unsure") == "unsure"]
    questions = {check: check_question(model, check) for check in unanswered}
    open_checks = [check for check, question in questions.items() if (question.bears & counted).any()]
    foretold = foretell(known, [questions[check] for check in open_checks], now=chances)
    causes = _ranked(model, chances, prior, reasons_of(model, marks, answers=answers, evidence=evidence))
    leading = _leading(causes)
    return Ranking(
        causes=causes,
        leading=leading,
        next_checks=_next_checks(model, open_checks, chances, foretold, counted),
        still_open=still_open(
            model,
            marks,
            chances=dict(zip(model.causes, chances.tolist(), strict=True)),
            leading=leading,
            anything_known=bool(evidence) or any(answer != "unsure" for answer in answers.values()),
            exact_forecast=foretold.exact,
        ),
        exact_forecast=foretold.exact,
        numbers_from=model.numbers_from,
    )


def _in_play(model: FaultModel, marks: Mapping[str, Mark], chances: Floats, prior: Floats) -> Bools:
    """Causes that what is known speaks for; all of them while nothing is known."""
    present = [symptom for symptom, mark in marks.items() if mark == "present"]
    linked = [any(symptom in model.effects_of(cause) for symptom in present) for cause in model.causes]
    in_play = np.array(linked, dtype=bool) | (chances > prior * (1.0 + 1e-6))
    return in_play if in_play.any() else np.ones_like(in_play)


def _ranked(
    model: FaultModel, chances: Floats, prior: Floats, reasons: Sequence[tuple[Reason, ...]]
) -> tuple[RankedCause, ...]:
    order = sorted(range(chances.size), key=lambda place: (-round(float(chances[place]), _SAME), place))
    causes = list(model.causes.values())
    return tuple(
        RankedCause(
            cause=causes[place],
            probability=float(chances[place]),
            prior=float(prior[place]),
            prior_from=model.origin(f"prior of {causes[place].id}"),
            reasons=reasons[place],
        )
        for place in order
    )


def _leading(causes: Sequence[RankedCause]) -> tuple[str, ...]:
    raised = [item for item in causes if item.probability > item.prior * (1.0 + 1e-6)]
    enough = LEADING.value * raised[0].probability if raised else 0.0
    return tuple(item.cause.id for item in raised[:MOST_LEADING] if item.probability >= enough)


def _next_checks(
    model: FaultModel, open_checks: Sequence[str], now: Floats, foretold: Foretold, counted: Bools
) -> tuple[NextCheck, ...]:
    names = [(cause.id, cause.name) for cause in model.causes.values()]
    gains = expected_gain(now, foretold, counted=counted).tolist()
    offered = [
        NextCheck(
            check=model.checks[check],
            gain_bits=gain,
            bits_per_minute=gain / model.checks[check].effort_minutes,
            if_yes=_outcome("yes", yes, names, now, given_yes),
            if_no=_outcome("no", 1.0 - yes, names, now, given_no),
        )
        for check, gain, yes, given_yes, given_no in zip(
            open_checks, gains, foretold.yes.tolist(), foretold.given_yes, foretold.given_no, strict=True
        )
        if gain >= WORTH_DOING.value
    ]
    return tuple(sorted(offered, key=lambda item: -round(item.bits_per_minute, _SAME)))


def _outcome(
    answer: Literal["yes", "no"], chance: float, names: Sequence[tuple[str, str]], now: Floats, after: Floats
) -> Outcome:
    most = np.argsort(-np.round(np.abs(after - now), _SAME), kind="stable")[:_CHANGES]
    changes = tuple(
        Change(names[place][0], names[place][1], float(now[place]), float(after[place]))
        for place in most.tolist()
    )
    said = [
        f"{change.name} {'rises' if change.after > change.before else 'falls'}"
        f" from {change.before:.0%} to {change.after:.0%}"
        for change in changes
        if f"{change.before:.0%}" != f"{change.after:.0%}"
    ]
    return Outcome(answer, chance, changes, "; ".join(said) + "." if said else "Hardly anything changes.")

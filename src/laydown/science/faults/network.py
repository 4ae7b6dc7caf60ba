"""The faults as a network of noisy ORs: what is known is turned into numbers that can be reckoned with."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np

from laydown.kernel.arrays import Bools, Floats
from laydown.kernel.constants import Constant
from laydown.kernel.errors import RefusedInput, TooLarge
from laydown.science.faults.evidence import Evidence
from laydown.science.faults.model import LARGEST_RATIO, FaultModel

Mark = Literal["present", "absent", "not looked at"]
Answer = Literal["yes", "no", "unsure"]

MOST_PRESENT = Constant(
    12, "symptoms", "chosen here: exact work doubles with each; a print has seldom more than five", "computed"
)
MOST_STATES = Constant(
    2**16, "states", "chosen here: about a second of work; a present symptom or a yes doubles it", "computed"
)


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """How a check, or a symptom, depends on the causes (N of them).

    ``leak`` is the chance of a yes with no cause at work. A cause at work, alone among the causes, triggers
    a yes with chance ``trigger``, and lets a yes pass with chance ``passes`` (1 for most): P(yes) =
    prod(passes) * (1 - (1 - leak) * prod(1 - trigger)) over the causes at work.
    """

    leak: float
    trigger: Floats
    passes: Floats

    @property
    def bears(self) -> Bools:
        """Which causes have any say in it."""
        return (self.trigger > 0.0) | (self.passes < 1.0)

    def yes_alone(self) -> Floats:
        """P(yes) with each cause alone at work."""
        return np.asarray(self.passes * (1.0 - (1.0 - self.leak) * (1.0 - self.trigger)))


@dataclass(frozen=True, slots=True, eq=False)
class Chain:
    """What was seen, where several causes bear on it, as a chain of d states that causes move along.

    With a cause at work, state ``s`` is kept with weight ``keep[:, s]``; where ``feeds[s]`` the rest moves to
    the last state. ``start`` and ``accept`` weigh the states at the ends. The same likelihood is
    ``sum_s coefficients[s] * prod(keep[causes at work, s])``.
    """

    start: Floats
    accept: Floats
    feeds: Bools
    coefficients: Floats
    keep: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Known:
    """Everything known about one print.

    ``log_without``, ``log_with`` (N,) are log weights of each cause being away or at work, with its prior and
    all that bears on it alone; ``chains`` holds the rest, ``log_constant`` what depends on no cause.
    """

    log_without: Floats
    log_with: Floats
    chains: tuple[Chain, ...]
    log_constant: float = 0.0


def symptom_question(model: FaultModel, symptom: str) -> Question:
    """How a symptom depends on the causes of a model.

    Parameters
    ----------
    model : FaultModel
        A whole model.
    symptom : str
        Its id.

    Returns
    -------
    Question
        Arrays in the order of ``model.causes``.

    Checked against
    ---------------
    Enumeration of small networks (``test_fault_network.py``).
    """
    trigger = np.array([model.effects_of(cause).get(symptom, 0.0) for cause in model.causes])
    return Question(model.leaks[symptom], trigger, np.ones_like(trigger))


def check_question(model: FaultModel, check: str) -> Question:
    """How the yes of a check depends on the causes of a model.

    Parameters
    ----------
    model : FaultModel
        A whole model.
    check : str
        Its id.

    Returns
    -------
    Question
        Arrays in the order of ``model.causes``; a cause that makes a yes rarer than it is without any cause
        stops it instead of triggering it.

    Checked against
    ---------------
    Enumeration of small networks (``test_fault_network.py``).
    """
    bearing = model.bearings[check]
    leak = bearing.otherwise
    yes = np.array([bearing.yes_if.get(cause, leak) for cause in model.causes])
    trigger = np.clip((yes - leak) / (1.0 - leak), 0.0, 1.0)
    return Question(leak, trigger, np.minimum(yes / leak, 1.0))


def gather(
    model: FaultModel,
    *,
    marks: Mapping[str, Mark],
    answers: Mapping[str, Answer],
    evidence: Sequence[Evidence],
) -> Known:
    """Turn marks, answers and evidence into weights and chains.

    Parameters
    ----------
    model : FaultModel
        A whole model.
    marks : mapping of symptom id to mark
        Symptoms not named were not looked at.
    answers : mapping of check id to answer
        ``"unsure"`` changes nothing.
    evidence : sequence of Evidence
        What is known otherwise.

    Returns
    -------
    Known
        In the order of ``model.causes``.

    Raises
    ------
    RefusedInput
        For an id that is not in the model, or a word that is no mark or answer.
    TooLarge
        For more than an exact reckoning can hold.

    Checked against
    ---------------
    Enumeration of small networks (``test_fault_network.py``).
    """
    _refuse_strangers("symptom", marks, model.symptoms, get_args(Mark))
    _refuse_strangers("check", answers, model.checks, get_args(Answer))
    prior = np.array([model.priors[cause] for cause in model.causes])
    log_with = np.log(prior)
    for piece in evidence:
        log_with = log_with + _log_ratios(model, piece)
    known = Known(np.log1p(-prior), log_with, ())
    for question, yes in _seen(model, marks, answers):
        known = with_answer(known, question, yes=yes)
    _refuse_too_many(marks, known.chains)
    return known


def with_answer(known: Known, question: Question, *, yes: bool) -> Known:
    """What is known once a question has been answered.

    A likelihood that is a product over causes, or that only one cause bears on, goes into the weights of the
    causes; any other needs a chain.

    Parameters
    ----------
    known : Known
        What was known before.
    question : Question
        A check, or a symptom that was looked for.
    yes : bool
        Its answer; for a symptom, whether it is present.

    Returns
    -------
    Known
        Both together.

    Checked against
    ---------------
    Enumeration of small networks (``test_fault_network.py``).
    """
    leak, trigger, passes = question.leak, question.trigger, question.passes
    bears = question.bears
    at_work, constant, chain = np.zeros_like(trigger), 0.0, None
    if int(bears.sum()) <= 1:
        alone = question.yes_alone()
        constant = math.log(leak if yes else 1.0 - leak)
        at_work = np.where(bears, np.log(alone if yes else 1.0 - alone) - constant, 0.0)
    elif yes:
        at_work = np.log(passes)
        chain = _triggered(question) if (trigger > 0.0).any() else None
        constant = math.log(leak) if chain is None else 0.0
    elif (passes < 1.0).any():
        chain = _denied(question)
    else:
        at_work, constant = np.log1p(-trigger), math.log1p(-leak)
    return Known(
        known.log_without,
        known.log_with + at_work,
        known.chains if chain is None else (*known.chains, chain),
        known.log_constant + constant,
    )


def _seen(
    model: FaultModel, marks: Mapping[str, Mark], answers: Mapping[str, Answer]
) -> Iterable[tuple[Question, bool]]:
    """What was marked and answered, in the model's order, so that the order of clicks changes no digit."""
    for symptom in model.symptoms:
        mark = marks.get(symptom, "not looked at")
        if mark != "not looked at":
            yield symptom_question(model, symptom), mark == "present"
    for check in model.checks:
        answer = answers.get(check, "unsure")
        if answer != "unsure":
            yield check_question(model, check), answer == "yes"


def _triggered(question: Question) -> Chain:
    """At least one cause, or the leak, triggered it: not yet triggered -> triggered."""
    leak = question.leak
    return Chain(
        start=np.array([1.0 - leak, leak]),
        accept=np.array([0.0, 1.0]),
        feeds=np.array([True, False]),
        coefficients=np.array([leak - 1.0, 1.0]),
        keep=np.stack([1.0 - question.trigger, np.ones_like(question.trigger)], axis=1),
    )


def _denied(question: Question) -> Chain:
    """Either nothing triggered it, or a cause stopped it.

    ``1 - R + (1 - leak) R Q`` with R the product of ``passes`` and Q that of ``1 - trigger``: the states are
    neither triggered nor stopped; not stopped; stopped.
    """
    passes = question.passes
    return Chain(
        start=np.array([1.0 - question.leak, 1.0, 0.0]),
        accept=np.array([1.0, 0.0, 1.0]),
        feeds=np.array([False, True, False]),
        coefficients=np.array([1.0 - question.leak, -1.0, 1.0]),
        keep=np.stack([passes * (1.0 - question.trigger), passes, np.ones_like(passes)], axis=1),
    )


def _log_ratios(model: FaultModel, piece: Evidence) -> Floats:
    ratios = np.ones(len(model.causes))
    places = {cause: place for place, cause in enumerate(model.causes)}
    most = LARGEST_RATIO.value
    for cause, ratio in model.speaks.get(piece.id, piece.ratios).items():
        if cause not in places:
            raise RefusedInput(f'the evidence "{piece.id}" names the unknown cause "{cause}".')
        if not 1.0 / most <= ratio <= most:
            raise RefusedInput(
                f'the evidence "{piece.id}" speaks {ratio:g} times for "{cause}".',
                todo=f"Keep it between {1 / most:g} and {most:g}.",
            )
        ratios[places[cause]] = ratio
    return np.asarray(np.log(ratios))


def _refuse_strangers(kind: str, told: Mapping[str, str], known: Iterable[str], words: Sequence[str]) -> None:
    known = set(known)
    for name, word in told.items():
        if name not in known:
            raise RefusedInput(
                f'there is no {kind} called "{name}".', todo="Reload the page and choose again."
            )
        if word not in words:
            raise RefusedInput(f'the {kind} "{name}" cannot be "{word}".', todo=f"Use: {', '.join(words)}.")


def _refuse_too_many(marks: Mapping[str, Mark], chains: Sequence[Chain]) -> None:
    present = sum(mark == "present" for mark in marks.values())
    if present > MOST_PRESENT.value:
        raise TooLarge(
            f"{present} symptoms are marked as present; {int(MOST_PRESENT.value)} at most can be weighed.",
            todo="Mark those that trouble you most; a print with more may have two unlike troubles.",
        )
    if math.prod(chain.start.size for chain in chains) > MOST_STATES.value:
        raise TooLarge(
            "so many symptoms are marked and so many checks answered that they cannot be weighed exactly.",
            todo='Set the symptoms that trouble you least to "not looked at", or some answers to "unsure".',
        )

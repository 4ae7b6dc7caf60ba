"""What each answer to a check would change, before anybody does the check."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import xlogy

from laydown.kernel.arrays import Bools, Floats
from laydown.kernel.constants import Constant
from laydown.science.faults.network import Known, Question
from laydown.science.faults.posterior import cause_weights

MOST_CANCELLED = Constant(
    1e11, "ratio", "chosen here: leaves five digits of sixteen for what is only a forecast", "computed"
)

_TERMS_AT_ONCE = 128


@dataclass(frozen=True, slots=True, eq=False)
class Foretold:
    """For C questions and N causes: ``yes`` (C,) the chance of a yes, ``given_yes``, ``given_no`` (C, N).

    Not ``exact`` where the causes had to be taken as independent of one another, given what is known.
    """

    yes: Floats
    given_yes: Floats
    given_no: Floats
    exact: bool


def foretell(known: Known, questions: Sequence[Question], *, now: Floats) -> Foretold:
    """The chance of a yes to each question, and of every cause after a yes and after a no.

    All questions are asked of one table: the alternating sum of Quickscore, within each term of which causes
    are independent. A dozen symptoms that have nothing to do with one another can make its terms cancel too
    far to be trusted; then the causes are taken as independent with the chances they have now, which leaves
    out that two causes may compete for one symptom, and is said.

    Parameters
    ----------
    known : Known
        Weights and chains.
    questions : sequence of Question
        Checks that are not answered yet.
    now : (N,) array
        Chance of each cause now, from `posterior`.

    Returns
    -------
    Foretold
        Probabilities; where exact, those that `posterior` gives once the answer is known.

    Notes
    -----
    With T terms of weight ``c_t prod_i m_ti``, ``m_ti = w0_i + w1_i keep_ti`` and ``h_ti = w1_i keep_ti /
    m_ti``, a factor ``g_i`` for each cause at work multiplies a term by ``prod_i (1 + h_ti (g_i - 1))``.
    Digits lost are seen from the sum of the terms' sizes over their sum.

    References
    ----------
    D. Heckerman, A tractable inference algorithm for diagnosing multiple diseases, UAI 1989.

    Checked against
    ---------------
    `posterior` with each answer given, on random networks and on the packaged model.
    """
    weight, share = _terms(known)
    total = float(weight.sum())
    exact = total > 0.0 and float(np.abs(weight).sum()) <= MOST_CANCELLED.value * total
    if not exact:
        weight, share, total = np.ones(1), now[:, None], 1.0
    yes_terms = np.empty((len(questions), weight.size))
    borne = [_yes_of_terms(q, weight, share, out=row) for q, row in zip(questions, yes_terms, strict=True)]
    joint = _summed_over_terms(yes_terms, share)
    for row, question, told in zip(joint, questions, borne, strict=True):
        row[question.bears] = told
    yes = np.clip(yes_terms.sum(axis=1) / total, 0.0, 1.0)
    return Foretold(yes, _given(joint / total, yes), _given(now - joint / total, 1.0 - yes), exact)


def _given(joint: Floats, chance: Floats) -> Floats:
    """Chances of the causes given an answer, from those of cause and answer together."""
    given = joint / np.maximum(chance, np.finfo(np.float64).tiny)[:, None]
    return np.asarray(np.clip(given, 0.0, 1.0))


def expected_gain(now: Floats, foretold: Foretold, *, counted: Bools) -> Floats:
    """Bits by which an answer is expected to lower the uncertainty about the causes counted.

    The uncertainty of each cause is taken by itself and added up, so that a check that settles two causes
    counts twice. It is a guide to what to do next, no measure of how right the ranking is.

    Parameters
    ----------
    now : (N,) array
        Chance of each cause now.
    foretold : Foretold
        Of C questions.
    counted : (N,) array of bool
        Causes that matter.

    Returns
    -------
    (C,) array
        Bits, never below 0.

    Notes
    -----
    ``sum_i H(x_i) - P(yes) H(x_i | yes) - P(no) H(x_i | no)``, H the entropy of a yes-no quantity: the mutual
    information of the answer and each cause, added up.

    Checked against
    ---------------
    A perfect check of one even cause (1 bit) and a worthless one (0), by hand; enumeration.
    """
    after = foretold.yes[:, None] * _entropy(foretold.given_yes)
    after += (1.0 - foretold.yes)[:, None] * _entropy(foretold.given_no)
    gain = (_entropy(now) - after)[:, counted].sum(axis=1)
    return np.asarray(np.maximum(gain, 0.0))


def _terms(known: Known) -> tuple[Floats, Floats]:
    """Weight (T,) of each term of the alternating sum, and the chance (N, T) of each cause within it."""
    without, at_work = cause_weights(known)
    coefficients, keep = np.ones(1), np.ones((without.size, 1))
    for chain in known.chains:
        coefficients = np.multiply.outer(coefficients, chain.coefficients).ravel()
        keep = (keep[:, :, None] * chain.keep[:, None, :]).reshape(without.size, -1)
    with_it = at_work[:, None] * keep
    mass = without[:, None] + with_it
    return coefficients * mass.prod(axis=0), with_it / mass


def _yes_of_terms(question: Question, weight: Floats, share: Floats, *, out: Floats) -> Floats:
    """Weight of a yes in each term (into ``out``); returns that of a yes with each cause that bears on it."""
    bears = question.bears
    here = share[bears]
    stopped = question.passes[bears, None]
    both = stopped * (1.0 - question.trigger[bears, None])
    passing, missing = 1.0 + here * (stopped - 1.0), 1.0 + here * (both - 1.0)
    passed, missed = passing.prod(axis=0), (1.0 - question.leak) * missing.prod(axis=0)
    np.multiply(weight, passed - missed, out=out)
    with_cause = here * (passed * stopped / passing - missed * both / missing)
    return np.asarray(with_cause @ weight)


def _summed_over_terms(yes_terms: Floats, share: Floats) -> Floats:
    """``yes_terms @ share.T``, in pieces small enough that no linear-algebra library wakes its threads.

    They made this 1 ms of work wait up to 300 ms for one another on two busy cores.
    """
    joint = np.zeros((yes_terms.shape[0], share.shape[0]))
    for start in range(0, yes_terms.shape[1], _TERMS_AT_ONCE):
        piece = slice(start, start + _TERMS_AT_ONCE)
        joint += yes_terms[:, piece] @ share[:, piece].T
    return joint


def _entropy(chance: Floats) -> Floats:
    """Entropy in bits of yes-no quantities."""
    return np.asarray(-(xlogy(chance, chance) + xlogy(1.0 - chance, 1.0 - chance)) / np.log(2.0))

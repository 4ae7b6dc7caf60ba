"""The exact chance of every cause, given all that is known."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from laydown.kernel.arrays import Floats
from laydown.science.faults.network import Chain, Known


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """``chances`` (N,) of the causes, and the log of the chance of everything known."""

    chances: Floats
    log_evidence: float


def posterior(known: Known) -> Posterior:
    """Chance of each cause given everything known, exactly.

    Causes are taken up one after another while the chance of every set of symptoms already explained is
    carried along; a second pass from the other end gives all causes at once. The work is that of Quickscore,
    doubling with every finding that several causes may explain; but nothing is ever subtracted, so that
    no digits are lost where the alternating sum of Quickscore would cancel.

    Parameters
    ----------
    known : Known
        Weights and chains.

    Returns
    -------
    Posterior
        Probabilities in the order of the causes.

    Notes
    -----
    Time and memory go with N times the number of states (2 for each finding with several causes, 3 for a no
    to a check that some causes speak for and others against).

    References
    ----------
    D. Heckerman, A tractable inference algorithm for diagnosing multiple diseases, UAI 1989 (Quickscore);
    J. Pearl, Probabilistic Reasoning in Intelligent Systems (1988), section 4.3.2 (noisy OR).

    Checked against
    ---------------
    Enumeration of all sets of causes on random networks; a case worked by hand.
    """
    without, at_work = cause_weights(known)
    linked = np.flatnonzero(np.any([(chain.keep < 1.0).any(axis=1) for chain in known.chains], axis=0))
    mass = without + at_work
    chances = at_work / mass
    state, with_it = _outer([chain.start for chain in known.chains]), {}
    for i in linked:
        with_it[i] = _moved(state, known.chains, int(i))
        state = (without[i] * state + at_work[i] * with_it[i]) / mass[i]
    after = _outer([chain.accept for chain in known.chains])
    total = float(state @ after)
    for i in reversed(linked):
        chances[i] = at_work[i] / mass[i] * float(with_it[i] @ after) / total
        after = (without[i] * after + at_work[i] * _looked_back(after, known.chains, int(i))) / mass[i]
    scale = np.maximum(known.log_without, known.log_with) + np.log(mass)
    return Posterior(chances, known.log_constant + float(scale.sum()) + math.log(total))


def cause_weights(known: Known) -> tuple[Floats, Floats]:
    """Weights of each cause being away and at work, scaled so that the larger is 1.

    Parameters
    ----------
    known : Known
        Log weights.

    Returns
    -------
    two (N,) arrays
        Without units; only their ratio means something.

    Checked against
    ---------------
    Enumeration on random networks.
    """
    most = np.maximum(known.log_without, known.log_with)
    return np.exp(known.log_without - most), np.exp(known.log_with - most)


def _outer(vectors: list[Floats]) -> Floats:
    """Outer product of all vectors, flat; 1 for none."""
    product = np.ones(1)
    for vector in vectors:
        product = np.multiply.outer(product, vector).ravel()
    return product


def _moved(state: Floats, chains: tuple[Chain, ...], cause: int) -> Floats:
    """Where the states go with this cause at work."""
    behind = state.size
    for chain in chains:
        behind //= chain.start.size
        keep = chain.keep[cause]
        if (keep < 1.0).any():
            shaped = state.reshape(-1, keep.size, behind)
            moved = shaped * keep[:, None]
            for source in np.flatnonzero(chain.feeds):
                moved[:, -1] += (1.0 - keep[source]) * shaped[:, source]
            state = moved.ravel()
    return state


def _looked_back(after: Floats, chains: tuple[Chain, ...], cause: int) -> Floats:
    """The transpose of `_moved`: what each state is worth before this cause is at work."""
    behind = after.size
    for chain in chains:
        behind //= chain.start.size
        keep = chain.keep[cause]
        if (keep < 1.0).any():
            shaped = after.reshape(-1, keep.size, behind)
            worth = shaped * keep[:, None]
            for source in np.flatnonzero(chain.feeds):
                worth[:, source] += (1.0 - keep[source]) * shaped[:, -1]
            after = worth.ravel()
    return after

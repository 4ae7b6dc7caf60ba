"""How alike measured and expected values are once it is known how the medium departs from the expectation."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.constants import Constant
from laydown.science.forms.alignment import Gains

REACH = Constant(3.0, "times the usual departure", "our own judgement: one in fifty lies beyond", "computed")
FARTHEST = Constant(-3.0, "patches that fit", "our own judgement: a single patch may be misread", "computed")
_LEAST_DEPARTURE = 0.01  # of the spread of the values: no expectation is nearer than that
_ROUNDS = 3


def fitted_gains(values: Floats, expected: Floats, place_of: Ints) -> Gains | None:
    """What is gained by taking every reading for every place, once most places are known.

    The expectation is bent to the readings by a quadratic; what is left is much less than between patches by
    chance, so that a reading in its neighbour's place shows. Only for settling which reading is of which
    place: a wrong page may be bent to fit as well.

    Parameters
    ----------
    values : (m, d) as measured; NaN where unknown
    expected : (n, d) what the places should roughly look like
    place_of : (m,) the place of each reading as far as it is known, -1 for none

    Returns
    -------
    (m, n) 1 where they are the same, 0 at ``REACH``, never below ``FARTHEST``; None where there are too few
    places to go by

    Notes
    -----
    Least squares, repeated without the pairs that lie beyond ``REACH`` times the middle distance.

    Checked against
    ---------------
    Simulated sheets with single patches left out and read twice, in the tests.
    """
    taken = np.flatnonzero((place_of >= 0) & np.isfinite(values).all(axis=1))
    taken = taken[np.isfinite(expected[place_of[taken]]).all(axis=1)]
    terms = _terms(expected)
    if len(taken) < 3 * terms.shape[1]:
        return None
    mine, theirs = values[taken], terms[place_of[taken]]
    kept: Bools = np.ones(len(taken), dtype=np.bool_)
    for _ in range(_ROUNDS):
        bent, *_rest = np.linalg.lstsq(theirs[kept], mine[kept], rcond=None)
        apart = np.linalg.norm(mine - theirs @ bent, axis=1)
        usual = float(np.median(apart))
        kept = apart <= REACH.value * usual
        if np.count_nonzero(kept) < terms.shape[1]:
            return None
    reach = REACH.value * max(usual, _LEAST_DEPARTURE * float(np.linalg.norm(mine.std(axis=0))))
    one = np.asarray(values / reach, dtype=np.float32)
    other = np.asarray(terms @ bent / reach, dtype=np.float32)
    gains: Gains = np.asarray((one + one) @ other.T, dtype=np.float32)
    gains -= (one**2).sum(axis=1)[:, None] - np.float32(1.0)
    gains -= (other**2).sum(axis=1)
    np.maximum(gains, np.float32(FARTHEST), out=gains)
    gains[~np.isfinite(values).all(axis=1)] = 0.0
    gains[:, ~np.isfinite(expected).all(axis=1)] = 0.0
    return gains


def _terms(expected: Floats) -> Floats:
    """1, every column, and every product of two, about their middle."""
    known = np.isfinite(expected).all(axis=1)
    middle = expected[known].mean(axis=0) if known.any() else np.zeros(expected.shape[1])
    columns = expected - middle
    count = columns.shape[1]
    squares = [columns[:, i] * columns[:, j] for i in range(count) for j in range(i, count)]
    return np.column_stack([np.ones(len(columns)), columns, *squares])

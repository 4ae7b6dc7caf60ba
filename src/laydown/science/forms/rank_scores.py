"""How alike measured and expected values are when only their order counts."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Floats, Ints
from laydown.science.forms.alignment import Costs


def score_distances(values: Floats, expected: Floats, *, met: Ints | None = None) -> Costs:
    """Distance of every reading from every place, in normal scores of their ranks.

    Any scale, any contrast and any monotone bend of a column drop out; what is left is whether light, reddish and
    yellowish patches come where such patches are expected.

    Parameters
    ----------
    values : (m, d) as measured; NaN where unknown
    expected : (n, d) columns that rise and fall with those of ``values``
    met : (n,) reading known for each place, -1 for none, for ranks among what both lists hold; None for all

    Returns
    -------
    (m, n) Euclidean distances; for rows with a NaN as far as two patches by chance

    Notes
    -----
    The score of a rank r among N is the normal quantile of (r - 0.5) / N, ties at their middle rank. Two
    patches by chance lie about sqrt(2 d) apart.

    Checked against
    ---------------
    Values bent by a monotone curve, which give the same distances.
    """
    some = np.arange(len(expected)) if met is None else np.flatnonzero(met >= 0)
    rows = np.arange(len(values)) if met is None else met[some]
    one = _normal_scores(values, values[rows])
    other = _normal_scores(expected, expected[some])
    squares = (one**2).sum(axis=1)[:, None] + (other**2).sum(axis=1) - 2.0 * one @ other.T
    apart = np.sqrt(np.maximum(squares, 0.0))
    return np.where(np.isfinite(apart), apart, np.sqrt(2.0 * values.shape[1])).astype(np.float32)


def _normal_scores(values: Floats, among: Floats) -> Floats:
    """Where each value would rank among others, as a normal score, column by column."""
    from scipy.special import ndtri

    scores = np.full(values.shape, np.nan)
    for column in range(values.shape[1]):
        ladder = np.sort(among[np.isfinite(among[:, column]), column])
        known = np.isfinite(values[:, column])
        if not len(ladder):
            continue
        below = np.searchsorted(ladder, values[known, column], side="left")
        upto = np.searchsorted(ladder, values[known, column], side="right")
        middle = np.clip((below + upto) / 2.0, 0.5, len(ladder) - 0.5)
        scores[known, column] = ndtri(middle / len(ladder))
    return scores

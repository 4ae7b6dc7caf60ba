"""How alike measured and expected values are when only their order counts."""

from __future__ import annotations

import numpy as np

from laydown.kernel.arrays import Bools, Floats, Ints
from laydown.kernel.constants import Constant
from laydown.science.forms.alignment import Gains

ALIKE = Constant(
    0.577,
    "normal scores for each column",
    "ten in eleven measured patches lie nearer to what any print looks like, docs/methods/test-form.md",
    "computed",
)
PALE = Constant(0.15, "of the widest column", "our own judgement: a page of greys has no hues", "computed")


def score_gains(values: Floats, expected: Floats, *, met: Ints | None = None) -> Gains:
    """What is gained by taking every reading for every place, from normal scores of their ranks.

    Any scale, any contrast and any monotone bend of a column drop out; what is left is whether light, reddish
    and yellowish patches come where such patches are expected.

    Parameters
    ----------
    values : (m, d) as measured; NaN where unknown
    expected : (n, d) columns that rise and fall with those of ``values``
    met : (n,) reading known for each place, -1 for none, for ranks among what both lists hold; None for all

    Returns
    -------
    (m, n) 1 where a reading ranks as the place should, 0 at ``ALIKE`` in each column, -1 where it is far; 0
    for readings and places with a NaN

    Notes
    -----
    The score of a rank r among N is the normal quantile of (r - 0.5) / N, ties at their middle rank. Two
    patches by chance lie about sqrt(2) apart in each column. Columns that hardly vary, as a* and b* on a page
    of greys, rank nothing but noise and are left out.

    Checked against
    ---------------
    Values bent by a monotone curve, which give the same.
    """
    some = np.arange(len(expected)) if met is None else np.flatnonzero(met >= 0)
    rows = np.arange(len(values)) if met is None else met[some]
    used = _varied(values[rows]) & _varied(expected[some])
    if not used.any():
        return np.zeros((len(values), len(expected)), dtype=np.float32)
    # Distances in whole tables are what takes time: single precision, and no table made twice.
    reach = np.float32(np.sqrt(np.count_nonzero(used)) * ALIKE.value)
    one = _normal_scores(values[:, used], values[np.ix_(rows, used)]).astype(np.float32) / reach
    other = _normal_scores(expected[:, used], expected[np.ix_(some, used)]).astype(np.float32) / reach
    gains: Gains = (one + one) @ other.T
    gains -= (one**2).sum(axis=1)[:, None] - np.float32(1.0)
    gains -= (other**2).sum(axis=1)
    np.maximum(gains, np.float32(-1.0), out=gains)
    gains[~np.isfinite(values).all(axis=1)] = 0.0
    gains[:, ~np.isfinite(expected).all(axis=1)] = 0.0
    return gains


def _varied(values: Floats) -> Bools:
    """Columns that vary at all as much as the others do; all of them where none does."""
    known = values[np.asarray(np.isfinite(values).all(axis=1))]
    if not len(known):
        return np.ones(values.shape[1], dtype=np.bool_)
    spread = known.std(axis=0)
    return np.asarray(spread >= PALE.value * spread.max(initial=0.0))


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
